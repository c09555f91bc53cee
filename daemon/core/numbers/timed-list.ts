/**
 * Readings oldest first, kept in two pieces: filing one copies the young piece alone, so that it costs little however many
 * there are. A list never changes; each filing makes another that shares what it can.
 */

export interface TimedC {
  readonly atMs: number;
  readonly celsius: number;
}

export interface TimedList {
  readonly older: readonly TimedC[];
  readonly young: readonly TimedC[];
}

/** The older readings once more, as bare figures: sums over hundreds of them are made with each reading. */
export interface Figures {
  readonly atMs: Float64Array;
  readonly celsius: Float64Array;
}

const FIGURES = new WeakMap<readonly TimedC[], Figures>();

/** Of the older piece, which many lists share: worked out once for all of them. */
export function olderFigures({ older }: TimedList): Figures {
  let figures = FIGURES.get(older);
  if (figures === undefined) {
    figures = { atMs: new Float64Array(older.length), celsius: new Float64Array(older.length) };
    for (let i = 0; i < older.length; i++) {
      figures.atMs[i] = older[i]?.atMs ?? 0;
      figures.celsius[i] = older[i]?.celsius ?? 0;
    }
    FIGURES.set(older, figures);
  }
  return figures;
}

/** About where the copies of the young piece and the rarer ones of the whole cost the same for a thousand readings. */
const YOUNG_COUNT = 48;

export const NO_READINGS: TimedList = { older: [], young: [] };

export function listOf(readings: readonly TimedC[]): TimedList {
  return { older: [], young: readings };
}

export function countOf({ older, young }: TimedList): number {
  return older.length + young.length;
}

/** @returns undefined outside the list */
export function readingAt({ older, young }: TimedList, index: number): TimedC | undefined {
  return index < older.length ? older[index] : young[index - older.length];
}

/** How many are not younger than `atMs`; they are in the order of time. */
export function countUntil(list: TimedList, atMs: number): number {
  let low = 0;
  let high = countOf(list);
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((readingAt(list, middle)?.atMs ?? 0) > atMs) high = middle;
    else low = middle + 1;
  }
  return low;
}

/** The last one that is not younger than `atMs`. @returns undefined where all are */
export function readingUntil(list: TimedList, atMs: number): TimedC | undefined {
  return readingAt(list, countUntil(list, atMs) - 1);
}

/**
 * @param cutBeforeMs what is older may be left out
 * @param keepFromMs nothing is left out while all is younger than this, so that the front is cut in strides
 */
export function withReading(list: TimedList, reading: TimedC, cutBeforeMs: number, keepFromMs: number): TimedList {
  const { older, young } = list;
  if (young.length < YOUNG_COUNT) {
    const next = young.slice();
    next.push(reading);
    return { older, young: next };
  }
  const first = older[0] ?? young[0];
  const whole = older.concat(young);
  const isLong = first !== undefined && first.atMs < keepFromMs;
  return { older: isLong ? whole.filter((r) => r.atMs >= cutBeforeMs) : whole, young: [reading] };
}
