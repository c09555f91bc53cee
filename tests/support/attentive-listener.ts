/** Listens to an input and lets a test wait for what it hears. */
import type { Heard, InputStatus, Listener } from '../../daemon/inputs/input.ts';

export interface AttentiveListener extends Listener {
  readonly messages: readonly Heard[];
  readonly statuses: readonly InputStatus[];
  /** Resolves with the first message, from `from` on, that is `wanted`; waits for it where it has not come yet. */
  message(wanted: (message: Heard) => boolean, from?: number): Promise<Heard>;
  /** As `message`, for the state the input tells of. */
  told(wanted: (status: InputStatus) => boolean, from?: number): Promise<InputStatus>;
}

export function attentiveListener(): AttentiveListener {
  const messages: Heard[] = [];
  const statuses: InputStatus[] = [];
  const waiting = new Set<() => void>();
  const wake = (): void => {
    for (const look of [...waiting]) look();
  };
  const find = <T>(list: readonly T[], wanted: (item: T) => boolean, from: number): Promise<T> =>
    new Promise((resolve) => {
      const look = (): void => {
        const item = list.slice(from).find(wanted);
        if (item === undefined) return;
        waiting.delete(look);
        resolve(item);
      };
      waiting.add(look);
      look();
    });
  return {
    messages,
    statuses,
    heard(message) {
      messages.push(message);
      wake();
    },
    status(status) {
      statuses.push(status);
      wake();
    },
    message: (wanted, from = 0) => find(messages, wanted, from),
    told: (wanted, from = 0) => find(statuses, wanted, from),
  };
}
