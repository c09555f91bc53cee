/** The verdict on a record in words, alike on the page and in the report. */
import type { Proof } from './live-messages.ts';

const MEANING = { OK: '', INCOMPLETE: ': it is not complete', BAD: ': it was altered' } as const;

/** Of a firing that is on the sentence alone: that its end is not there yet is no fault. */
export function verdictWords({ verdict, sentence, isOn }: Pick<Proof, 'verdict' | 'sentence' | 'isOn'>): string {
  if (isOn && verdict === 'INCOMPLETE') return sentence;
  return `${verdict}${MEANING[verdict]}. ${sentence}`;
}

/** What a time authority outside has said, or that it is still to be asked; null where there is nothing to say. */
export function stampWords(
  { stamp, stampAwaited }: Pick<Proof, 'stamp' | 'stampAwaited'>,
  time: (atMs: number) => string,
): string | null {
  const said =
    stamp === null
      ? []
      : [
          `${stamp.authority} saw seal ${stamp.seal}, over lines 1 to ${stamp.lines}, at ${time(stamp.atMs)} by its own clock.`,
        ];
  const awaited = stampAwaited === null ? [] : [`The last seal awaits its stamp: ${stampAwaited}`];
  return [...said, ...awaited].join(' ') || null;
}
