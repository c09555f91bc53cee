/** The WebSocket `/live`: a snapshot, then everything as it happens. It only speaks; nothing that a viewer sends is read. */
import type { IncomingMessage } from 'node:http';
import type { Duplex } from 'node:stream';
import { WebSocket, WebSocketServer } from 'ws';
import type { Clock } from '../runtime/clock.ts';
import type { LiveMessage } from '../wire/live-messages.ts';
import { errorBody, safeHeaders } from './answers.ts';
import type { Desk } from './desk.ts';
import type { Refusal } from './guard.ts';
import { thinning } from './thinning.ts';

const heartbeatMs = 1000;
const pingMs = 15_000;
/** A viewer that lets more than this pile up is sent away; it comes back to a fresh snapshot. */
const maxQueuedBytes = 1024 * 1024;
/** How long a viewer that was sent away has to take its leave. */
const leaveMs = 5000;
const maxViewers = 200;
const maxHeardBytes = 4096;
/** Close codes of RFC 6455 and its registry. */
const goingAway = 1001;
const ourFault = 1011;
const tryAgainLater = 1013;

export interface LiveFeed {
  /** Answers an upgrade request that the guard has let through, or refuses it. */
  upgrade(request: IncomingMessage, socket: Duplex, head: Buffer): void;
  viewerCount(): number;
  close(): void;
}

export interface LiveFeedOptions {
  readonly clock: Clock;
  /** The guard's word on this request. */
  readonly check: (request: IncomingMessage) => Refusal | null;
  readonly mayCommand: (request: IncomingMessage) => boolean;
  readonly log: (sentence: string) => void;
}

export function liveFeed(desk: Desk, { clock, check, mayCommand, log }: LiveFeedOptions): LiveFeed {
  const sockets = new WebSocketServer({
    noServer: true,
    clientTracking: false,
    maxPayload: maxHeardBytes,
    perMessageDeflate: false,
  });
  const viewers = new Set<WebSocket>();
  const silent = new Set<WebSocket>();

  function tell(message: LiveMessage): void {
    if (viewers.size === 0) return;
    const text = Buffer.from(JSON.stringify(message));
    for (const viewer of viewers) send(viewer, text);
  }

  function send(viewer: WebSocket, text: Buffer): void {
    if (viewer.readyState !== WebSocket.OPEN) return;
    if (viewer.bufferedAmount + text.length > maxQueuedBytes) {
      leave(viewer, tryAgainLater, 'too far behind: connect again');
      return;
    }
    viewer.send(text, { binary: false });
  }

  function leave(viewer: WebSocket, code: number, reason: string): void {
    viewers.delete(viewer);
    viewer.close(code, reason);
    const cancel = clock.after(leaveMs, () => viewer.terminate());
    viewer.once('close', cancel);
  }

  const thinned = thinning(clock, tell);

  function welcome(viewer: WebSocket, request: IncomingMessage): void {
    viewer.on('close', () => {
      viewers.delete(viewer);
      silent.delete(viewer);
    });
    // A frame that is too large or garbled: the library closes the socket by itself, and `close` follows.
    viewer.on('error', () => undefined);
    viewer.on('pong', () => silent.delete(viewer));
    thinned.flush(); // What is held back is older than the snapshot: it must not come after it.
    try {
      send(viewer, Buffer.from(JSON.stringify(desk.snapshot(mayCommand(request)))));
    } catch (error) {
      log(`A page could not be shown the kilns: ${messageOf(error)}.`);
      leave(viewer, ourFault, 'the daemon could not say how things stand');
      return;
    }
    viewers.add(viewer);
  }

  function beat(): void {
    if (viewers.size === 0) return;
    try {
      const { ages, simulated, kilns, utcOffsetMinutes } = desk.snapshot(false);
      const signs = Object.fromEntries(kilns.map(({ id, sign }) => [id, sign]));
      tell({ type: 'heartbeat', atMs: clock.nowMs(), ages, simulated, utcOffsetMinutes, signs });
    } catch (error) {
      // No heartbeat without ages: the pages then say NOT LIVE by themselves, which is the truth.
      log(`The live feed has no heartbeat: ${messageOf(error)}.`);
    }
  }

  function ping(): void {
    for (const viewer of viewers) {
      if (silent.has(viewer)) {
        viewer.terminate();
        continue;
      }
      silent.add(viewer);
      viewer.ping();
    }
  }

  sockets.on('wsClientError', (error, socket) => {
    refuse(socket, {
      status: 400,
      fault: { what: error.message, where: 'the WebSocket handshake', right: 'WebSocket version 13' },
    });
  });
  const stops = [
    desk.listen((message) => thinned.offer(message)),
    clock.every(heartbeatMs, beat),
    clock.every(pingMs, ping),
    () => thinned.stop(),
  ];

  return {
    upgrade(request, socket, head) {
      // A socket that breaks while it is being refused has nobody left to tell.
      socket.on('error', () => socket.destroy());
      const refusal = check(request) ?? wrongPlace(request, viewers.size);
      if (refusal !== null) {
        refuse(socket, refusal);
        return;
      }
      sockets.handleUpgrade(request, socket, head, (viewer) => welcome(viewer, request));
    },
    viewerCount: () => viewers.size,
    close() {
      for (const stop of stops) stop();
      for (const viewer of viewers) leave(viewer, goingAway, 'the daemon stops');
      sockets.close();
    },
  };
}

function wrongPlace(request: IncomingMessage, viewerCount: number): Refusal | null {
  const path = (request.url ?? '').replace(/[?#].*$/, '');
  if (path !== '/live') {
    return { status: 404, fault: { what: 'no live feed is here', where: 'the address', right: '/live' } };
  }
  if (viewerCount < maxViewers) return null;
  return {
    status: 503,
    fault: { what: 'too many pages are open', where: '/live', right: `at most ${maxViewers} pages at a time` },
  };
}

const reasons: Readonly<Record<number, string>> = {
  400: 'Bad Request',
  403: 'Forbidden',
  404: 'Not Found',
  405: 'Method Not Allowed',
  415: 'Unsupported Media Type',
  421: 'Misdirected Request',
  503: 'Service Unavailable',
};

/** Refuses over a bare socket, where the HTTP library no longer answers. */
export function refuse(socket: Duplex, { status, fault }: Refusal): void {
  if (!socket.writable) {
    socket.destroy();
    return;
  }
  const body = JSON.stringify(errorBody(fault));
  const headers = {
    ...safeHeaders,
    'content-type': 'application/json; charset=utf-8',
    'content-length': String(Buffer.byteLength(body)),
    'cache-control': 'no-store',
    connection: 'close',
  };
  const lines = Object.entries(headers).map(([name, value]) => `${name}: ${value}\r\n`);
  socket.once('finish', () => socket.destroy());
  socket.end(`HTTP/1.1 ${status} ${reasons[status] ?? 'Refused'}\r\n${lines.join('')}\r\n${body}`);
}

function messageOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}
