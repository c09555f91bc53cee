/** The sign at one kiln's door: `/door/<kiln>`. */
import { render } from 'preact';
import { keepAwayPage } from './away-keeper.ts';
import { DoorPage } from './door-page.tsx';
import { startLiveClient } from './live-client.ts';
import { openSocket } from './live-socket.ts';
import { silenceClock } from './liveness.ts';
import { makeStore } from './store.ts';
import { applyTheme } from './theme.ts';
import { applyUnit } from './use-unit.ts';

applyTheme();
applyUnit();
const store = makeStore();
const nowMs = silenceClock(
  () => performance.now(),
  () => Date.now(),
);
const client = startLiveClient({ openSocket, nowMs, heard: store.hear });
setInterval(() => client.look(), 1000);
document.addEventListener('visibilitychange', () => {
  if (document.visibilityState === 'visible') client.askAnew();
});

const kiln = location.pathname.split('/')[2] ?? '';
const page = document.getElementById('door');
if (page !== null) render(<DoorPage kilnId={kiln} store={store} heardMs={client.heardMs} nowMs={nowMs} />, page);
keepAwayPage();
