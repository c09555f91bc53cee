/**
 * The bell. Nothing is loaded: every sound is made of a few tones, so that it sounds without a network, and a browser
 * that has not been touched yet is known to be silent instead of being believed.
 */
import { recall, remember } from './keepsakes.ts';
import type { Ring } from './ring-plan.ts';

/** `off`: wanted, but the browser lets nothing sound until it is touched. `quiet`: somebody chose it. `absent`: it cannot. */
export type SoundState = 'on' | 'off' | 'quiet' | 'absent';

interface Stroke {
  readonly atS: number;
  readonly hz: number;
  readonly lastsS: number;
  readonly loud: number;
}

/** A struck bar: short, bright for what is urgent, low and soft for what is past. By ear; no standard is followed. */
const strokes: Readonly<Record<Ring, readonly Stroke[]>> = {
  now: [0, 0.16, 0.32, 0.72, 0.88, 1.04].map((atS, i) => ({
    atS,
    hz: i % 3 === 2 ? 660 : 880,
    lastsS: 0.22,
    loud: 0.9,
  })),
  lost: [0, 0.5, 1].map((atS) => ({ atS, hz: 247, lastsS: 0.42, loud: 0.8 })),
  soon: [
    { atS: 0, hz: 659, lastsS: 0.5, loud: 0.6 },
    { atS: 0.45, hz: 523, lastsS: 0.8, loud: 0.6 },
  ],
  call: [
    { atS: 0, hz: 523, lastsS: 0.6, loud: 0.5 },
    { atS: 0.35, hz: 784, lastsS: 1.1, loud: 0.5 },
  ],
  note: [{ atS: 0, hz: 523, lastsS: 0.9, loud: 0.35 }],
  over: [{ atS: 0, hz: 392, lastsS: 1.2, loud: 0.25 }],
};

export interface Sound {
  state(): SoundState;
  /** To be called from a tap: only then may a browser sound. Resolves with what came of it. */
  start(): Promise<SoundState>;
  /** Somebody wants this screen to stay quiet; it is said on the page as long as it lasts. */
  quieten(): void;
  /** False where nothing sounded. */
  ring(kind: Ring): boolean;
  listen(listener: () => void): () => void;
}

type Contexts = (() => AudioContext) | null;

function systemContexts(): Contexts {
  return typeof AudioContext === 'undefined' ? null : () => new AudioContext({ latencyHint: 'interactive' });
}

export function makeSound(makeContext: Contexts = systemContexts()): Sound {
  let context: AudioContext | null = null;
  let isQuiet = recall('sound') === 'quiet';
  const listeners = new Set<() => void>();
  const tell = (): void => {
    for (const listener of listeners) listener();
  };

  function open(): AudioContext | null {
    if (context !== null && context.state !== 'closed') return context;
    if (makeContext === null) return null;
    context = makeContext();
    context.onstatechange = tell;
    return context;
  }

  // Where sound was on before, it is tried at once: some browsers allow it on a page that was touched often.
  if (recall('sound') === 'on') open();

  function state(): SoundState {
    if (makeContext === null) return 'absent';
    if (isQuiet) return 'quiet';
    return context?.state === 'running' ? 'on' : 'off';
  }

  return {
    state,
    async start() {
      isQuiet = false;
      remember('sound', 'on');
      const opened = open();
      await Promise.race([opened?.resume(), new Promise((resolve) => setTimeout(resolve, 1500))]).catch(
        () => undefined,
      );
      tell();
      return state();
    },
    quieten() {
      isQuiet = true;
      remember('sound', 'quiet');
      tell();
    },
    ring(kind) {
      if (state() !== 'on' || context === null) return false;
      for (const stroke of strokes[kind]) strike(context, stroke);
      return true;
    },
    listen(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
  };
}

/** One tone and its octave and a half, dying away as a bar does. */
function strike(context: AudioContext, { atS, hz, lastsS, loud }: Stroke): void {
  const startS = context.currentTime + 0.02 + atS;
  for (const [times, share] of [
    [1, 0.75],
    [2.76, 0.25],
  ] as const) {
    const tone = context.createOscillator();
    const swell = context.createGain();
    tone.type = 'triangle';
    tone.frequency.value = hz * times;
    swell.gain.setValueAtTime(0.0001, startS);
    swell.gain.exponentialRampToValueAtTime(loud * share, startS + 0.012);
    swell.gain.exponentialRampToValueAtTime(0.0001, startS + lastsS);
    tone.connect(swell).connect(context.destination);
    tone.start(startS);
    tone.stop(startS + lastsS + 0.05);
  }
}
