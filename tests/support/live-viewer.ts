/** A viewer of the live feed that keeps what it hears and lets a test wait for it. */
import { once } from 'node:events';
import { WebSocket } from 'ws';
import type { LiveMessage } from '../../daemon/wire/live-messages.ts';
import { toldSoFar } from './told-so-far.ts';

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
  const told = toldSoFar<LiveMessage>();
  socket.on('message', (bytes: Buffer) => {
    told.add(JSON.parse(bytes.toString()) as LiveMessage);
  });
  const viewer: LiveViewer = {
    messages: told.all,
    heard<T extends LiveMessage>(wanted: (message: LiveMessage) => message is T, from = 0): Promise<T> {
      return new Promise((resolve, reject) => {
        socket.once('close', () => reject(new Error('The live feed ended.')));
        told.first(wanted, from).then(resolve, reject);
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
