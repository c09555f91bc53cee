/** Recorded runs of real furnaces that kept their programme: however coarse and sparse their instrument, nothing is said. */
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import type { Schedule } from '../../daemon/core/plan/schedule.ts';
import { readingsOfCsv } from '../../simulators/play-csv.ts';
import { begin, feed, kilnOf, reading, stagedAlerts } from '../core/feeding.ts';

/** As the sidecars say; by the clock, as a laboratory's programme runs. */
const programmes: Readonly<Record<string, Schedule>> = {
  'tga-ramp-hold-800': {
    name: 'To 125, two hours, to 800',
    waits: false,
    segments: [
      { kind: 'ramp', toC: 125, rateCPerH: 300 },
      { kind: 'hold', minutes: 120 },
      { kind: 'ramp', toC: 800, rateCPerH: 300 },
    ],
  },
  'sta-hold-320-six-hours': {
    name: 'Twenty minutes cold, then to 320 and hold',
    waits: false,
    segments: [
      { kind: 'ramp', toC: 31, rateCPerH: 'flat-out' },
      { kind: 'hold', minutes: 20 },
      { kind: 'ramp', toC: 320, rateCPerH: 'flat-out' },
      { kind: 'hold', minutes: 360 },
    ],
  },
  // It overshoots by 8 °C at its corner, and says so; here only what a colour does not mind is asked.
  'tga-sample-vs-reference-650': {
    name: 'To 650 at 30 a minute',
    waits: false,
    toleranceC: 12,
    segments: [
      { kind: 'ramp', toC: 650, rateCPerH: 1800 },
      { kind: 'hold', minutes: 17 },
    ],
  },
};

/** The alerts of a run whose instrument says every `each`th reading, rounded to `digitC`. */
function told(name: string, each: number, digitC: number): string[] {
  const csv = readFileSync(new URL(`../data/real-runs/${name}.csv`, import.meta.url), 'utf8');
  const rows = readingsOfCsv(csv).filter((_, i) => i % each === 0);
  const fromMs = rows[0]?.atMs ?? 0;
  const readings = rows.flatMap(({ atMs, celsius }) =>
    celsius === null ? [] : [reading((atMs - fromMs) / 1000, Math.round(celsius / digitC) * digitC)],
  );
  const furnace = kilnOf({ heat: 'electric', name: 'Furnace' });
  const fed = feed(begin(programmes[name] ?? null, furnace), readings);
  expect(fed.state.readingCount).toBe(readings.length);
  return stagedAlerts(fed).map((alert) => `${alert.alert}: ${alert.because}`);
}

describe.each(Object.keys(programmes))('%s', (name) => {
  it.each([
    [1, 0.25],
    [1, 1],
    [4, 0.1],
    [4, 0.25],
    [4, 1],
  ])('is left in peace with each %i. reading, rounded to %f °C', (each, digitC) => {
    expect(told(name, each, digitC)).toEqual([]);
  });
});
