/** Readings from the topics of an MQTT broker. */
import type { Clock } from '../runtime/clock.ts';
import { type BrokerOptions, brokerLink, type Session } from './broker-link.ts';
import type { Input, Listener } from './input.ts';
import { onceRunning, type Running } from './once-running.ts';
import { statusTeller } from './status-teller.ts';

export interface MqttOptions extends BrokerOptions {
  readonly name: string;
  readonly topics: readonly string[];
}

/** As for a serial line: no reading is longer. */
const MAX_PAYLOAD_BYTES = 4096;

/** @param chance 0 to 1, for the jitter of the waits between two tries */
export function mqttTopics(options: MqttOptions, clock: Clock, chance: () => number = Math.random): Input {
  return onceRunning(options.name, (listener) => listenTo(options, clock, chance, listener));
}

function namesOf(topics: readonly string[]): string {
  return topics.includes('#') ? 'all topics' : topics.join(', ');
}

function listenTo(options: MqttOptions, clock: Clock, chance: () => number, listener: Listener): Running {
  const tell = statusTeller(listener);
  const { topics } = options;
  tell('connecting', `Calling the broker ${new URL(options.url).host}.`);
  const link = brokerLink(options, clock, chance, {
    open: (session) => void subscribe(session),
    heard(channel, payload, isRetained) {
      const text = payload.subarray(0, MAX_PAYLOAD_BYTES).toString('utf8');
      listener.heard(isRetained ? { channel, text, retained: true } : { channel, text });
    },
    lost: (sentence) => tell('lost', sentence),
  });

  async function subscribe(session: Session): Promise<void> {
    const refused = await session.subscribe(topics);
    if (refused === undefined) return;
    if (refused.length === 0) {
      tell('connected', `Listening to ${namesOf(topics)} at the broker ${link.broker}.`);
      return;
    }
    const what = refused.join(', ');
    session.giveUp(`The broker ${link.broker} does not let us listen to ${what}. Give this user the right to read it.`);
  }

  return link;
}
