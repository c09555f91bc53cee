/** The page's ear: one WebSocket at a time, opened anew for ever, and the instant of the last sign of life. */
import type { LiveMessage } from '../daemon/wire/live-messages.ts';
import { NOT_LIVE_AFTER_S } from './liveness.ts';

/** The part of a browser's WebSocket that is used here. */
export interface Socket {
  onmessage: ((event: { readonly data: unknown }) => void) | null;
  onclose: (() => void) | null;
  close(): void;
}

export interface ClientEdges {
  openSocket(): Socket;
  /** Never steps back; see `silenceClock`. */
  nowMs(): number;
  heard(message: LiveMessage): void;
}

export interface LiveClient {
  /** Looks whether the line is silent or closed, and acts. To be called each second. */
  look(): void;
  /** Asks for a fresh snapshot on a new socket now: the page was hidden and what it shows may be old. */
  askAnew(): void;
  /** When the last heartbeat or snapshot came. */
  heardMs(): number | null;
  stop(): void;
}

const FIRST_WAIT_MS = 1000;
const LONGEST_WAIT_MS = 10_000;

/** A live message, or null for anything else: the page then asks anew rather than guess. */
export function parseMessage(data: unknown): LiveMessage | null {
  if (typeof data !== 'string') return null;
  try {
    const parsed: unknown = JSON.parse(data);
    if (typeof parsed !== 'object' || parsed === null || !('type' in parsed)) return null;
    return parsed as LiveMessage;
  } catch {
    return null; // Not JSON: a broken line, which the caller closes.
  }
}

export function startLiveClient(edges: ClientEdges): LiveClient {
  let socket: Socket | null = null;
  let openedMs = 0;
  let heardMs: number | null = null;
  let lastOnThisSocketMs: number | null = null;
  let waitMs = FIRST_WAIT_MS;
  let nextTryMs = 0;

  function drop(): void {
    if (socket === null) return;
    // What still comes on the old line is old: it must not be taken for news.
    socket.onmessage = null;
    socket.onclose = null;
    socket.close();
    socket = null;
  }

  function retryLater(): void {
    drop();
    nextTryMs = edges.nowMs() + waitMs;
    waitMs = Math.min(waitMs * 2, LONGEST_WAIT_MS);
  }

  function open(): void {
    drop();
    openedMs = edges.nowMs();
    lastOnThisSocketMs = null;
    const opened = edges.openSocket();
    socket = opened;
    opened.onclose = retryLater;
    opened.onmessage = (event) => {
      const message = parseMessage(event.data);
      if (message === null) {
        retryLater();
        return;
      }
      if (message.type === 'heartbeat' || message.type === 'snapshot') {
        heardMs = edges.nowMs();
        lastOnThisSocketMs = heardMs;
        waitMs = FIRST_WAIT_MS;
      }
      edges.heard(message);
    };
  }

  open();
  return {
    look() {
      const nowMs = edges.nowMs();
      if (socket === null) {
        if (nowMs >= nextTryMs) open();
      } else if (nowMs - (lastOnThisSocketMs ?? openedMs) >= NOT_LIVE_AFTER_S * 1000) {
        // Open but silent: the far end may be frozen, or the network gone without a word.
        if (lastOnThisSocketMs === null) retryLater();
        else open();
      }
    },
    askAnew: open,
    heardMs: () => heardMs,
    stop: drop,
  };
}
