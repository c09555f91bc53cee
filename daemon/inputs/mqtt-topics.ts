/** Readings from the topics of an MQTT broker. */
import { randomBytes } from 'node:crypto';
import { connect, type MqttClient } from 'mqtt';
import type { Clock } from '../runtime/clock.ts';
import type { Input, Listener } from './input.ts';
import { whyNoBroker } from './mqtt-trouble.ts';
import { onceRunning, type Running } from './once-running.ts';
import { type Reconnect, reconnect } from './reconnect.ts';
import { statusTeller } from './status-teller.ts';

export interface MqttOptions {
  readonly name: string;
  /** mqtt://HOST:PORT or mqtts://HOST:PORT */
  readonly url: string;
  readonly topics: readonly string[];
  readonly username?: string | undefined;
  readonly password?: string | undefined;
}

/** As for a serial line: no reading is longer. */
const MAX_PAYLOAD_BYTES = 4096;
/** A broker that is gone without a word is noticed within one and a half of these; the page's own watch is quicker. Ours. */
const KEEPALIVE_S = 10;
const CONNECT_TIMEOUT_MS = 10_000;

/** @param chance 0 to 1, for the jitter of the waits between two tries */
export function mqttTopics(options: MqttOptions, clock: Clock, chance: () => number = Math.random): Input {
  return onceRunning(options.name, (listener) => listenTo(options, clock, chance, listener));
}

function listenTo(options: MqttOptions, clock: Clock, chance: () => number, listener: Listener): Running {
  const tell = statusTeller(listener);
  const broker = new URL(options.url).host;
  let current: MqttClient | undefined;
  const again: Reconnect = reconnect(clock, chance, tryConnect);

  /** Each try has a client of its own, so that nothing of the last one lingers; the waits between are ours. */
  function tryConnect(): void {
    const client = connect(options.url, clientOptions(options));
    current = client;
    let trouble: Error | undefined;
    client.on('connect', () => {
      if (client === current) subscribe(client);
    });
    client.on('message', (topic, payload, packet) => {
      if (client !== current) return;
      const text = payload.subarray(0, MAX_PAYLOAD_BYTES).toString('utf8');
      listener.heard(packet.retain ? { channel: topic, text, retained: true } : { channel: topic, text });
    });
    client.on('error', (error) => {
      trouble ??= error;
      lose(client, trouble);
    });
    client.on('close', () => lose(client, trouble));
  }

  function subscribe(client: MqttClient): void {
    client.subscribe([...options.topics], { qos: 0 }, (error, granted) => {
      if (client !== current) return;
      const refused = granted?.filter((g) => g.qos >= 128).map((g) => g.topic) ?? [];
      if (error === null && refused.length === 0) {
        again.connected();
        tell('connected', `Listening to ${options.topics.join(', ')} at the broker ${broker}.`);
        return;
      }
      if (!client.connected) return; // 'close' tells of it
      discard(client);
      const what = (refused.length > 0 ? refused : options.topics).join(', ');
      tell('lost', `The broker ${broker} does not let us listen to ${what}. Give this user the right to read it.`);
      again.muchLater();
    });
  }

  /** Called once for each client, whatever it dies of. */
  function lose(client: MqttClient, error: Error | undefined): void {
    if (client !== current) return;
    discard(client);
    if (error === undefined) {
      tell('lost', `The broker ${broker} has gone. Check whether it runs; it is tried again by itself.`);
      again.later();
      return;
    }
    const { sentence, isRefused } = whyNoBroker(broker, error);
    tell('lost', sentence);
    if (isRefused) again.muchLater();
    else again.later();
  }

  /** Its listeners stay: they heed only the present client, and the library needs its own to end the call under way. */
  function discard(client: MqttClient): void {
    current = undefined;
    client.end(true);
  }

  tell('connecting', `Calling the broker ${broker}.`);
  tryConnect();
  return {
    async stop() {
      again.stop();
      const client = current;
      current = undefined;
      await client?.endAsync(true);
    },
  };
}

function clientOptions(options: MqttOptions) {
  return {
    reconnectPeriod: 0,
    connectTimeout: CONNECT_TIMEOUT_MS,
    keepalive: KEEPALIVE_S,
    protocolVersion: 4 as const,
    clean: true,
    resubscribe: false,
    // Two daemons under one name would throw each other out for ever.
    clientId: `spyhole-${randomBytes(6).toString('hex')}`,
    ...(options.username === undefined ? {} : { username: options.username }),
    ...(options.password === undefined ? {} : { password: options.password }),
  };
}
