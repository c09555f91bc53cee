/** The Modbus slave on a serial port or a pseudo-terminal. */
import { SerialPort } from 'serialport';
import { codeOf, type DeviceClock, DeviceError } from '../device.ts';
import { type Request, rtuReader } from './frames.ts';
import type { Slave } from './slave.ts';

export interface RtuDeviceSpec {
  readonly path: string;
  /** Default 19200, as the standard has it (Serial Line V1.02, 3.2). */
  readonly baud?: number;
  /** Default none: the standard's is even, but a pseudo-terminal has none and some refuse to be asked for it. */
  readonly parity?: 'none' | 'even' | 'odd';
}

export interface ModbusDevice {
  /** In words: `Modbus RTU on /dev/ttyUSB0`. */
  readonly where: string;
  stop(): Promise<void>;
}

/**
 * A frame's bytes lie at most 1.5 characters apart, but nobody outside the kernel can see that: bytes come in heaps.
 * A frame broken off for so long is over.
 */
const SILENCE_REAL_MS = 50;
/** On Node 26 what a port says is handed on only when something else wakes the process. */
const WAKE_EACH_MS = 10;

/**
 * @param trouble told when the port goes away
 * @throws DeviceError where it cannot be opened
 */
export async function rtuDevice(
  spec: RtuDeviceSpec,
  slave: Slave,
  clock: Pick<DeviceClock, 'after'>,
  trouble: (error: DeviceError) => void,
): Promise<ModbusDevice> {
  const { path, baud: baudRate = 19_200, parity = 'none' } = spec;
  const port = new SerialPort({ path, baudRate, parity, autoOpen: false });
  const beat = setInterval(() => {}, WAKE_EACH_MS);
  // Node ends the process over an 'error' that nobody hears. What it tells, 'close' tells too.
  port.on('error', () => {});
  await new Promise<void>((resolve, reject) => {
    port.open((error) => {
      if (error === null) return resolve();
      clearInterval(beat);
      reject(new DeviceError(`${path} cannot be opened (${codeOf(error)}). Give a port that is there and free.`));
    });
  });

  const reader = rtuReader();
  const waits = new Set<() => void>();
  let cancelSilence: () => void = () => {};
  let stopped = false;

  function later(realMs: number, fn: () => void): void {
    const cancel = clock.after(realMs, () => {
      waits.delete(cancel);
      fn();
    });
    waits.add(cancel);
  }

  function answer(requests: readonly Request[]): void {
    for (const request of requests) {
      for (const delivery of slave.answer(request)) {
        // A line cannot be hung up.
        if (delivery.kind === 'hang-up') continue;
        if (delivery.afterRealMs === 0) port.write(delivery.bytes);
        else later(delivery.afterRealMs, () => port.write(delivery.bytes));
      }
    }
  }

  port.on('data', (bytes: Uint8Array) => {
    cancelSilence();
    cancelSilence = clock.after(SILENCE_REAL_MS, () => answer(reader.silence()));
    answer(reader.push(bytes));
  });
  port.once('close', () => {
    clearInterval(beat);
    if (!stopped) trouble(new DeviceError(`${path} was unplugged. Plug it in and begin again.`));
  });

  return {
    where: `Modbus RTU on ${path}, ${baudRate} baud, parity ${parity}`,
    async stop() {
      stopped = true;
      cancelSilence();
      for (const cancel of waits) cancel();
      if (!port.isOpen) return;
      await new Promise<void>((resolve) => port.close(() => resolve()));
    },
  };
}
