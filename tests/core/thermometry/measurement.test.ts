import { describe, expect, it } from 'vitest';
import { readCertificate } from '../../../daemon/core/thermometry/calibration.ts';
import { CONVERTERS } from '../../../daemon/core/thermometry/converter.ts';
import { type Instrumentation, measure } from '../../../daemon/core/thermometry/measurement.ts';

const DUE_AT_MS = Date.UTC(2026, 2, 1);
const calibration = readCertificate({
  points: [
    { atC: 500, asFoundC: 498, uncertaintyC: 1 },
    { atC: 700, asFoundC: 704, uncertaintyC: 1 },
  ],
  dueAtMs: DUE_AT_MS,
});
if (calibration === null || 'ok' in calibration) throw new Error('the certificate is in order');

const plain: Instrumentation = { letter: 'K', wireClass: 2, converter: CONVERTERS['14-bit'] };
const emf = (emfMv: number, coldJunctionC: number) => ({ kind: 'emf', emfMv, coldJunctionC }) as const;
const shown = (temperatureC: number) => ({ kind: 'temperature', temperatureC }) as const;

describe('a measurement', () => {
  it('in millivolts and one in degrees come to the same temperature', () => {
    const byVolts = measure(emf(22, 27), plain, 0);
    const byDegrees = measure(shown(557.153), plain, 0);
    expect(byVolts).toMatchObject({ ok: true, temperatureC: expect.closeTo(557.153, 2), sentences: [] });
    expect(byDegrees).toMatchObject({ ok: true, temperatureC: 557.153, shownC: 557.153 });
    if (byVolts.ok && byDegrees.ok) expect(byVolts.uncertaintyC).toBeCloseTo(byDegrees.uncertaintyC, 1);
  });

  it('never comes without its uncertainty and what that is made of', () => {
    const measured = measure(shown(20), plain, 0);
    if (!measured.ok) throw new Error(measured.sentence);
    expect(measured.uncertaintyC).toBeGreaterThan(2.5);
    expect(measured.budget.contributions.length).toBe(4);
  });

  it('is corrected by the certificate, and keeps what was shown', () => {
    const measured = measure(shown(704), { ...plain, calibration }, 0);
    expect(measured).toMatchObject({ ok: true, shownC: 704, temperatureC: 700, sentences: [] });
  });

  it('with an overdue certificate is still corrected, wider, and says so', () => {
    const fresh = measure(shown(704), { ...plain, calibration }, DUE_AT_MS - 1);
    const overdue = measure(shown(704), { ...plain, calibration }, DUE_AT_MS);
    if (!fresh.ok || !overdue.ok) throw new Error('both are measurements');
    expect(overdue.temperatureC).toBe(700);
    expect(overdue.uncertaintyC).toBeGreaterThan(fresh.uncertaintyC + 1);
    expect(overdue.sentences).toEqual([expect.stringContaining('ran out today')]);
  });

  it('of a straight-line converter needs the terminals’ temperature', () => {
    const by = { ...plain, straightLineMvPerC: 0.041276 };
    expect(measure(shown(655), by, 0)).toEqual({
      ok: false,
      sentence:
        'This converter counts along a straight line, so 655 °C means nothing without its terminals’ temperature; let it send both.',
    });
    expect(measure({ ...shown(655.5), coldJunctionC: 25 }, by, 0)).toMatchObject({
      temperatureC: expect.closeTo(650, 0),
    });
  });

  it.each([
    [shown(1500), '1500 °C is outside what a type K couple can measure: -270 to 1372 °C.'],
    [shown(Number.NaN), 'NaN °C is outside what a type K couple can measure: -270 to 1372 °C.'],
    [emf(70, 25), '71.000 mV is outside'],
  ])('that is no temperature is a sentence', (said, sentence) => {
    expect(measure(said, plain, 0)).toMatchObject({ ok: false, sentence: expect.stringContaining(sentence) });
  });

  it('by a class that the letter has not is refused, not guessed', () => {
    expect(measure(shown(600), { ...plain, letter: 'J', wireClass: 3 }, 0)).toMatchObject({ ok: false });
  });
});
