/** A line to a port that a test can cut: with a bang, or without a word, as a network does. */
import { once } from 'node:events';
import { connect, createServer, type Socket } from 'node:net';

export interface CutLine {
  readonly port: number;
  /** Nothing goes through any more, and neither end is told. */
  hush(): void;
  /** Both ends are told at once. */
  cut(): void;
  stop(): Promise<void>;
}

export async function lineTo(port: number): Promise<CutLine> {
  const sockets = new Set<Socket>();
  let isHushed = false;
  const server = createServer((near) => {
    const far = connect(port, '127.0.0.1');
    for (const [from, to] of [
      [near, far],
      [far, near],
    ] as const) {
      sockets.add(from);
      from.on('data', (bytes) => {
        if (!isHushed) to.write(bytes);
      });
      from.on('error', () => {});
      from.on('close', () => {
        sockets.delete(from);
        if (!isHushed) to.destroy();
      });
    }
  }).listen(0, '127.0.0.1');
  await once(server, 'listening');
  const address = server.address();
  if (typeof address !== 'object' || address === null) throw new Error('no port to be had');
  const cut = (): void => {
    for (const socket of sockets) socket.destroy();
  };
  return {
    port: address.port,
    hush: () => {
      isHushed = true;
    },
    cut,
    async stop() {
      cut();
      server.close();
      await once(server, 'close');
    },
  };
}
