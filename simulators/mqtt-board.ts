/** The kiln as a board on the network: which messages it makes of what it measures, and how they come to the broker. */
import { type Deliveries, network } from './board-deliveries.ts';
import { codeOf, DeviceError, type DeviceNews, type DeviceReading, type KilnDevice } from './device.ts';
import { type Round, rounds } from './line-rounds.ts';
import { type MqttDeviceSpec, mqttDevice } from './mqtt-device.ts';

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
  const board = boardMessages(spec);
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
    say(news, nowMs) {
      readings += news.readings.length;
      const messages = board.take(news, nowMs);
      for (const message of between?.carry(messages) ?? messages) send(message);
    },
    async flushed() {
      const messages = board.rest();
      for (const message of between?.carry(messages) ?? messages) send(message);
      for (const message of between?.rest() ?? []) send(message);
      await Promise.all(waiting);
    },
    counts: () => ({ readings, lost, requests: 0 }),
    stop: () => device.stop(),
  };
}

/** What the board makes of the news; remembers a round that is not yet over. */
export interface BoardMessages {
  take(news: DeviceNews, nowMs: number): BoardMessage[];
  rest(): BoardMessage[];
}

export function boardMessages(
  spec: Pick<BoardSpec, 'sensors' | 'payload' | 'sourceTime' | 'lidSwitch'>,
): BoardMessages {
  return spec.payload === 'json' ? inOne(spec) : onTopics(spec);
}

type Wording = Parameters<typeof boardMessages>[0];

function onTopics({ sourceTime, lidSwitch }: Wording): BoardMessages {
  function textOf({ atMs, celsius }: DeviceReading): string {
    if (sourceTime === true) return JSON.stringify({ celsius, atMs });
    return celsius === null ? '' : `${celsius}`;
  }
  return {
    take: (news) => {
      const lids = lidSwitch === true ? news.lid : [];
      return [
        ...lids.map((change) => ({ atMs: change.atMs, name: 'lid', text: change.lid, readings: 0 })),
        ...news.readings.map((r) => ({ atMs: r.atMs, name: r.sensor, text: textOf(r), readings: 1 })),
      ];
    },
    rest: () => [],
  };
}

function inOne({ sensors, sourceTime, lidSwitch }: Wording): BoardMessages {
  const inRounds = rounds(sensors);
  function messagesOf({ atMs, readings, lid, copies, count }: Round): BoardMessage[] {
    const values = Object.fromEntries(readings.map((r) => [r.sensor, r.celsius]));
    const said = { ...values, ...(lidSwitch === true && { lid }), ...(sourceTime === true && { atMs }) };
    const message = { atMs, name: 'readings', text: JSON.stringify(said), readings: count };
    return copies === 2 ? [message, { ...message, readings: 0 }] : [message];
  }
  return {
    take: (news, nowMs) => inRounds.take(news, nowMs).flatMap(messagesOf),
    rest: () => inRounds.rest().flatMap(messagesOf),
  };
}
