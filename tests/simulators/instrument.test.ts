import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Instrument, type InstrumentRow, type InstrumentSpec, instrument } from '../../simulators/instrument.ts';
import type { CoupleSpec } from '../../simulators/thermocouple.ts';
import { evenChamber } from './even-chamber.ts';

const STARTED_MS = Date.UTC(2025, 4, 12, 9, 0);

function couple(sensor: string, more: Partial<CoupleSpec> = {}): CoupleSpec {
  const looksAt = { wall: 0.4, shelf: 0.3, glass: 0.3 };
  return { sensor, looksAt, lagS: 30, noiseC: 0.3, stepC: 0.25, missedRatio: 0, ...more };
}

const pair: InstrumentSpec = { couples: [couple('shelf'), couple('top')], sampleS: 5 };

function build(spec: Partial<InstrumentSpec> = {}, seed = 1): Instrument {
  return instrument({ ...pair, ...spec }, evenChamber(600), seed, STARTED_MS);
}

/** Runs on to so many seconds after the start, and says when each row was sent. */
function run(watched: Instrument, toS: number, fromS = 0, stepS = 1): { row: InstrumentRow; sentS: number }[] {
  const sent: { row: InstrumentRow; sentS: number }[] = [];
  for (let s = fromS; s <= toS; s += stepS) {
    for (const row of watched.step(STARTED_MS + s * 1000)) sent.push({ row, sentS: s });
  }
  return sent;
}

const rowsOf = (sent: readonly { row: InstrumentRow }[], sensor = 'shelf'): InstrumentRow[] =>
  sent.map((s) => s.row).filter((r) => r.sensor === sensor);
const secondsOf = (rows: readonly InstrumentRow[]): number[] => rows.map((r) => (r.atMs - STARTED_MS) / 1000);

const anySpec = fc.record({
  sampleS: fc.constantFrom(1, 2, 5, 10, 30),
  jitterShare: fc.double({ min: 0, max: 0.5, noNaN: true }),
  scanShare: fc.double({ min: 0, max: 0.5, noNaN: true }),
  lostRatio: fc.double({ min: 0, max: 0.5, noNaN: true }),
  doubledRatio: fc.double({ min: 0, max: 0.5, noNaN: true }),
  swappedRatio: fc.double({ min: 0, max: 0.5, noNaN: true }),
  seed: fc.nat(),
});
function specOf(any: { sampleS: number; jitterShare: number; scanShare: number }): Partial<InstrumentSpec> {
  const { jitterShare, scanShare, ...rest } = any;
  return { ...rest, jitterS: jitterShare * any.sampleS, scanS: scanShare * any.sampleS };
}
const RUNS = { seed: 4, numRuns: 60 };

