/** The line to an MQTT broker, 3.1.1 or 5, mended for ever: what listens and what speaks over MQTT stand upon it. */
import { randomBytes } from 'node:crypto';
import { connect, type IClientOptions, type MqttClient } from 'mqtt';
import type { Clock } from '../runtime/clock.ts';
import { type BrokerTrouble, whyDisconnected, whyNoBroker } from './mqtt-trouble.ts';
import type { Running } from './once-running.ts';
import { type Reconnect, reconnect } from './reconnect.ts';

export interface BrokerOptions {
  /** mqtt://HOST:PORT or mqtts://HOST:PORT */
  readonly url: string;
  /** Default 3.1.1. */
  readonly version?: '3.1.1' | 5 | undefined;
  readonly username?: string | undefined;
  readonly password?: string | undefined;
  /** Certificates of the authority that is trusted, as PEM; without them those that the machine trusts. */
  readonly ca?: string | undefined;
  /** A broker that is gone without a word is noticed within one and a half of these; the page's own watch is quicker. Ours. */
  readonly keepaliveS?: number | undefined;
}

/** Something said on a topic. The broker keeps what is `retained` for whoever comes later. */
export interface Said {
  readonly topic: string;
  readonly text: string;
  readonly qos: 0 | 1;
  readonly retained: boolean;
}

/** One connection to the broker, from when it lets us in until it is lost. */
export interface Session {
  /** @returns the topics that we may not listen to; undefined where the line is lost meanwhile */
  subscribe(topics: readonly string[]): Promise<readonly string[] | undefined>;
  say(said: Said): void;
  /** Bytes that wait to go out: a broker or a network that is slow. */
  waitingBytes(): number;
  /** Lasting trouble: this connection is given up, and tried again after the longest wait. */
  giveUp(sentence: string): void;
}

export interface LinkListener {
  /** The broker has let us in. */
  open(session: Session): void;
  heard(topic: string, payload: Buffer, isRetained: boolean): void;
  lost(sentence: string): void;
}

export interface BrokerLink extends Running {
  /** HOST:PORT, as the person knows it. */
  readonly broker: string;
  /** Takes leave, so that the will is not carried out. */
  stop(): Promise<void>;
}

const KEEPALIVE_S = 10;
const CONNECT_TIMEOUT_MS = 10_000;
/** How long the last words may take to reach the broker before the line is cut. Ours. */
const LEAVE_MS = 1000;

/**
 * @param chance 0 to 1, for the jitter of the waits between two tries
 * @param will what the broker says on our behalf once we are gone without taking leave
 */
export function brokerLink(
  options: BrokerOptions,
  clock: Clock,
  chance: () => number,
  listener: LinkListener,
  will?: Said,
): BrokerLink {
  const broker = new URL(options.url).host;
  let current: MqttClient | undefined;
  const again: Reconnect = reconnect(clock, chance, tryConnect);

  /** Each try has a client of its own, so that nothing of the last one lingers; the waits between are ours. */
  function tryConnect(): void {
    const client = connect(options.url, clientOptions(options, will));
    current = client;
    let trouble: BrokerTrouble | undefined;
    client.on('connect', () => {
      if (client !== current) return;
      again.connected();
      listener.open(sessionOf(client));
    });
    client.on('message', (topic, payload, packet) => {
      if (client === current) listener.heard(topic, payload, packet.retain);
    });
    // MQTT 5: the broker says why it closes the line.
    client.on('disconnect', (packet) => {
      trouble ??= whyDisconnected(broker, packet.reasonCode ?? 0);
    });
    client.on('error', (error) => {
      trouble ??= whyNoBroker(broker, error);
      lose(client, trouble);
    });
    client.on('close', () => lose(client, trouble));
  }

  function sessionOf(client: MqttClient): Session {
    return {
      subscribe: (topics) =>
        new Promise((resolve) => {
          client.subscribe([...topics], { qos: 0 }, (error, granted) => {
            if (client !== current || !client.connected) return resolve(undefined); // 'close' tells of it
            const refused = granted?.filter((g) => g.qos >= 128).map((g) => g.topic) ?? [];
            resolve(error === null ? refused : refused.length > 0 ? refused : topics);
          });
        }),
      say({ topic, text, qos, retained }) {
        if (client === current && client.connected) client.publish(topic, text, { qos, retain: retained });
      },
      waitingBytes: () => client.stream?.writableLength ?? 0,
      giveUp(sentence) {
        if (client !== current) return;
        discard(client);
        listener.lost(sentence);
        again.muchLater();
      },
    };
  }

  /** Called once for each client, whatever it dies of. */
  function lose(client: MqttClient, trouble: BrokerTrouble | undefined): void {
    if (client !== current) return;
    discard(client);
    listener.lost(
      trouble?.sentence ?? `The broker ${broker} has gone. Check whether it runs; it is tried again by itself.`,
    );
    if (trouble?.isRefused === true) again.muchLater();
    else again.later();
  }

  /** Its listeners stay: they heed only the present client, and the library needs its own to end the call under way. */
  function discard(client: MqttClient): void {
    current = undefined;
    client.end(true);
  }

  tryConnect();
  return {
    broker,
    async stop() {
      again.stop();
      const client = current;
      current = undefined;
      if (client?.connected === true) await takeLeave(client, clock);
      await client?.endAsync(true);
    },
  };
}

/** Ended by force the client says no goodbye, and the broker would carry out the will. */
async function takeLeave(client: MqttClient, clock: Clock): Promise<void> {
  await new Promise<void>((resolve) => {
    const cancel = clock.after(LEAVE_MS, resolve);
    client.end(false, () => {
      cancel();
      resolve();
    });
  });
}

function clientOptions(options: BrokerOptions, will: Said | undefined): IClientOptions {
  const { version = '3.1.1', username, password, ca, keepaliveS = KEEPALIVE_S } = options;
  return {
    reconnectPeriod: 0,
    connectTimeout: CONNECT_TIMEOUT_MS,
    keepalive: keepaliveS,
    protocolVersion: version === 5 ? 5 : 4,
    // Nothing is kept for us at the broker while we are away: what comes late is no reading of now.
    clean: true,
    resubscribe: false,
    // What cannot go out at once is old by the time it could.
    queueQoSZero: false,
    // Two daemons under one name would throw each other out for ever.
    clientId: `spyhole-${randomBytes(6).toString('hex')}`,
    ...(username !== undefined && { username }),
    ...(password !== undefined && { password }),
    ...(ca !== undefined && { ca }),
    ...(will !== undefined && {
      will: { topic: will.topic, payload: Buffer.from(will.text), qos: will.qos, retain: will.retained },
    }),
  };
}
