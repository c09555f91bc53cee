/** A small broker that comes along, for a simulated kiln or an instrument on this machine: loopback only, no passwords. */
import { createServer, type Server, type Socket } from 'node:net';
import { Aedes } from 'aedes';
import { isLoopback } from '../config/host-port.ts';
import { InputError } from '../errors.ts';

export interface SmallBroker {
  readonly port: number;
  close(): Promise<void>;
}

/** Far more than the kilns of a school. Ours. */
const MAX_CONNECTIONS = 64;

/**
 * MQTT 3.1.1. Port 0 lets the machine choose one.
 * @throws InputError when the address is not loopback, or the port cannot be had
 */
export async function startSmallBroker(at: { host: string; port: number }): Promise<SmallBroker> {
  if (!isLoopback(at.host)) {
    const message = `The small broker knows no passwords, so it listens to this machine only: write 127.0.0.1 instead of ${at.host}.`;
    throw new InputError('broker-not-loopback', message);
  }
  const broker = await Aedes.createBroker();
  const sockets = new Set<Socket>();
  const server = createServer((socket) => {
    sockets.add(socket);
    socket.once('close', () => sockets.delete(socket));
    broker.handle(socket);
  });
  server.maxConnections = MAX_CONNECTIONS;
  try {
    await listen(server, at);
  } catch (error) {
    broker.close();
    throw new InputError('broker-port', whyNotListening(at, error), { cause: error });
  }
  const address = server.address();
  return {
    port: typeof address === 'object' && address !== null ? address.port : at.port,
    async close() {
      const closed = new Promise<void>((resolve) => server.close(() => resolve()));
      await new Promise<void>((resolve) => broker.close(resolve));
      for (const socket of sockets) socket.destroy();
      await closed;
    },
  };
}

function listen(server: Server, at: { host: string; port: number }): Promise<void> {
  return new Promise((resolve, reject) => {
    server.once('error', reject);
    server.listen(at.port, at.host, () => {
      server.off('error', reject);
      resolve();
    });
  });
}

function whyNotListening(at: { host: string; port: number }, error: unknown): string {
  const code = error instanceof Error && 'code' in error ? error.code : undefined;
  if (code === 'EADDRINUSE') {
    return `Another program, perhaps a broker of your system, uses the port ${at.port}: stop it, or give the small broker another port.`;
  }
  if (code === 'EACCES')
    return `The port ${at.port} may not be used by this user: give the small broker a port above 1023.`;
  return `The small broker cannot listen at ${at.host}:${at.port} (${String(code ?? error)}): give it another address.`;
}
