/** Keeps the screen from going dark, where the browser allows it; asked for anew whenever the page is shown again. */

/** `insecure`: browsers give it only to pages that came over TLS or from this machine. */
export type WakeState = 'held' | 'not-held' | 'refused' | 'insecure' | 'absent';

export interface Wake {
  state(): WakeState;
  /** To be called from a tap the first time. */
  ask(): Promise<void>;
  listen(listener: () => void): () => void;
}

export function makeWake(): Wake {
  let lock: WakeLockSentinel | null = null;
  let isWanted = false;
  let isRefused = false;
  const listeners = new Set<() => void>();
  const tell = (): void => {
    for (const listener of listeners) listener();
  };

  async function ask(): Promise<void> {
    isWanted = true;
    if (!('wakeLock' in navigator) || lock !== null) return;
    try {
      lock = await navigator.wakeLock.request('screen');
      isRefused = false;
      lock.addEventListener('release', () => {
        lock = null;
        tell();
      });
    } catch {
      isRefused = true; // A battery that runs low, or a page in the background: said on the screen's own page.
    }
    tell();
  }

  document.addEventListener('visibilitychange', () => {
    if (document.visibilityState === 'visible' && isWanted) void ask();
  });

  return {
    state() {
      if (!('wakeLock' in navigator)) return window.isSecureContext ? 'absent' : 'insecure';
      if (lock !== null) return 'held';
      return isRefused ? 'refused' : 'not-held';
    },
    ask,
    listen(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
  };
}
