/** The Modbus slave on TCP, with as many clients as come. */
import { createServer, type Socket } from 'node:net';
import { codeOf, type DeviceClock, DeviceError } from '../device.ts';
import type { Delivery } from './communication-faults.ts';
import { tcpReader } from './frames.ts';
import type { ModbusDevice } from './rtu-device.ts';
import type { Slave } from './slave.ts';

export interface TcpDeviceSpec {
  readonly host: string;
  /** 0 lets the machine choose. */
  readonly port: number;
}

export interface TcpDevice extends ModbusDevice {
  /** Where it listens. */
  readonly port: number;
}

const MAX_WAITING_BYTES = 65_536;

/** @throws DeviceError where it cannot listen */
export async function tcpDevice(
  spec: TcpDeviceSpec,
  slave: Slave,
  clock: Pick<DeviceClock, 'after'>,
): Promise<TcpDevice> {
  const sockets = new Set<Socket>();
  const waits = new Set<() => void>();
  const server = createServer((socket) => serve(socket));
  await new Promise<void>((resolve, reject) => {
    server.once('error', (error) => reject(refusal(spec, error)));
    server.listen(spec.port, spec.host, resolve);
  });

  function serve(socket: Socket): void {
    sockets.add(socket);
    const reader = tcpReader();
    socket.setNoDelay(true);
    // A client that breaks off is a client less; 'close' follows.
    socket.on('error', () => {});
    socket.once('close', () => sockets.delete(socket));
    socket.on('data', (bytes) => {
      const requests = reader.push(bytes);
      if (requests === null) {
        socket.destroy();
        return;
      }
      for (const request of requests) for (const delivery of slave.answer(request)) deliver(socket, delivery);
    });
  }

  function deliver(socket: Socket, delivery: Delivery): void {
    const send = (): void => {
      if (!socket.writable) return;
      if (delivery.kind === 'hang-up') socket.end();
      // It asks and asks and takes nothing away: its replies must not fill the memory.
      else if (socket.writableLength > MAX_WAITING_BYTES) socket.destroy();
      else socket.write(delivery.bytes);
    };
    if (delivery.afterRealMs === 0) {
      send();
      return;
    }
    const cancel = clock.after(delivery.afterRealMs, () => {
      waits.delete(cancel);
      send();
    });
    waits.add(cancel);
  }

  const address = server.address();
  const port = typeof address === 'object' && address !== null ? address.port : spec.port;
  return {
    where: `Modbus TCP on ${spec.host.includes(':') ? `[${spec.host}]` : spec.host}:${port}`,
    port,
    async stop() {
      for (const cancel of waits) cancel();
      for (const socket of sockets) socket.destroy();
      await new Promise<void>((resolve) => server.close(() => resolve()));
    },
  };
}

function refusal({ host, port }: TcpDeviceSpec, error: unknown): DeviceError {
  const code = codeOf(error);
  const right =
    code === 'EADDRINUSE'
      ? 'Another program listens there: choose another port, or 0 for any.'
      : code === 'EACCES'
        ? 'Ports under 1024 need root: choose a higher one, or 0 for any.'
        : 'Give an address of this machine, as 127.0.0.1:1502.';
  return new DeviceError(`${host}:${port} cannot be listened on (${code}). ${right}`);
}
