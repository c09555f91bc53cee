/** The kiln as a board on the network: which messages it makes of what it measures, and how they come to the broker. */
import { type Deliveries, network } from './board-deliveries.ts';
import { codeOf, DeviceError, type DeviceNews, type DeviceReading, type KilnDevice } from './device.ts';
import { type MqttDeviceSpec, mqttDevice } from './mqtt-device.ts';
import { momentsOf } from './serial-device.ts';

export interface BoardSpec extends MqttDeviceSpec {
  readonly sensors: readonly string[];
  readonly lidSwitch?: boolean;
  /** Default `topics`: the number alone, each sensor on its topic. `json`: all of one moment on `<prefix>/readings`. */
  readonly payload?: 'topics' | 'json';
  /** The board has a clock and says when it measured, as `atMs`; a number alone becomes `{"celsius","atMs"}`. */
  readonly sourceTime?: boolean;
  readonly deliveries?: Deliveries;
}

export interface BoardMessage {
  readonly atMs: number;
  /** Behind the prefix. */
  readonly name: string;
  readonly text: string;
  /** How many readings are in it. */
  readonly readings: number;
}

/**
 * Messages that may wait for the broker. Ours: at 3,600 times speed about a second of two couples, and a board has
 * little memory. What comes beyond is lost, and counted.
 */
export const MAX_WAITING_MESSAGES = 1000;

/** @throws DeviceError where the broker cannot be reached; later losses are mended by the client itself */
export async function mqttBoard(spec: BoardSpec): Promise<KilnDevice> {
  const device = await mqttDevice(spec).catch((error: unknown) => {
    throw new DeviceError(
      `${spec.url} cannot be reached (${codeOf(error)}). Start a broker there, or give its address.`,
    );
  });
  const between = spec.deliveries === undefined ? undefined : network<BoardMessage>(spec.deliveries);
  const messagesOf = boardMessages(spec);
  const waiting = new Set<Promise<void>>();
  let readings = 0;
  let lost = 0;

  function send(message: BoardMessage): void {
    if (waiting.size >= MAX_WAITING_MESSAGES) {
      lost += message.readings;
      return;
    }
    const sending: Promise<void> = device
      .publish(message.name, message.text)
      .catch(() => {
        // The board was stopped with messages on their way.
        lost += message.readings;
      })
      .finally(() => waiting.delete(sending));
    waiting.add(sending);
  }

  return {
    say(news) {
      readings += news.readings.length;
      const messages = messagesOf(news);
      for (const message of between?.carry(messages) ?? messages) send(message);
    },
    async flushed() {
      for (const message of between?.rest() ?? []) send(message);
      await Promise.all(waiting);
    },
    counts: () => ({ readings, lost, requests: 0 }),
    stop: () => device.stop(),
  };
}

/** Remembers the switch between two calls. */
export function boardMessages(
  spec: Pick<BoardSpec, 'payload' | 'sourceTime' | 'lidSwitch'>,
): (news: DeviceNews) => BoardMessage[] {
  let lid: 'open' | 'closed' = 'closed';
  const stamp = (atMs: number): { atMs?: number } => (spec.sourceTime === true ? { atMs } : {});

  function onTopics(news: DeviceNews): BoardMessage[] {
    const lids = spec.lidSwitch === true ? news.lid : [];
    return inTime([
      ...lids.map((change) => ({ atMs: change.atMs, name: 'lid', text: change.lid, readings: 0 })),
      ...news.readings.map((reading) => ({
        atMs: reading.atMs,
        name: reading.sensor,
        text: textOf(reading),
        readings: 1,
      })),
    ]);
  }

  function textOf({ atMs, celsius }: DeviceReading): string {
    if (spec.sourceTime === true) return JSON.stringify({ celsius, ...stamp(atMs) });
    return celsius === null ? '' : `${celsius}`;
  }

  function inOne(news: DeviceNews): BoardMessage[] {
    const messages = [...momentsOf(news.readings)].map(({ atMs, rows }) => {
      lid = news.lid.findLast((change) => change.atMs <= atMs)?.lid ?? lid;
      const values = Object.fromEntries(rows.map((row) => [row.sensor, row.celsius]));
      const said = { ...values, ...(spec.lidSwitch === true && { lid }), ...stamp(atMs) };
      return { atMs, name: 'readings', text: JSON.stringify(said), readings: rows.length };
    });
    lid = news.lid.at(-1)?.lid ?? lid;
    return messages;
  }

  return spec.payload === 'json' ? inOne : onTopics;
}

/** Sorting keeps the order of what happens at the same instant. */
function inTime(messages: readonly BoardMessage[]): BoardMessage[] {
  return [...messages].sort((a, b) => a.atMs - b.atMs);
}
