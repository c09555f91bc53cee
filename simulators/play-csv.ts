/** Plays recorded readings at their own pace or many times faster, each at its due time by the monotonic clock. */
import type { DeviceClock, DeviceReading } from './device.ts';

export interface CsvRow extends DeviceReading {
  readonly lid?: 'open' | 'closed';
}

/**
 * Reads `time,sensor,celsius[,lid]`; an empty celsius is no valid value.
 * @throws SyntaxError with one sentence that names the line
 */
export function readingsOfCsv(text: string): CsvRow[] {
  const lines = text.split(/\r?\n/);
  const header = lines[0]?.trim();
  if (header !== 'time,sensor,celsius' && header !== 'time,sensor,celsius,lid') {
    throw new SyntaxError(
      `line 1: the columns are "${header ?? ''}"; they should be time,sensor,celsius or time,sensor,celsius,lid.`,
    );
  }
  return lines.slice(1).flatMap((line, i) => (line.trim() === '' ? [] : [rowOf(line, i + 2)]));
}

function rowOf(line: string, number: number): CsvRow {
  const [time = '', sensor = '', celsius = '', lid = ''] = line.split(',').map((field) => field.trim());
  const atMs = Date.parse(time);
  const value = celsius === '' ? null : Number(celsius);
  if (Number.isNaN(atMs))
    throw new SyntaxError(`line ${number}: "${time}" is no time; write it as 2025-05-12T13:58:00Z.`);
  if (sensor === '') throw new SyntaxError(`line ${number}: the sensor has no name; write one behind the time.`);
  if (Number.isNaN(value)) {
    throw new SyntaxError(`line ${number}: "${celsius}" is no temperature; write degrees as 648.25, or nothing.`);
  }
  if (lid === '') return { atMs, sensor, celsius: value };
  if (lid !== 'open' && lid !== 'closed') {
    throw new SyntaxError(`line ${number}: the lid is "${lid}"; write open or closed.`);
  }
  return { atMs, sensor, celsius: value, lid };
}

export interface Playing {
  /** Resolves when the last row has been sent, or on `stop`. */
  readonly done: Promise<void>;
  stop(): void;
}

/**
 * Sends each row when it is due: the start plus its distance from the first row, divided by `pace`. A late row is sent
 * at once and the next is still due at its own time, so delays never accumulate. Rows out of order in time are sent in
 * their own order.
 *
 * @param pace how many times faster than it was recorded, above 0
 */
export function playRows<Row extends { readonly atMs: number }>(
  rows: Iterable<Row>,
  pace: number,
  clock: Pick<DeviceClock, 'realMs' | 'after'>,
  send: (row: Row) => void,
): Playing {
  if (!(pace > 0)) throw new RangeError(`the pace is ${pace}; it should be a number above 0, 1 for the recorded pace`);
  const iterator = rows[Symbol.iterator]();
  const startedRealMs = clock.realMs();
  let cancel: () => void = () => {};
  let finish: () => void = () => {};
  const done = new Promise<void>((resolve) => {
    finish = resolve;
  });
  let firstMs: number | null = null;
  let next = iterator.next();

  function sendDue(): void {
    while (!next.done) {
      firstMs ??= next.value.atMs;
      const dueInMs = startedRealMs + (next.value.atMs - firstMs) / pace - clock.realMs();
      if (dueInMs > 0) {
        cancel = clock.after(dueInMs, sendDue);
        return;
      }
      send(next.value);
      next = iterator.next();
    }
    finish();
  }
  sendDue();

  return {
    done,
    stop() {
      cancel();
      next = { done: true, value: undefined };
      finish();
    },
  };
}
