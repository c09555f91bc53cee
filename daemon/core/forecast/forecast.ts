/** The look ahead as it is told: a curve with a band, the peak to expect, when the target is reached. */
import type { ForecastEvent, ForecastPoint } from '../events.ts';
import { aheadBandC, aheadC, type Prospect } from './prospect.ts';

const AHEAD_MIN = [1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30];

/** Told again with each reading, looked ahead only now and then: what follows from a look is worked out once. */
const TOLD = new WeakMap<Prospect, Omit<ForecastEvent, 'targetAtMs'>>();

export function toForecastEvent(prospect: Prospect, targetAtMs: number | null): ForecastEvent {
  let told = TOLD.get(prospect);
  if (told === undefined) {
    told = tell(prospect);
    TOLD.set(prospect, told);
  }
  const { type, atMs, points, expectedPeakC, expectedPeakAtMs } = told;
  return { type, atMs, points, expectedPeakC, expectedPeakAtMs, targetAtMs };
}

function tell(prospect: Prospect): Omit<ForecastEvent, 'targetAtMs'> {
  const points = AHEAD_MIN.map((minutes): ForecastPoint => {
    const { lowC, highC } = aheadBandC(prospect.expected, minutes * 60);
    return {
      atMs: prospect.atMs + minutes * 60_000,
      celsius: round(aheadC(prospect.expected, minutes * 60)),
      lowC: round(lowC),
      highC: round(highC),
    };
  });
  let peakC = prospect.fromC;
  let peakAtMs = prospect.atMs;
  for (const minutes of AHEAD_MIN) {
    const celsius = aheadC(prospect.untouched, minutes * 60);
    if (celsius <= peakC) continue;
    peakC = celsius;
    peakAtMs = prospect.atMs + minutes * 60_000;
  }
  return {
    type: 'forecast',
    atMs: prospect.atMs,
    points,
    expectedPeakC: round(peakC),
    expectedPeakAtMs: peakAtMs,
  };
}

function round(celsius: number): number {
  return Math.round(celsius * 10) / 10;
}
