/** What a calibration certificate says of one couple, and the correction that follows from it. */
import { S_PER_DAY, secondsBetween } from '../numbers/units.ts';
import type { CertificatePoint, SensorCertificate } from '../plan/instrument.ts';
import type { Refused } from './its90.ts';

/** One point as it is used: by what the couple shows. */
interface Knot {
  readonly shownC: number;
  readonly correctionC: number;
  /** k = 2. */
  readonly uncertaintyC: number;
}

/** A certificate read and found in order: its points by what the couple shows, from cold to hot. */
export interface Calibration {
  readonly knots: readonly Knot[];
  readonly dueAtMs: number | null;
}

export interface Correction {
  /** To be added to what the couple shows. */
  readonly correctionC: number;
  /** k = 2, of the certificate alone. */
  readonly uncertaintyC: number;
  /** How far the reading lies outside the certificate's points; 0 between them. */
  readonly beyondC: number;
  readonly isOverdue: boolean;
  /** What the person must know: overdue, or outside the points. */
  readonly sentences: readonly string[];
}

/** A couple further off than this is broken or the certificate is another's. Common practice, no source. */
const MOST_C = 50;

/**
 * @returns the calibration; null for no points at all, which is no correction; or a sentence
 */
export function readCertificate(certificate: SensorCertificate): Calibration | Refused | null {
  if (certificate.points.length === 0) return null;
  const knots: Knot[] = [];
  for (const [i, point] of certificate.points.entries()) {
    const wrong = faultOf(point);
    if (wrong !== null) return { ok: false, sentence: `Point ${i + 1} of the certificate ${wrong}.` };
    const correctionC = correctionOf(point);
    knots.push({ shownC: point.atC - correctionC, correctionC, uncertaintyC: point.uncertaintyC });
  }
  knots.sort((a, b) => a.shownC - b.shownC);
  const twin = knots.find((knot, i) => i > 0 && knot.shownC - (knots[i - 1]?.shownC ?? 0) < 1);
  if (twin !== undefined) {
    return {
      ok: false,
      sentence: `Two points of the certificate lie at about ${twin.shownC.toFixed(1)} °C as the couple shows it; keep one of them.`,
    };
  }
  return { knots, dueAtMs: certificate.dueAtMs ?? null };
}

/**
 * The correction for what the couple shows: on a straight line between two points, and that of the end point beyond
 * them, which `uncertainty.ts` then trusts less and less. An overdue certificate is still used, since it is the best
 * that is known of this couple; but that is said, and the class of the wire counts again.
 */
export function correctionAt(calibration: Calibration, shownC: number, atMs: number): Correction {
  const { knots, dueAtMs } = calibration;
  const first = knots[0];
  const last = knots[knots.length - 1];
  if (first === undefined || last === undefined) throw new RangeError('a calibration without points');
  const beyondC = Math.max(first.shownC - shownC, shownC - last.shownC, 0);
  const { correctionC, uncertaintyC } = between(knots, first, last, shownC);
  const isOverdue = dueAtMs !== null && atMs >= dueAtMs;
  const sentences: string[] = [];
  if (isOverdue) sentences.push(overdueSentence(dueAtMs, atMs));
  if (beyondC > 0) {
    sentences.push(
      `The certificate was made from ${first.shownC.toFixed(0)} to ${last.shownC.toFixed(0)} °C and says nothing of ${shownC.toFixed(0)} °C.`,
    );
  }
  return { correctionC, uncertaintyC, beyondC, isOverdue, sentences };
}

function between(knots: readonly Knot[], first: Knot, last: Knot, shownC: number): Knot {
  if (shownC <= first.shownC) return first;
  if (shownC >= last.shownC) return last;
  const upper = knots.find((knot) => knot.shownC >= shownC) ?? last;
  const lower = knots[knots.indexOf(upper) - 1] ?? first;
  const ratio = (shownC - lower.shownC) / (upper.shownC - lower.shownC);
  return {
    shownC,
    correctionC: lower.correctionC + ratio * (upper.correctionC - lower.correctionC),
    uncertaintyC: lower.uncertaintyC + ratio * (upper.uncertaintyC - lower.uncertaintyC),
  };
}

function correctionOf(point: CertificatePoint): number {
  return 'correctionC' in point ? point.correctionC : point.atC - point.asFoundC;
}

function faultOf(point: CertificatePoint): string | null {
  const correctionC = correctionOf(point);
  if (!Number.isFinite(point.atC) || !Number.isFinite(correctionC)) return 'is not a number; write °C';
  if (!(point.uncertaintyC > 0 && point.uncertaintyC < MOST_C)) {
    return `has an uncertainty of ${point.uncertaintyC} °C; write the certificate's own figure (k = 2), above 0`;
  }
  if (Math.abs(correctionC) > MOST_C) {
    return `would correct by ${correctionC.toFixed(1)} °C; no sound couple is so far off: look whether two columns are swapped`;
  }
  return null;
}

function overdueSentence(dueAtMs: number, atMs: number): string {
  const days = Math.floor(secondsBetween(dueAtMs, atMs) / S_PER_DAY);
  const when = days === 0 ? 'today' : days === 1 ? 'yesterday' : `${days} days ago`;
  return `The certificate ran out ${when}; its correction is still used, but the wire is no longer trusted more than its class.`;
}
