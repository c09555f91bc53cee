import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import type { SensorSetup } from '../../../daemon/core/plan/kiln.ts';
import { toSample } from '../../../daemon/core/thermometry/sample.ts';

interface Published {
  readonly ranges: { readonly letters: Record<string, { readonly fromC: number; readonly toC: number }> };
}
const published: Published = JSON.parse(
  readFileSync(new URL('../../data/thermocouple/letters.json', import.meta.url), 'utf8'),
);
const shelf = (more: Partial<SensorSetup> = {}): SensorSetup => ({ name: 'shelf', letter: 'K', ...more });
const shows = (temperatureC: number, setup = shelf()) =>
  toSample({ kind: 'temperature', sensor: 'shelf', temperatureC }, setup, 7);
const gives = (emfMv: number, setup: SensorSetup, terminals?: { atMs: number; celsius: number }, atMs = 7) =>
  toSample({ kind: 'emf', sensor: 'shelf', emfMv }, setup, atMs, terminals);
const CERTIFICATE = {
  points: [
    { atC: 500, asFoundC: 498, uncertaintyC: 1 },
    { atC: 700, asFoundC: 704, uncertaintyC: 1 },
  ],
};

describe('a sample', () => {
  it('keeps the very number of an instrument that gives °C, and says how far off it may be', () => {
    for (const celsius of [20, 659.9999, 660, 648.2, -1.25]) {
      const { celsius: told, uncertaintyC, shownC, quality } = shows(celsius);
      expect(told).toBe(celsius);
      expect(quality).toBe('good');
      expect(shownC).toBeUndefined();
      // Wire of class 2, an instrument of which nothing is known, its terminals and its last digit together.
      expect(uncertaintyC).toBeGreaterThan(4);
      expect(uncertaintyC).toBeLessThan(8);
    }
    expect(shows(660).uncertaintyC).toBeCloseTo(
      2 * Math.sqrt((4.95 ** 2 + 2 ** 2 + 0.5 ** 2) / 3 + (3 * 0.951) ** 2 / 3),
      1,
    );
  });

  it.each(Object.entries(published.ranges.letters))(
    'of type %s ends where the published table of its couple ends',
    (letter, { fromC, toC }) => {
      expect(shows(fromC, shelf({ letter })).quality).toBe('good');
      expect(shows(toC, shelf({ letter })).quality).toBe('good');
      for (const beyondC of [fromC - 0.2, toC + 0.2, 32_767]) {
        expect(shows(beyondC, shelf({ letter }))).toMatchObject({ celsius: null, uncertaintyC: null, quality: 'bad' });
      }
    },
  );

  it('without a value says why, and is no temperature', () => {
    const bad = toSample({ kind: 'fault', sensor: 'shelf', fault: 'broken' }, shelf(), 7);
    expect(bad).toMatchObject({ celsius: null, quality: 'bad', reason: 'broken' });
  });

  it('in millivolts is read with the terminals’ temperature added as a voltage', () => {
    const setup = shelf({ unit: 'mV', coldEnd: { kind: 'measured', by: 'terminals' } });
    expect(gives(22, setup, { atMs: 5, celsius: 27 })).toMatchObject({ celsius: 557.153, quality: 'good' });
    const fixed = shelf({ unit: 'mV', coldEnd: { kind: 'fixed', atC: 27, errorC: 5 } });
    expect(gives(22, fixed)).toMatchObject({ celsius: 557.153, quality: 'good' });
    const compensated = shelf({ unit: 'mV', coldEnd: { kind: 'compensated' } });
    expect(gives(24.905, compensated).celsius).toBeCloseTo(600, 1);
  });

  it('whose terminals are only guessed is less sure', () => {
    const guessed = gives(22, shelf({ unit: 'mV', coldEnd: { kind: 'fixed', atC: 27, errorC: 5 } }));
    const iced = gives(23.1, shelf({ unit: 'mV', coldEnd: { kind: 'fixed', atC: 0, errorC: 0.1 } }));
    expect(guessed.uncertaintyC).toBeGreaterThan((iced.uncertaintyC ?? 0) + 1);
  });

  it('in millivolts is none while the terminals’ temperature is not known', () => {
    const setup = shelf({ unit: 'mV', coldEnd: { kind: 'measured', by: 'terminals' } });
    expect(gives(22, setup)).toMatchObject({
      celsius: null,
      reason: 'terminals, the temperature of its terminals, has not come yet',
    });
    expect(gives(22, setup, { atMs: 0, celsius: 27 }, 420_000)).toMatchObject({
      celsius: null,
      reason: 'terminals, the temperature of its terminals, last came 7 minutes ago',
    });
  });

  it('of a type B couple below 50 °C is refused with the reason', () => {
    const setup: SensorSetup = shelf({ letter: 'B', unit: 'mV', coldEnd: { kind: 'compensated' } });
    expect(gives(0.001, setup)).toMatchObject({
      celsius: null,
      quality: 'bad',
      reason: expect.stringContaining('it can be read from 50 °C up'),
    });
    expect(gives(1.5, setup).quality).toBe('good');
  });

  it('is corrected by its certificate, keeps what was shown, and is surer for it', () => {
    const corrected = shows(704, shelf({ calibration: CERTIFICATE }));
    expect(corrected).toMatchObject({ celsius: 700, shownC: 704, quality: 'good' });
    expect(corrected.remark).toBeUndefined();
    expect(corrected.uncertaintyC).toBeLessThan((shows(704).uncertaintyC ?? 0) - 1);
  });

  it('says when its certificate has run out, or does not reach so far', () => {
    const overdue = shelf({ calibration: { ...CERTIFICATE, dueAtMs: 0 } });
    expect(shows(600, overdue).remark).toContain('ran out');
    expect(shows(20, shelf({ calibration: CERTIFICATE })).remark).toContain('says nothing of 20 °C');
  });

  it('of finer wire and a better instrument is surer', () => {
    const fine = shelf({ wireClass: 1, converter: { errorC: 0.5, coldErrorC: 0.5, stepC: 0.1 } });
    expect(shows(660, fine).uncertaintyC).toBeLessThan((shows(660).uncertaintyC ?? 0) / 2);
  });
});
