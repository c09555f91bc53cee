/** The same simulated kiln behind any real interface, or behind several at once. */
import type { Deliveries } from './board-deliveries.ts';
import {
  type DeviceClock,
  type DeviceCounts,
  DeviceError,
  type DeviceNews,
  type DeviceSource,
  type KilnDevice,
} from './device.ts';
import type { ControllerReadOut } from './kiln-plant.ts';
import type { LineTrouble } from './line-faults.ts';
import { type LineShapeName, lineShapes } from './line-shapes.ts';
import { MAX_SENSORS, registerBank } from './modbus/registers.ts';
import { type ModbusDevice, rtuDevice } from './modbus/rtu-device.ts';
import { modbusSlave, type Slave } from './modbus/slave.ts';
import { tcpDevice } from './modbus/tcp-device.ts';
import { mqttBoard } from './mqtt-board.ts';
import { lineDevice } from './serial-device.ts';

/** What the kiln has to show. */
interface Shown {
  /** In their order on a line and in the register map. */
  readonly sensors: readonly string[];
  /** There is a switch at the lid or door, and the interface says what it says. */
  readonly lidSwitch?: boolean;
}

/** Where the kiln stands, and how it speaks there. */
export type Behind = Shown & Where;

type Where =
  | {
      readonly kind: 'serial';
      /** One end of a terminal pair, or a real port. */
      readonly path: string;
      readonly shape?: LineShapeName;
      readonly trouble?: LineTrouble;
      readonly seed?: number;
    }
  | {
      readonly kind: 'modbus-rtu';
      readonly path: string;
      readonly baud?: number;
      readonly parity?: 'none' | 'even' | 'odd';
    }
  /** Port 0 lets the machine choose. */
  | { readonly kind: 'modbus-tcp'; readonly host: string; readonly port: number }
  | {
      readonly kind: 'mqtt';
      /** mqtt://host:port */
      readonly url: string;
      /** Default `kiln`: readings go to `kiln/<sensor>`. */
      readonly topicPrefix?: string;
      readonly qos?: 0 | 1;
      readonly retained?: boolean;
      readonly status?: boolean;
      readonly payload?: 'topics' | 'json';
      readonly sourceTime?: boolean;
      readonly deliveries?: Deliveries;
    };

export interface RunningBehind {
  /** Each interface in words, in the order asked for: `Modbus TCP on 127.0.0.1:1502`. */
  readonly where: readonly string[];
  /**
   * Resolves when the firing has ended and all that is pushed is out, or on `stop`. Modbus slaves go on answering with
   * the last values until `stop`. Rejects with a `DeviceError` where an interface goes away.
   */
  readonly done: Promise<void>;
  /** For each interface, in the order asked for. */
  counts(): readonly DeviceCounts[];
  stop(): Promise<void>;
}

/** How often, in real time, the kiln is asked what it has to say: at 3,600 times speed 25 ms are 90 s of its time. */
const ASKS_EVERY_REAL_MS = 25;

/**
 * Lets a simulated kiln run with the clock, whatever its speed. Lines and boards push what it says; a Modbus slave that is
 * polled lets it run on to that very instant and answers with its values then.
 *
 * @param hear also gets all news: what the operator did goes through no interface
 * @throws DeviceError where an interface cannot be opened; those opened before it are closed again
 */
export async function runBehind(
  source: DeviceSource,
  behinds: readonly Behind[],
  clock: DeviceClock,
  hear: (news: DeviceNews) => void = () => {},
): Promise<RunningBehind> {
  const devices: { readonly where: string; readonly device: KilnDevice }[] = [];
  let finish: () => void = () => {};
  let fail: (error: unknown) => void = () => {};
  const done = new Promise<void>((resolve, reject) => {
    finish = resolve;
    fail = reject;
  });
  // Whoever asks for `done` gets the reason; nobody else must die of it.
  done.catch(() => {});
  let stopAsking: () => void = () => {};
  let ended = false;
  let failed = false;
  /** Whoever polls before the last interface is open must not take the news from it. */
  let begun = false;

  function stopWith(error: unknown): void {
    ended = true;
    failed = true;
    stopAsking();
    fail(error);
  }

  function runOn(): void {
    if (!begun || ended) return;
    try {
      const nowMs = clock.nowMs();
      const news = source.step(nowMs);
      for (const { device } of devices) device.say(news, nowMs);
      hear(news);
      if (!source.ended()) return;
    } catch (error) {
      stopWith(error);
      return;
    }
    ended = true;
    stopAsking();
    Promise.all(devices.map(({ device }) => device.flushed())).then(() => finish(), stopWith);
  }

  async function stopAll(): Promise<void> {
    ended = true;
    stopAsking();
    await Promise.all(devices.map(({ device }) => device.stop()));
    finish();
  }

  const polled: Polled = {
    now: () => {
      runOn();
      if (failed) return null;
      try {
        return { nowMs: clock.nowMs(), running: !source.ended(), controller: source.controller?.() ?? null };
      } catch (error) {
        stopWith(error);
        return null;
      }
    },
  };
  try {
    for (const behind of behinds) devices.push(await open(behind, polled, clock, stopWith));
  } catch (error) {
    await stopAll();
    throw error;
  }
  begun = true;
  stopAsking = clock.every(ASKS_EVERY_REAL_MS, runOn);
  return {
    where: devices.map(({ where }) => where),
    done,
    counts: () => devices.map(({ device }) => device.counts()),
    stop: stopAll,
  };
}

interface Polled {
  /** Lets the kiln run on first; null where it has broken down. */
  now(): { readonly nowMs: number; readonly running: boolean; readonly controller: ControllerReadOut | null } | null;
}

async function open(
  behind: Behind,
  polled: Polled,
  clock: DeviceClock,
  trouble: (error: DeviceError) => void,
): Promise<{ where: string; device: KilnDevice }> {
  switch (behind.kind) {
    case 'serial': {
      const { kind: _, shape = 'semicolons', ...rest } = behind;
      const device = lineDevice({ ...rest, shape: lineShapes[shape] }, trouble);
      return { where: `Lines (${shape}) on ${behind.path}`, device };
    }
    case 'mqtt': {
      const { kind: _, topicPrefix = 'kiln', ...rest } = behind;
      const device = await mqttBoard({ ...rest, topicPrefix });
      return { where: `MQTT topics ${topicPrefix}/… at ${behind.url}`, device };
    }
    case 'modbus-rtu':
      return slaveDevice(behind, polled, (slave) => rtuDevice(behind, slave, clock, trouble));
    case 'modbus-tcp':
      return slaveDevice(behind, polled, (slave) => tcpDevice(behind, slave, clock));
  }
}

async function slaveDevice(
  { sensors, lidSwitch = false }: Shown,
  polled: Polled,
  openWith: (slave: Slave) => Promise<ModbusDevice>,
): Promise<{ where: string; device: KilnDevice }> {
  if (sensors.length > MAX_SENSORS) {
    throw new DeviceError(
      `The kiln has ${sensors.length} sensors and the register map has room for ${MAX_SENSORS}. Show fewer.`,
    );
  }
  const registers = registerBank(sensors, lidSwitch);
  let readings = 0;
  const slave = modbusSlave(() => {
    const now = polled.now();
    return now === null ? null : registers.registers(now.nowMs, now.running, now.controller);
  });
  const opened = await openWith(slave);
  const device: KilnDevice = {
    say(news) {
      readings += news.readings.length;
      registers.hear(news);
    },
    flushed: async () => {},
    counts: () => ({ readings, lost: 0, requests: slave.requestCount() }),
    stop: opened.stop,
  };
  return { where: opened.where, device };
}
