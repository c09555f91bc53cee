/** Sentences spoken by the browser's own voice, where it has one; what is spoken always stands on the page as well. */

export type VoiceState = 'ready' | 'none';

export interface Voice {
  state(): VoiceState;
  say(sentence: string): void;
}

export function makeVoice(): Voice {
  const speech = typeof speechSynthesis === 'undefined' ? null : speechSynthesis;
  // The list of voices is empty until it was asked for once.
  speech?.getVoices();
  return {
    state: () => (speech !== null && speech.getVoices().length > 0 ? 'ready' : 'none'),
    say(sentence) {
      if (speech === null || speech.getVoices().length === 0) return;
      speech.cancel();
      const words = new SpeechSynthesisUtterance(forTheEar(sentence));
      words.lang = 'en';
      words.rate = 0.95;
      speech.speak(words);
    },
  };
}

/** Signs that a voice stumbles over. */
export function forTheEar(sentence: string): string {
  return sentence
    .replaceAll('°C/h', ' degrees an hour')
    .replaceAll('°F/h', ' degrees an hour')
    .replace(/\s*°[CF]/g, ' degrees')
    .replaceAll('±', 'plus or minus')
    .replace(/\s+/g, ' ')
    .trim();
}
