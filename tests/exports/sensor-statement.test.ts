import { describe, expect, it } from 'vitest';
import { sensorStatement } from '../../daemon/exports/sensor-statement.ts';

const plain = { name: 'shelf', letter: 'K', rules: true };
const DAY_MS = 86_400_000;
const peak = (celsius: number, uncertaintyC: number | null) => ({ celsius, atMs: Date.UTC(2026, 2, 1), uncertaintyC });

describe('what the report says of a sensor', () => {
  it('names couple, wire, instrument, and how the uncertainty at the peak is put together', () => {
    const words = sensorStatement(plain, peak(660, 7));
    expect(words).toContain('shelf: type K thermocouple, which steers the plan. Wire of class 2 (IEC 60584-1).');
    expect(words).toContain('No certificate is known, so nothing is corrected.');
    expect(words).toMatch(
      /Uncertainty: give or take 7\.0 °C at its peak of 660\.0 °C, made of wire, class 2 ± 5\.0 °C, /,
    );
    expect(words).toContain('the root of the sum of their squares, times 2 (k = 2, about 95 of 100)');
  });

  it('leaves to an older record the figure that it states', () => {
    expect(sensorStatement(plain, peak(660, 4.95))).toContain(
      'Uncertainty: the record states 5.0 °C at the peak; reckoned now it is give or take 7.0 °C',
    );
  });

  it('shows the certificate point by point, and that it had run out', () => {
    const calibration = {
      certificate: 'A 12',
      dueAtMs: Date.UTC(2026, 2, 1) - 3 * DAY_MS,
      points: [
        { atC: 700, asFoundC: 703, uncertaintyC: 1.4 },
        { atC: 500, correctionC: 1, uncertaintyC: 1 },
      ],
    };
    const words = sensorStatement({ ...plain, calibration }, peak(660, null));
    expect(words).toContain(
      'Corrected by certificate A 12, 500 to 700 °C, valid to 2026-02-26: −3.0 °C at 700 (± 1.4), +1.0 °C at 500 (± 1).',
    );
    expect(words).toContain('ran out 3 days ago');
  });

  it('says where the terminals’ temperature comes from', () => {
    const of = (coldEnd: Parameters<typeof sensorStatement>[0]['coldEnd']) =>
      sensorStatement({ ...plain, unit: 'mV', coldEnd }, undefined);
    expect(of({ kind: 'measured', by: 'terminals' })).toContain('measured (terminals) and added as a voltage');
    expect(of({ kind: 'fixed', atC: 25, errorC: 5 })).toContain('taken to be at 25 °C, give or take 5 °C');
    expect(of({ kind: 'compensated' })).toContain('Read in millivolts, by the functions of NIST Monograph 175');
  });
});
