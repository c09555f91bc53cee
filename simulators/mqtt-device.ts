/** A board at the kiln that publishes each reading to a broker, on a topic of its own. */
import { connectAsync, type MqttClient } from 'mqtt';
import type { DeviceClock, DeviceNews, DeviceReading, DeviceSource, LidChange } from './device.ts';

export interface MqttDevice {
  /** The number alone, or nothing where the instrument gives none. Resolves when the broker has it. */
  reading(reading: DeviceReading): Promise<void>;
  lid(change: LidChange): Promise<void>;
  /** Any text under a name of the board's own. */
  publish(name: string, text: string): Promise<void>;
  stop(): Promise<void>;
}

export interface MqttDeviceSpec {
  /** mqtt://host:port */
  readonly url: string;
  /** Readings go to `<prefix>/<sensor>`, the switch to `<prefix>/lid`. */
  readonly topicPrefix: string;
  /** Default 1: the broker says that it has it. */
  readonly qos?: 0 | 1;
  /** The broker keeps the last value and gives it to whoever comes later, however old it is. */
  readonly retained?: boolean;
  /**
   * Keeps `<prefix>/status`, retained: `ready` while the board is there, `ended` once it has taken its leave, `lost`
   * where the broker had to find out by itself.
   */
  readonly status?: boolean;
}

/** @throws Error when the broker cannot be reached; later losses are mended by the client itself */
export async function mqttDevice(spec: MqttDeviceSpec): Promise<MqttDevice> {
  const { url, topicPrefix, qos = 1, retained: retain = false } = spec;
  const status = `${topicPrefix}/status`;
  const kept = { qos: 1, retain: true } as const;
  const client: MqttClient = await connectAsync(url, {
    reconnectPeriod: 500,
    connectTimeout: 5000,
    ...(spec.status === true && { will: { topic: status, payload: Buffer.from('lost'), ...kept } }),
  });
  // A broker that goes away is not this board's business: it tries again, and what it has to say waits.
  client.on('error', () => {});
  const publish = async (name: string, text: string): Promise<void> => {
    await client.publishAsync(`${topicPrefix}/${name}`, text, { qos, retain });
  };
  const tellStatus = async (word: string): Promise<void> => {
    if (spec.status === true && client.connected) await client.publishAsync(status, word, kept);
  };
  await tellStatus('ready');
  // The will has been carried out meanwhile. Where it fails, the connection is lost again, and this comes again.
  client.on('connect', () => void tellStatus('ready').catch(() => {}));
  return {
    reading: ({ sensor, celsius }) => publish(sensor, celsius === null ? '' : `${celsius}`),
    lid: ({ lid }) => publish('lid', lid),
    publish,
    async stop() {
      // Without a broker nobody hears the leave, and the will tells.
      await tellStatus('ended').catch(() => {});
      if (spec.status === true && client.connected) await takeLeave(client);
      else await client.endAsync(true);
    },
  };
}

/** Ended by force the client says no goodbye, and the broker would carry out the will. */
async function takeLeave(client: MqttClient): Promise<void> {
  await new Promise<void>((resolve) => {
    client.once('close', () => resolve());
    client.end(false, () => resolve());
  });
  await client.endAsync(true);
}

export interface RunningKiln {
  /** Resolves when the firing has ended and all is published, or on `stop`. */
  readonly done: Promise<void>;
  stop(): void;
}

/** How often, in real time, the kiln is asked what it has to say: at 60 times speed 25 ms are 1.5 s of its time. */
const ASKS_EVERY_REAL_MS = 25;

/**
 * Lets a simulated kiln run with the clock, whatever its speed, and publishes what it says.
 * @param hear also gets all news, for what does not go through the broker: what the operator did
 */
export function runKiln(
  source: DeviceSource,
  device: MqttDevice,
  clock: Pick<DeviceClock, 'nowMs' | 'every'>,
  hear: (news: DeviceNews) => void = () => {},
): RunningKiln {
  let finish: () => void = () => {};
  let fail: (error: unknown) => void = () => {};
  const done = new Promise<void>((resolve, reject) => {
    finish = resolve;
    fail = reject;
  });
  let sending: Promise<unknown> = Promise.resolve();
  const stopAsking = clock.every(ASKS_EVERY_REAL_MS, () => {
    const news = source.step(clock.nowMs());
    const lids = news.lid.map((change) => device.lid(change));
    const readings = news.readings.map((reading) => device.reading(reading));
    const before = sending;
    sending = Promise.all([before, ...lids, ...readings]);
    sending.catch(stopWith);
    hear(news);
    if (source.ended()) {
      stopAsking();
      sending.then(() => finish(), stopWith);
    }
  });
  function stopWith(error: unknown): void {
    stopAsking();
    fail(error);
  }
  return {
    done,
    stop() {
      stopAsking();
      finish();
    },
  };
}
