/** The page's beginning: brightness, the live line, the screen. */
import { render } from 'preact';
import { App } from './app.tsx';
import { type LiveClient, type Socket, startLiveClient } from './live-client.ts';
import { silenceClock } from './liveness.ts';
import { makeStore } from './store.ts';
import { applyTheme } from './theme.ts';

/** After so long in the background the page asks anew instead of believing what it shows. */
const HIDDEN_TOO_LONG_MS = 5000;

applyTheme();
const store = makeStore();
const nowMs = silenceClock(
  () => performance.now(),
  () => Date.now(),
);

function openSocket(): Socket {
  const scheme = location.protocol === 'https:' ? 'wss:' : 'ws:';
  const socket = new WebSocket(`${scheme}//${location.host}/live`);
  const ear: Socket = { onmessage: null, onclose: null, close: () => socket.close() };
  socket.onmessage = (event) => ear.onmessage?.(event);
  socket.onclose = () => ear.onclose?.();
  return ear;
}

const client: LiveClient = startLiveClient({ openSocket, nowMs, heard: store.hear });
setInterval(() => client.look(), 1000);

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
if (page !== null) render(<App store={store} heardMs={client.heardMs} nowMs={nowMs} />, page);