describe('an instrument', () => {
  it('reads all its couples every five seconds, from the very start', () => {
    const sent = run(build(), 20);
    expect(sent.map(({ row }) => row.sensor)).toEqual(Array.from({ length: 5 }, () => ['shelf', 'top']).flat());
    expect(secondsOf(rowsOf(sent))).toEqual([0, 5, 10, 15, 20]);
    expect(secondsOf(rowsOf(sent, 'top'))).toEqual([0, 5, 10, 15, 20]);
  });

  it('reads one couple after the other where it has one converter for all', () => {
    expect(secondsOf(rowsOf(run(build({ scanS: 0.4 }), 10), 'top'))).toEqual([0.4, 5.4]);
  });

  it('comes late by up to its jitter, evenly, and never early (seed 2)', () => {
    const lateS = secondsOf(rowsOf(run(build({ jitterS: 2 }, 2), 20_000))).map((s, i) => s - 5 * i);
    expect(Math.min(...lateS)).toBeGreaterThanOrEqual(0);
    expect(Math.max(...lateS)).toBeLessThanOrEqual(2);
    expect(lateS.reduce((sum, s) => sum + s, 0) / lateS.length).toBeCloseTo(1, 1);
    expect(lateS.filter((s) => s < 0.5).length / lateS.length).toBeCloseTo(0.25, 1);
  });

  it('reads the couple at the instant that it stamps, though the kiln is stepped by the minute', () => {
    const chamber = evenChamber(20);
    const quick = couple('shelf', { noiseC: 0, stepC: 0, lagS: 100 });
    const watched = instrument({ couples: [quick], sampleS: 20 }, chamber, 1, STARTED_MS);
    watched.step(STARTED_MS);
    chamber.setC(120);
    const rows = watched.step(STARTED_MS + 60_000);
    expect(secondsOf(rows)).toEqual([20, 40, 60]);
    // Three implicit steps of a fifth of the lag.
    rows.forEach((r, i) => {
      expect(r.celsius).toBeCloseTo(120 - 100 / 1.2 ** (i + 1), 2);
    });
  });

  it('sends whole milliseconds in the order sent, never before they were read, whatever it loses or swaps', () => {
    fc.assert(
      fc.property(anySpec, ({ seed, ...any }) => {
        for (const { row, sentS } of run(build(specOf(any), seed), 120)) {
          expect(Number.isInteger(row.atMs)).toBe(true);
          expect(row.atMs).toBeGreaterThanOrEqual(STARTED_MS);
          expect(row.atMs).toBeLessThanOrEqual(STARTED_MS + sentS * 1000);
        }
      }),
      RUNS,
    );
  });

  it('sends the same readings as a perfect line but for what is lost, each once or twice', () => {
    fc.assert(
      fc.property(anySpec, ({ seed, ...any }) => {
        const spec = specOf(any);
        const perfect = run(build({ ...spec, lostRatio: 0, doubledRatio: 0, swappedRatio: 0 }, seed), 120);
        const sent = run(build(spec, seed), 120);
        for (const sensor of ['shelf', 'top']) {
          const whole = new Map(rowsOf(perfect, sensor).map((r) => [r.atMs, r.celsius]));
          const counts = new Map<number, number>();
          for (const row of rowsOf(sent, sensor)) {
            expect(row.celsius).toBe(whole.get(row.atMs));
            counts.set(row.atMs, (counts.get(row.atMs) ?? 0) + 1);
          }
          for (const count of counts.values()) expect(count).toBeLessThanOrEqual(2);
        }
      }),
      RUNS,
    );
  });

  it('sends every reading sooner or later where none is lost, but for a last one held back', () => {
    fc.assert(
      fc.property(anySpec, ({ seed, ...any }) => {
        const spec = { ...specOf(any), lostRatio: 0 };
        const whole = rowsOf(run(build({ ...spec, doubledRatio: 0, swappedRatio: 0 }, seed), 200));
        const sent = new Set(secondsOf(rowsOf(run(build(spec, seed), 200))));
        expect(secondsOf(whole.slice(0, -1)).filter((s) => !sent.has(s))).toEqual([]);
      }),
      RUNS,
    );
  });

  it('lets its couples follow the kiln between two readings', () => {
    const chamber = evenChamber(600);
    const slow = couple('shelf', { noiseC: 0, stepC: 0, lagS: 30 });
    const watched = instrument({ couples: [slow], sampleS: 20 }, chamber, 1, STARTED_MS);
    watched.step(STARTED_MS);
    chamber.setC(700);
    expect(rowsOf(run(watched, 20, 1)).at(-1)?.celsius).toBeCloseTo(700 - 100 / (1 + 1 / 30) ** 20, 2);
  });

  it('puts no reading further back than behind its successor', () => {
    fc.assert(
      fc.property(anySpec, ({ seed, ...any }) => {
        const stamps = [...new Set(secondsOf(rowsOf(run(build({ ...specOf(any), lostRatio: 0 }, seed), 200))))];
        const inOrder = [...stamps].sort((a, b) => a - b);
        stamps.forEach((s, i) => {
          expect(Math.abs(inOrder.indexOf(s) - i)).toBeLessThanOrEqual(1);
        });
      }),
      RUNS,
    );
  });

  it('loses, doubles and swaps its shares (seed 3)', () => {
    const seconds = secondsOf(
      rowsOf(run(build({ lostRatio: 0.1, doubledRatio: 0.05, swappedRatio: 0.04 }, 3), 100_000)),
    );
    const different = new Set(seconds);
    expect(1 - different.size / 20_001).toBeCloseTo(0.1, 2);
    expect((seconds.length - different.size) / different.size).toBeCloseTo(0.05, 2);
    const backward = seconds.filter((s, i) => s < (seconds[i - 1] ?? s)).length;
    // A reading held back shows as a step back only where it and its successor arrive.
    expect(backward / 20_001).toBeCloseTo(0.04 * 0.96 * 0.9 * 0.9, 2);
  });

  it('is silent from onset to recovery, and the readings after are those of its sound twin (seed 6)', () => {
    const spec = { jitterS: 1, lostRatio: 0.05, swappedRatio: 0.05 };
    const sound = run(build(spec, 6), 600);
    const watched = build(spec, 6);
    const before = run(watched, 200);
    watched.sufferLine({ kind: 'silent' });
    expect(run(watched, 400, 201)).toEqual([]);
    watched.sufferLine(null);
    const after = run(watched, 600, 401);
    expect(before).toEqual(sound.filter((s) => s.sentS <= 200));
    expect(after.slice(2)).toEqual(sound.filter((s) => s.sentS > 400).slice(-after.length + 2));
    expect(after.length).toBeGreaterThan(60);
  });

  it('is silent about one couple while the other goes on', () => {
    const watched = build();
    watched.sufferLine({ kind: 'silent', sensors: ['top'] });
    const sent = run(watched, 100);
    expect(rowsOf(sent, 'top')).toEqual([]);
    expect(rowsOf(sent)).toEqual(rowsOf(run(build(), 100)));
  });

  it('stays loose where only the silence is mended', () => {
    const watched = build();
    watched.sufferLine({ kind: 'loose', doubledRatio: 1 });
    watched.sufferLine({ kind: 'silent' });
    expect(run(watched, 50)).toEqual([]);
    watched.mendLine('silent');
    expect(secondsOf(rowsOf(run(watched, 60, 51)))).toEqual([55, 55, 60, 60]);
  });

  it('loses more on a loose line, until it is mended (seed 7)', () => {
    const watched = build({}, 7);
    watched.sufferLine({ kind: 'loose', lostRatio: 0.6, swappedRatio: 0.1 });
    const loose = secondsOf(rowsOf(run(watched, 10_000)));
    expect(loose.length / 2001).toBeCloseTo(0.4, 1);
    expect(loose.some((s, i) => s < (loose[i - 1] ?? s))).toBe(true);
    watched.sufferLine(null);
    const mended = secondsOf(rowsOf(run(watched, 11_000, 10_001)));
    expect(mended.slice(-199)).toEqual(Array.from({ length: 199 }, (_, i) => 10_010 + 5 * i));
  });

  it('stamps an hour more where its clock is set forward, and goes on sampling as before', () => {
    const watched = build();
    run(watched, 100);
    watched.sufferClock({ kind: 'steps', byS: 3600 });
    const forward = run(watched, 110, 101);
    expect(forward.map((s) => s.sentS)).toEqual([105, 105, 110, 110]);
    expect(secondsOf(rowsOf(forward))).toEqual([3705, 3710]);
    watched.sufferClock({ kind: 'steps', byS: -7200 });
    expect(secondsOf(rowsOf(run(watched, 120, 111)))).toEqual([-3485, -3480]);
    watched.sufferClock(null);
    expect(secondsOf(rowsOf(run(watched, 130, 121)))).toEqual([125, 130]);
  });

  it('runs ahead by a second in a hundred where its clock is fast, from the onset on', () => {
    const watched = build();
    run(watched, 100);
    watched.sufferClock({ kind: 'runs', ratio: 1.01 });
    const rows = rowsOf(run(watched, 1100, 101));
    expect(secondsOf(rows).slice(0, 2)).toEqual([105.05, 110.1]);
    expect(secondsOf(rows).at(-1)).toBe(1110);
    watched.sufferClock({ kind: 'runs', ratio: 1.0003 });
    for (const row of rowsOf(run(watched, 1120, 1101))) expect(Number.isInteger(row.atMs)).toBe(true);
    watched.sufferClock(null);
    expect(secondsOf(rowsOf(run(watched, 1125, 1121)))).toEqual([1125]);
  });

  it('stamps the same instant again and again where its clock is stuck, with new readings', () => {
    const watched = build();
    run(watched, 100);
    watched.sufferClock({ kind: 'stuck' });
    const rows = rowsOf(run(watched, 200, 101));
    expect(new Set(secondsOf(rows))).toEqual(new Set([100]));
    expect(new Set(rows.map((r) => r.celsius)).size).toBeGreaterThan(1);
  });

  it('gives the readings of a broken couple in its place, and leaves the other as it is', () => {
    const watched = build();
    watched.couple('top').suffer({ kind: 'open-circuit', shows: 'nothing' });
    const sent = run(watched, 50);
    expect(rowsOf(sent, 'top').every((r) => r.celsius === null)).toBe(true);
    expect(rowsOf(sent)).toEqual(rowsOf(run(build(), 50)));
  });

  it('is the same for the same seed, another for another', () => {
    const spec = { jitterS: 1, lostRatio: 0.1 };
    expect(run(build(spec, 8), 200)).toEqual(run(build(spec, 8), 200));
    expect(run(build(spec, 8), 200)).not.toEqual(run(build(spec, 9), 200));
  });

  it('says in a sentence what cannot be', () => {
    expect(() => build({ sampleS: 0 })).toThrow('sampleS is 0; write the seconds between readings, above 0');
    expect(() => build({ jitterS: 3 })).toThrow('jitterS and a whole scan may take at most half of sampleS, 2.5 s');
    expect(() => build({ couples: [couple('a'), couple('a')] })).toThrow('two couples are called "a"');
    expect(() => build().couple('roof')).toThrow('there is no couple "roof"; there are shelf, top');
  });
});
