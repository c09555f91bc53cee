import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { CertificatePoint } from '../../../daemon/core/plan/instrument.ts';
import { type Calibration, correctionAt, readCertificate } from '../../../daemon/core/thermometry/calibration.ts';

const DAY_MS = 86_400_000;
const DUE_AT_MS = Date.UTC(2026, 2, 1);
const POINTS: readonly CertificatePoint[] = [
  { atC: 700, asFoundC: 703, uncertaintyC: 1.4 },
  { atC: 300, correctionC: 1, uncertaintyC: 0.8 },
  { atC: 500, asFoundC: 500, uncertaintyC: 1 },
];

function read(points: readonly CertificatePoint[], dueAtMs?: number): Calibration {
  const calibration = readCertificate({ points, dueAtMs });
  if (calibration === null || 'ok' in calibration) throw new Error(calibration?.sentence ?? 'no points');
  return calibration;
}

const refusal = (points: readonly CertificatePoint[]): string => {
  const calibration = readCertificate({ points });
  return calibration !== null && 'ok' in calibration ? calibration.sentence : '';
};

describe('a certificate', () => {
  const calibration = read(POINTS, DUE_AT_MS);
  const at = (shownC: number, atMs = 0) => correctionAt(calibration, shownC, atMs);

  it('says at its own points exactly what stands on it, in whatever order and by whichever column', () => {
    expect(at(299)).toMatchObject({ correctionC: 1, uncertaintyC: 0.8, beyondC: 0 });
    expect(at(500)).toMatchObject({ correctionC: 0, uncertaintyC: 1 });
    expect(at(703)).toMatchObject({ correctionC: -3, uncertaintyC: 1.4, beyondC: 0, sentences: [] });
  });

  it('goes straight from point to point', () => {
    expect(at(601.5)).toMatchObject({ correctionC: -1.5, uncertaintyC: 1.2, sentences: [] });
    expect(at(399.5).correctionC).toBeCloseTo(0.5, 9);
  });

  it('is not carried on beyond its ends: the end’s correction stays, and it says how far out the reading is', () => {
    expect(at(803)).toMatchObject({ correctionC: -3, uncertaintyC: 1.4, beyondC: 100 });
    expect(at(199)).toMatchObject({ correctionC: 1, beyondC: 100 });
    expect(at(803).sentences).toEqual(['The certificate was made from 299 to 703 °C and says nothing of 803 °C.']);
  });

  it('that has run out is never used silently', () => {
    expect(at(500, DUE_AT_MS - 1)).toMatchObject({ isOverdue: false, sentences: [] });
    expect(at(500, DUE_AT_MS)).toMatchObject({ isOverdue: true });
    expect(at(601.5, DUE_AT_MS + 34.5 * DAY_MS)).toMatchObject({
      correctionC: -1.5,
      isOverdue: true,
      sentences: [
        'The certificate ran out 34 days ago; its correction is still used, but the wire is no longer trusted more than its class.',
      ],
    });
    expect(at(500, DUE_AT_MS + DAY_MS).sentences[0]).toContain('ran out yesterday');
    expect(correctionAt(read(POINTS), 500, DUE_AT_MS * 2).isOverdue).toBe(false);
  });

  it('of one point corrects by it', () => {
    const one = read([{ atC: 600, correctionC: -2, uncertaintyC: 1 }]);
    expect(correctionAt(one, 602, 0)).toMatchObject({ correctionC: -2, beyondC: 0 });
    expect(correctionAt(one, 652, 0)).toMatchObject({ correctionC: -2, beyondC: 50 });
  });

  it('without points corrects nothing', () => {
    expect(readCertificate({ points: [] })).toBeNull();
  });

  it('brings a couple that shows what it showed at the laboratory to the reference’s figure (seed 17025)', () => {
    const errors = fc.array(fc.double({ min: -9, max: 9, noNaN: true }), { minLength: 2, maxLength: 8 });
    fc.assert(
      fc.property(errors, (errorsC) => {
        const points = errorsC.map((errorC, i) => ({
          atC: 100 + 100 * i,
          asFoundC: 100 + 100 * i + errorC,
          uncertaintyC: 1,
        }));
        const found = read(points);
        return points.every(
          ({ atC, asFoundC }) => Math.abs(asFoundC + correctionAt(found, asFoundC, 0).correctionC - atC) < 1e-9,
        );
      }),
      { seed: 17_025, numRuns: 2000 },
    );
  });

  it('that cannot be right is answered in a sentence', () => {
    expect(refusal([{ atC: 600, correctionC: Number.NaN, uncertaintyC: 1 }])).toBe(
      'Point 1 of the certificate is not a number; write °C.',
    );
    expect(
      refusal([
        POINTS[0] ?? { atC: 0, correctionC: 0, uncertaintyC: 1 },
        { atC: 600, correctionC: 1, uncertaintyC: 0 },
      ]),
    ).toBe(
      "Point 2 of the certificate has an uncertainty of 0 °C; write the certificate's own figure (k = 2), above 0.",
    );
    expect(refusal([{ atC: 600, asFoundC: 1.2, uncertaintyC: 1 }])).toContain('look whether two columns are swapped');
    expect(
      refusal([
        { atC: 600, correctionC: 1, uncertaintyC: 1 },
        { atC: 600, correctionC: 1.2, uncertaintyC: 1 },
      ]),
    ).toContain('keep one of them');
  });
});
