/** Tells a listener of an input's state, and never the same sentence twice in a row. */
import type { InputStatus, Listener } from './input.ts';

export type TellStatus = (state: InputStatus['state'], sentence: string) => void;

export function statusTeller(listener: Listener): TellStatus {
  let last: string | undefined;
  return (state, sentence) => {
    if (sentence === last) return;
    last = sentence;
    listener.status({ state, sentence });
  };
}
