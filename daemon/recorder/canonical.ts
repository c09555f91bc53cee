/**
 * Canonical JSON after RFC 8785, narrowed to what a record may hold (requirement R3): whole numbers, strings,
 * booleans, null, lists and objects. Other numbers are refused, since languages write them differently.
 */
import { RecordError } from '../errors.ts';
import type { Recordable } from './recorder.ts';

/** Deeper nesting than any line needs; a value that contains itself ends here (our choice). */
const deepest = 64;

/**
 * The one way to write a value: keys sorted by UTF-16 code units, no spaces, no newline; minus zero becomes 0.
 *
 * @throws RecordError `not-recordable` for decimals, NaN, numbers beyond ±(2^53 - 1), half a surrogate pair,
 *   undefined and anything that is not plain data; the sentence names the place, such as `$.a[2]`
 */
export function canonicalLine(value: Recordable): string {
  return write(value, []);
}

function write(value: unknown, trail: (string | number)[]): string {
  switch (typeof value) {
    case 'string':
      return writeString(value, trail);
    case 'number':
      if (!Number.isSafeInteger(value)) throw refusal(trail, `${value} is not a whole number of at most 2^53 - 1`);
      return value === 0 ? '0' : String(value);
    case 'boolean':
      return value ? 'true' : 'false';
    case 'object':
      if (value === null) return 'null';
      if (trail.length >= deepest) throw refusal(trail, `it is nested more than ${deepest} deep`);
      return Array.isArray(value) ? writeList(value, trail) : writeObject(value, trail);
    default:
      throw refusal(trail, `a value of type ${typeof value} has no place in a record`);
  }
}

function writeString(text: string, trail: readonly (string | number)[]): string {
  // With the u flag a whole pair is one character, so only half a pair is still a surrogate.
  if (/\p{Surrogate}/u.test(text)) throw refusal(trail, 'the text holds half a surrogate pair');
  return JSON.stringify(text);
}

function writeList(list: readonly unknown[], trail: (string | number)[]): string {
  let text = '[';
  for (let index = 0; index < list.length; index += 1) {
    trail.push(index);
    text += (index > 0 ? ',' : '') + write(list[index], trail);
    trail.pop();
  }
  return `${text}]`;
}

function writeObject(value: object, trail: (string | number)[]): string {
  const kin = Object.getPrototypeOf(value);
  if (kin !== Object.prototype && kin !== null) throw refusal(trail, 'only plain objects can be recorded');
  let text = '{';
  // The language's own sort compares UTF-16 code units, as RFC 8785 asks in 3.2.3.
  for (const key of Object.keys(value).sort()) {
    trail.push(key);
    text += `${text.length > 1 ? ',' : ''}${writeString(key, trail)}:${write((value as Record<string, unknown>)[key], trail)}`;
    trail.pop();
  }
  return `${text}}`;
}

function refusal(trail: readonly (string | number)[], why: string): RecordError {
  const place = trail.map((step) => (typeof step === 'number' ? `[${step}]` : `.${step}`)).join('');
  return new RecordError('not-recordable', `$${place}: ${why}.`);
}
