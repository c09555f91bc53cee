/** A kiln whose readings come over MQTT: the shape of its `input`, and how its payloads are read. */
import { z } from 'zod';
import type { Decoding, TopicPoint } from '../core/plan/kiln.ts';
import type { Fault } from '../errors.ts';
import { BROKER_HABITS, type BrokerEntry, brokerFaults, brokerShape } from './broker.ts';
import { faultAt, strict } from './faults.ts';
import { DECIMAL, NO_VALUES, SIMULATED } from './input-parts.ts';
import { words } from './schedule-schema.ts';
import type { Path, Source } from './yaml-file.ts';

export interface MqttParts extends BrokerEntry {
  readonly kind: 'mqtt';
  readonly topics: readonly string[];
}

const TOPIC = 'write one whole topic, without + and #';
const PLACE = 'the place of the value in JSON, for example chamber, data.chamber or 0.celsius';
const TIME_PLACE = 'the place of the time in JSON: ms or s since 1970, or ISO 8601 with a zone';
const UNIT = 'write unit at the sensor: {name, letter, unit: F}';
const ENTRY = 'write a topic, or {topic, path} for a value within JSON';

const topicName = z
  .string({ error: TOPIC })
  .refine((t) => t !== '' && t.length <= 1000 && !/[+#\0]/.test(t), { error: TOPIC });

const topicEntry = strict(
  {
    topic: topicName,
    path: words(PLACE, 200).optional(),
    timePath: words(TIME_PLACE, 200).optional(),
  },
  ENTRY,
  { place: 'write path', json: 'write path', key: 'write path', time: 'write timePath', unit: UNIT, degrees: UNIT },
);

export const mqttSchema = strict(
  {
    kind: z.literal('mqtt'),
    ...brokerShape,
    topics: z.record(z.string(), z.union([topicName, topicEntry], { error: describeEntry }), {
      error: 'write a topic for each sensor, and for lid if there is a switch',
    }),
    decimal: DECIMAL.optional(),
    noValue: NO_VALUES.optional(),
    simulated: SIMULATED,
  },
  'write {kind: mqtt, url, topics}',
  { ...BROKER_HABITS, topic: 'write topics, one for each sensor' },
);

/** Of a topic or a group, only what is wrong with the one that was meant. */
function describeEntry(issue: { readonly input: unknown }): string {
  return typeof issue.input === 'string' ? TOPIC : ENTRY;
}

export type MqttShape = z.infer<typeof mqttSchema>;

/** What a schema cannot say of the topics. */
export function mqttFaults(source: Source, shape: MqttShape, at: Path): Fault[] {
  const points = pointsOf(shape);
  const faults = brokerFaults(source, at);
  for (const [i, point] of points.entries()) {
    const where = [...at, 'topics', point.gives];
    const isSame = (other: TopicPoint): boolean => other.topic === point.topic && other.path === point.path;
    if (points.findIndex(isSame) < i) {
      const isPlain = point.path === undefined;
      const right = isPlain ? 'give each a topic of its own' : 'give each a place of its own';
      faults.push(faultAt(source, where, right, ...(isPlain ? [] : [`"${point.path}" is read twice`])));
    } else if (point.timePath !== undefined && point.path === undefined) {
      faults.push(faultAt(source, where, `write path too: ${PLACE}`, 'a time stands in JSON only'));
    }
  }
  return faults;
}

/** The sensors or the lid that are fed, each with its place in the configuration. */
export function mqttFeeds(shape: MqttShape, at: Path): { target: string; path: Path }[] {
  return Object.keys(shape.topics).map((target) => ({ target, path: [...at, 'topics', target] }));
}

/** @returns where the payloads come from, and how they become figures */
export function wireMqtt(shape: MqttShape): { parts: MqttParts; decoding: Decoding } {
  const { topics: _, simulated: _s, decimal: _d, noValue: _n, ...broker } = shape;
  const points = pointsOf(shape);
  const topics = [...new Set(points.map((point) => point.topic))];
  return { parts: { ...broker, topics }, decoding: { kind: 'topics', points } };
}

function pointsOf({ topics, decimal, noValue }: MqttShape): TopicPoint[] {
  const habits = { ...(decimal !== undefined && { decimal }), ...(noValue !== undefined && { noValue }) };
  return Object.entries(topics).map(([gives, entry]) => {
    const { topic, path, timePath } = typeof entry === 'string' ? { topic: entry } : entry;
    return {
      gives,
      topic,
      ...(path !== undefined && { path }),
      ...(timePath !== undefined && { timePath }),
      ...habits,
    };
  });
}
