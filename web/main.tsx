/** The page's beginning: brightness, the live line, the screen. */
import { render } from 'preact';
import { App } from './app.tsx';
import { keepAwayPage } from './away-keeper.ts';
import { makeDevice } from './device.ts';
import { type LiveClient, startLiveClient } from './live-client.ts';
import { openSocket } from './live-socket.ts';
import { silenceClock } from './liveness.ts';
import { startRinging } from './ringing.ts';
import { makeStore } from './store.ts';
import { applyTheme } from './theme.ts';
import { applyUnit } from './use-unit.ts';

/** After so long in the background the page asks anew instead of believing what it shows. */
const HIDDEN_TOO_LONG_MS = 5000;

applyTheme();
applyUnit();
const store = makeStore();
const nowMs = silenceClock(
  () => performance.now(),
  () => Date.now(),
);

const client: LiveClient = startLiveClient({ openSocket, nowMs, heard: store.hear });
setInterval(() => client.look(), 1000);

const device = makeDevice();
startRinging({ store, sound: device.sound, voice: device.voice, heardMs: client.heardMs, nowMs });

let hiddenAtMs: number | null = null;
document.addEventListener('visibilitychange', () => {
  if (document.visibilityState === 'hidden') {
    hiddenAtMs = nowMs();
    return;
  }
  const wasHiddenMs = hiddenAtMs === null ? 0 : nowMs() - hiddenAtMs;
  hiddenAtMs = null;
  if (wasHiddenMs > HIDDEN_TOO_LONG_MS) client.askAnew();
});

const page = document.getElementById('page');
if (page !== null) render(<App store={store} device={device} heardMs={client.heardMs} nowMs={nowMs} />, page);
keepAwayPage();
