/** Has the browser keep the few lines that say NOT LIVE where the page is opened and the daemon does not answer. */

/** The first picture comes first. */
const AFTER_MS = 2000;

export function keepAwayPage(): void {
  // Not there over plain http from another machine: the browser then shows an error of its own, as page Screen says.
  if (!('serviceWorker' in navigator)) return;
  setTimeout(() => {
    // Refused in a private window, or with storage forbidden: nothing is lost but the words.
    navigator.serviceWorker.register('/service-worker.js', { updateViaCache: 'none' }).catch(() => undefined);
  }, AFTER_MS);
}
