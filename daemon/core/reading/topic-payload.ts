/** One payload of an MQTT topic -> readings: a plain value, or the values that stand at places in JSON. */
import type { TopicPoint } from '../plan/kiln.ts';
import { jsonAt, parsedJson, textOfJson } from './json-place.ts';
import { quote } from './quote.ts';
import type { Decoded, Reading, Rejected } from './reading.ts';
import { saidTimeMs } from './said-time.ts';
import { type FieldReader, figureText, misread } from './text-line.ts';

/** Several sensors may stand in one payload; one that this payload does not tell of may stand in the next. */
export function decodePayload(
  topic: string | undefined,
  payload: string,
  points: readonly TopicPoint[],
  reader: FieldReader,
): Decoded | Rejected {
  const here = points.filter((point) => point.topic === topic);
  if (here.length === 0) return reject(`Nothing here belongs to ${quote(topic ?? '')}`);
  const json = here.some((point) => point.path !== undefined) ? parsedJson(payload) : undefined;
  const readings: Reading[] = [];
  for (const point of here) {
    const value = point.path === undefined ? payload : jsonAt(json, point.path);
    if (value === undefined) continue;
    const reading = readingOf(value, point, reader);
    if (typeof reading === 'string') return reject(`${topic} said ${quote(payload)}, which ${reading}`);
    const saidAtMs = timeIn(point, json);
    if (saidAtMs === 'garbled') {
      return reject(`${topic} said ${quote(payload)}, which has no time at ${quote(point.timePath ?? '')}`);
    }
    readings.push(saidAtMs === undefined ? reading : { ...reading, saidAtMs });
  }
  if (readings.length > 0) return { ok: true, readings };
  const places = here.map((point) => point.path).join(', ');
  return reject(
    `${topic} said ${quote(payload)}, which ${json === undefined ? 'is no JSON' : `has nothing at ${places}`}`,
  );
}

/** @returns why there is none, as the rest of a sentence */
function readingOf(value: unknown, point: TopicPoint, reader: FieldReader): Reading | string {
  const text = textOfJson(value);
  if (text === undefined) return `has a group or a list at ${quote(point.path ?? '')}`;
  const isJsonNumber = typeof value === 'number';
  const figure = figureText(text, isJsonNumber ? { ...point, decimal: 'point' } : point);
  if (figure === undefined) return misread(text, point);
  const reading = reader.read(point.gives, figure);
  return reading ?? `is no ${point.gives === 'lid' ? 'open or closed' : reader.wanted(point.gives)}`;
}

/** A board that does not know the time yet says so with nothing or null: then it is heard when it arrives. */
function timeIn({ timePath }: TopicPoint, json: unknown): number | undefined | 'garbled' {
  if (timePath === undefined) return undefined;
  const value = jsonAt(json, timePath);
  if (value === undefined || value === null) return undefined;
  return saidTimeMs(value) ?? 'garbled';
}

function reject(sentence: string): Rejected {
  return { ok: false, sentence: `${sentence}.` };
}
