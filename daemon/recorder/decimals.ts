/**
 * The way of decimal numbers into a record and back. A line holds whole numbers only, so 6.5 is written as
 * `{"decimal":"6.5"}`; fields without a value are left out.
 */
import { RecordError } from '../errors.ts';
import type { Recordable } from './recorder.ts';

/**
 * Any plain data in a form that a line may hold.
 *
 * @throws RecordError `not-recordable` for NaN, infinities and what is not plain data
 */
export function toRecordable(value: unknown): Recordable {
  if (typeof value === 'number') return Number.isSafeInteger(value) ? value : decimalOf(value);
  if (typeof value === 'string' || typeof value === 'boolean' || value === null) return value;
  if (Array.isArray(value)) return value.map((item) => (item === undefined ? null : toRecordable(item)));
  if (typeof value === 'object') {
    const present = Object.entries(value).filter(([, field]) => field !== undefined);
    return Object.fromEntries(present.map(([key, field]) => [key, toRecordable(field)]));
  }
  throw new RecordError('not-recordable', `A value of type ${typeof value} has no place in a record.`);
}

/** Turns `toRecordable` back: decimals are numbers again. Fields that were left out stay out. */
export function fromRecordable(value: Recordable): unknown {
  if (value === null || typeof value !== 'object') return value;
  if (isList(value)) return value.map(fromRecordable);
  const decimal = value.decimal;
  if (typeof decimal === 'string' && Object.keys(value).length === 1) return Number(decimal);
  return Object.fromEntries(Object.entries(value).map(([key, field]) => [key, fromRecordable(field)]));
}

function decimalOf(value: number): Recordable {
  if (!Number.isFinite(value)) throw new RecordError('not-recordable', `${value} is no number that can be recorded.`);
  return { decimal: String(value) };
}

/** `Array.isArray` does not narrow read-only lists out of a union. */
function isList(value: Recordable): value is readonly Recordable[] {
  return Array.isArray(value);
}
