/** Does the forecast's band hold what it promises? Counted as the firing goes. */
import type { ForecastEvent } from '../../daemon/core/events.ts';
import type { Schedule } from '../../daemon/core/plan/schedule.ts';

export const AHEAD_S = [120, 300, 600, 1200, 1800] as const;
export type Stretch = 'climb' | 'hold' | 'fall';

export interface BandCount {
  readonly stretch: Stretch;
  readonly aheadS: number;
  readonly count: number;
  readonly within: number;
  /** Sum of squared errors of the forecast, and of the last reading taken for one. */
  readonly squaredC: number;
  readonly stillSquaredC: number;
}
export type BandCounts = readonly BandCount[];

/** One forecast in so many seconds is judged: neighbours say the same. */
const EACH_S = 60;
/** A reading this long after the foreseen instant is another one. */
const LATE_MS = 60_000;

interface Waiting {
  readonly forMs: number;
  readonly aheadS: number;
  readonly stretch: Stretch;
  readonly celsius: number;
  readonly lowC: number;
  readonly highC: number;
  readonly stillC: number;
}

export interface BandWatch {
  foresee(event: ForecastEvent, segment: number | null): void;
  /** A reading of the ruling sensor. */
  read(atMs: number, celsius: number): void;
  counts(): BandCounts;
}

export function bandWatch(schedule: Schedule): BandWatch {
  const stretches = stretchesOf(schedule);
  const sums = new Map<string, { -readonly [Key in keyof BandCount]: BandCount[Key] }>();
  let waiting: Waiting[] = [];
  let lastAtMs = Number.NEGATIVE_INFINITY;
  let lastC = Number.NaN;

  function settle(one: Waiting, celsius: number): void {
    const key = `${one.stretch} ${one.aheadS}`;
    const { stretch, aheadS } = one;
    const sum = sums.get(key) ?? { stretch, aheadS, count: 0, within: 0, squaredC: 0, stillSquaredC: 0 };
    sum.count += 1;
    if (celsius >= one.lowC && celsius <= one.highC) sum.within += 1;
    sum.squaredC += (celsius - one.celsius) ** 2;
    sum.stillSquaredC += (celsius - one.stillC) ** 2;
    sums.set(key, sum);
  }

  return {
    foresee(event, segment) {
      if (event.atMs - lastAtMs < EACH_S * 1000) return;
      lastAtMs = event.atMs;
      const stretch = stretches[segment ?? 0] ?? 'fall';
      for (const aheadS of AHEAD_S) {
        const at = pointAt(event, event.atMs + aheadS * 1000);
        if (at !== null) waiting.push({ forMs: event.atMs + aheadS * 1000, aheadS, stretch, stillC: lastC, ...at });
      }
    },
    read(atMs, celsius) {
      lastC = celsius;
      if (waiting.every((one) => one.forMs > atMs)) return;
      for (const one of waiting) if (one.forMs <= atMs && atMs - one.forMs < LATE_MS) settle(one, celsius);
      waiting = waiting.filter((one) => one.forMs > atMs);
    },
    counts: () => [...sums.values()],
  };
}

/** Between two points of the forecast it goes straight. */
export function pointAt(event: ForecastEvent, atMs: number): { celsius: number; lowC: number; highC: number } | null {
  const { points } = event;
  const after = points.findIndex((p) => p.atMs >= atMs);
  const b = points[after];
  if (b === undefined) return null;
  const a = points[after - 1];
  if (a === undefined) return b.atMs === atMs ? { celsius: b.celsius, lowC: b.lowC, highC: b.highC } : null;
  const share = (atMs - a.atMs) / (b.atMs - a.atMs);
  const between = (from: number, to: number): number => from + (to - from) * share;
  return {
    celsius: between(a.celsius, b.celsius),
    lowC: between(a.lowC, b.lowC),
    highC: between(a.highC, b.highC),
  };
}

function stretchesOf(schedule: Schedule): Stretch[] {
  let fromC = 0;
  return schedule.segments.map((segment) => {
    if (segment.kind === 'hold') return 'hold';
    const stretch = segment.toC >= fromC ? 'climb' : 'fall';
    fromC = segment.toC;
    return stretch;
  });
}

export function addBands(all: readonly BandCounts[]): BandCounts {
  const sums = new Map<string, BandCount>();
  for (const one of all.flat()) {
    const key = `${one.stretch} ${one.aheadS}`;
    const sum = sums.get(key);
    sums.set(key, sum === undefined ? one : plus(sum, one));
  }
  return [...sums.values()];
}

function plus(a: BandCount, b: BandCount): BandCount {
  return {
    ...a,
    count: a.count + b.count,
    within: a.within + b.within,
    squaredC: a.squaredC + b.squaredC,
    stillSquaredC: a.stillSquaredC + b.stillSquaredC,
  };
}
