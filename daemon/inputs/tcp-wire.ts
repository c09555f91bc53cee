/** A connection to a serial-to-network box or to an instrument, opened once. */
import { connect } from 'node:net';
import type { Clock } from '../runtime/clock.ts';
import type { OpenWire, Wire, WireEvents } from './wire.ts';

export interface TcpAddress {
  readonly host: string;
  readonly port: number;
}

/** A box in the same network answers within milliseconds; one that is switched off is told of soon. Ours. */
const CONNECT_TIMEOUT_MS = 5000;
/** The operating system asks whether the other end is still there once nothing has come for so long. */
const KEEPALIVE_MS = 10_000;
/** Nobody takes the bytes away: a question to a box that has gone must not fill the memory. */
const MAX_WAITING_BYTES = 65_536;

export function tcpWire(address: TcpAddress, clock: Pick<Clock, 'after'>): Wire {
  const host = address.host.includes(':') ? `[${address.host}]` : address.host;
  const where = `${host}:${address.port}`;
  return { where, open: (events) => openSocket(address, where, clock, events) };
}

function openSocket(address: TcpAddress, where: string, clock: Pick<Clock, 'after'>, events: WireEvents): OpenWire {
  const socket = connect({ host: address.host, port: address.port, noDelay: true });
  socket.setKeepAlive(true, KEEPALIVE_MS);
  let isOpen = false;
  let isOver = false;
  let reason: string | undefined;
  const stopWaiting = clock.after(CONNECT_TIMEOUT_MS, () => {
    reason = `Nothing answers at ${where}. Check whether the box is on, and its address; it is tried again by itself.`;
    socket.destroy();
  });

  socket.once('connect', () => {
    isOpen = true;
    stopWaiting();
    if (!isOver) events.opened();
  });
  socket.on('data', (bytes) => {
    if (!isOver) events.bytes(bytes);
  });
  // A box that closes its end has nothing more to say.
  socket.once('end', () => socket.destroy());
  socket.on('error', (error) => {
    reason ??= whyNoConnection(where, error, isOpen);
  });
  socket.once('close', () => {
    stopWaiting();
    if (isOver) return;
    isOver = true;
    events.gone(
      reason ??
        `${where} has closed the connection. Check whether another program uses it; it is tried again by itself.`,
    );
  });

  return {
    write(bytes) {
      if (!isOpen || isOver) return;
      if (socket.writableLength > MAX_WAITING_BYTES) socket.destroy();
      else socket.write(bytes);
    },
    async close() {
      if (socket.closed) return;
      isOver = true;
      stopWaiting();
      await new Promise<void>((resolve) => {
        socket.once('close', () => resolve());
        socket.destroy();
      });
    },
  };
}

function whyNoConnection(where: string, error: Error, wasOpen: boolean): string {
  const code = 'code' in error ? error.code : undefined;
  switch (code) {
    case 'ECONNREFUSED':
      return `${where} refuses the connection. Check the port, and whether the box is set to listen there; it is tried again by itself.`;
    case 'ENOTFOUND':
    case 'EAI_AGAIN':
      return `The box ${where} is not known by that name. Check the name, or whether the network is up.`;
    case 'EHOSTUNREACH':
    case 'ENETUNREACH':
    case 'ETIMEDOUT':
      return `${where} cannot be reached. Check whether it is on and the network is up; it is tried again by itself.`;
    default:
      return wasOpen
        ? `The connection to ${where} broke off (${String(code ?? error.message)}). It is tried again by itself.`
        : `${where} cannot be reached (${String(code ?? error.message)}). Check its address.`;
  }
}
