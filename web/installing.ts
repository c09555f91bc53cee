/**
 * The page among the apps of a phone or tablet, and what it says when it is opened without the network. Browsers give
 * both only to pages that came over TLS or from this machine.
 */

/** `insecure`: not from this address. `opened`: opened from among the apps. `asks`: the browser asks when told to. */
export type InstallState = 'insecure' | 'opened' | 'asks' | 'by-menu';

export interface Installing {
  state(): InstallState;
  /** To be called from a tap: the browser asks the person. */
  ask(): Promise<void>;
  listen(listener: () => void): () => void;
}

/** The event that some browsers make when they are ready to ask; no part of the common library yet. */
interface InstallPrompt extends Event {
  prompt(): Promise<unknown>;
}

export function makeInstalling(): Installing {
  let prompt: InstallPrompt | null = null;
  const listeners = new Set<() => void>();
  const tell = (): void => {
    for (const listener of listeners) listener();
  };
  window.addEventListener('beforeinstallprompt', (event) => {
    event.preventDefault(); // Asked from the page Screen, not over a firing.
    prompt = event as InstallPrompt;
    tell();
  });
  window.addEventListener('appinstalled', () => {
    prompt = null;
    tell();
  });
  return {
    state() {
      if (!window.isSecureContext) return 'insecure';
      if (window.matchMedia('(display-mode: standalone)').matches) return 'opened';
      return prompt === null ? 'by-menu' : 'asks';
    },
    async ask() {
      const asked = prompt;
      prompt = null; // It can be used once.
      await asked?.prompt();
      tell();
    },
    listen(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
  };
}
