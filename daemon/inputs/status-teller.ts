/** Tells a listener of an input's state, and never the same sentence twice in a row. */
import type { InputStatus, Listener } from './input.ts';

export function statusTeller(listener: Listener): (state: InputStatus['state'], sentence: string) => void {
  let last: string | undefined;
  return (state, sentence) => {
    if (sentence === last) return;
    last = sentence;
    listener.status({ state, sentence });
  };
}
