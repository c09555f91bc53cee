/** A viewer of the live feed that keeps what it hears and lets a test wait for it. */
import { once } from 'node:events';
import { WebSocket } from 'ws';
import type { LiveMessage } from '../../daemon/wire/live-messages.ts';

export interface LiveViewer {
  readonly messages: readonly LiveMessage[];
  /** Resolves with the first message, from number `from` on, that is `wanted`, come or still to come. */
  heard<T extends LiveMessage>(wanted: (message: LiveMessage) => message is T, from?: number): Promise<T>;
  close(): Promise<void>;
}

export type Of<Type extends LiveMessage['type']> = Extract<LiveMessage, { type: Type }>;

/** `viewer.heard(is('reading', (r) => r.celsius === 20))` */
export function is<Type extends LiveMessage['type']>(type: Type, also: (message: Of<Type>) => boolean = () => true) {
  return (message: LiveMessage): message is Of<Type> => message.type === type && also(message as Of<Type>);
}

/** Resolves once the snapshot has come. */
export async function liveViewer(url: string): Promise<LiveViewer> {
  const socket = new WebSocket(`${url.replace('http', 'ws')}/live`);
  // Each wait listens for the feed's end.
  socket.setMaxListeners(0);
  const messages: LiveMessage[] = [];
  const looks = new Set<() => void>();
  socket.on('message', (bytes: Buffer) => {
    messages.push(JSON.parse(bytes.toString()) as LiveMessage);
    for (const look of [...looks]) look();
  });
  const viewer: LiveViewer = {
    messages,
    heard<T extends LiveMessage>(wanted: (message: LiveMessage) => message is T, from = 0): Promise<T> {
      return new Promise((resolve, reject) => {
        let at = from;
        const look = (): void => {
          for (; at < messages.length; at++) {
            const message = messages[at];
            if (message === undefined || !wanted(message)) continue;
            looks.delete(look);
            resolve(message);
            return;
          }
        };
        looks.add(look);
        socket.once('close', () => reject(new Error('The live feed ended.')));
        look();
      });
    },
    async close() {
      if (socket.readyState === WebSocket.CLOSED) return;
      const closed = once(socket, 'close');
      socket.terminate();
      await closed;
    },
  };
  // A feed that the daemon cut off tells it by 'close'.
  socket.on('error', () => undefined);
  await viewer.heard(is('snapshot'));
  return viewer;
}
