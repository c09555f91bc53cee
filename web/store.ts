/** Holds what was heard and tells the screens, at most a few times a second however fast a simulated clock runs. */
import { type Dashboard, type Heard, hear } from './dashboard-state.ts';

/** Slower than this the number would seem to lag; faster nobody can read. */
const GATHER_MS = 100;

export interface Store {
  hear(message: Heard): void;
  state(): Dashboard | null;
  listen(listener: () => void): () => void;
}

export function makeStore(): Store {
  let state: Dashboard | null = null;
  let isWaiting = false;
  const listeners = new Set<() => void>();
  function tell(): void {
    isWaiting = false;
    for (const listener of listeners) listener();
  }
  return {
    hear(message) {
      // Nothing is on the screen yet, or no curve: nobody waits for more.
      const isAwaited = state === null || message.type === 'history';
      state = hear(state, message);
      if (isAwaited) {
        tell();
        return;
      }
      if (isWaiting) return;
      isWaiting = true;
      setTimeout(tell, GATHER_MS);
    },
    state: () => state,
    listen(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
  };
}
