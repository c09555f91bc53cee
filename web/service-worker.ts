/**
 * Runs beside the page in the browser, where the page came over TLS or from this machine. It does one thing: where the
 * page is asked for and the daemon does not answer, it says NOT LIVE. It keeps nothing: no page, no figure, no picture. So it
 * can show neither an old version of the page nor a temperature of yesterday, and a new one takes over at once.
 */
import { notLivePage, notLivePolicy } from './not-live-page.ts';

/** A daemon that is frozen takes the question and does not answer it. Under the ten seconds that the page itself is given. */
const PATIENCE_MS = 8000;

/** The parts of a worker's world that are used here; the compiler knows the page's world only. */
interface Asked extends Event {
  readonly request: Request;
  readonly preloadResponse: Promise<Response | undefined>;
  respondWith(answer: Promise<Response>): void;
}
interface Lasting extends Event {
  waitUntil(work: Promise<unknown>): void;
}
interface WorkerWorld {
  addEventListener(kind: 'install' | 'activate', listener: (event: Lasting) => void): void;
  addEventListener(kind: 'fetch', listener: (event: Asked) => void): void;
  skipWaiting(): Promise<void>;
  readonly clients: { claim(): Promise<void> };
  readonly registration: { readonly navigationPreload?: { enable(): Promise<void> } };
}
const world = self as unknown as WorkerWorld;

world.addEventListener('install', (event) => event.waitUntil(world.skipWaiting()));

world.addEventListener('activate', (event) => {
  const { navigationPreload } = world.registration;
  // The question goes out while the worker wakes up: on a slow phone that is a third of a second.
  event.waitUntil(Promise.all([navigationPreload?.enable(), world.clients.claim()]));
});

world.addEventListener('fetch', (event) => {
  const { mode, method, url } = event.request;
  const { pathname } = new URL(url);
  // Reports and tables are asked for in the same way and may take their time.
  const isPage = pathname === '/' || pathname.startsWith('/door/');
  if (mode === 'navigate' && method === 'GET' && isPage) event.respondWith(pageOrNotLive(event, pathname));
});

async function pageOrNotLive(event: Asked, path: string): Promise<Response> {
  try {
    const answer = await Promise.race([fromDaemon(event), tooLong()]);
    return isProxysOwn(answer) ? notLive(path) : answer;
  } catch {
    return notLive(path);
  }
}

async function fromDaemon({ request, preloadResponse }: Asked): Promise<Response> {
  return (await preloadResponse) ?? fetch(request);
}

function tooLong(): Promise<never> {
  return new Promise((_, reject) => setTimeout(() => reject(new Error('no answer')), PATIENCE_MS));
}

/** A proxy answers for a daemon that is away; what the daemon itself has to say always carries its policy. */
function isProxysOwn({ status, headers }: Response): boolean {
  return status >= 502 && status <= 504 && !headers.has('content-security-policy');
}

function notLive(path: string): Response {
  const nonce = crypto.randomUUID();
  return new Response(notLivePage(path, nonce), {
    status: 503,
    headers: {
      'content-type': 'text/html; charset=utf-8',
      'cache-control': 'no-store',
      'content-security-policy': notLivePolicy(nonce),
      'referrer-policy': 'no-referrer',
    },
  });
}
