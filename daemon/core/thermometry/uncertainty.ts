/** How far off a reading may be, added up from all that is between the tip and the figure. */
import type { Correction } from './calibration.ts';
import { type Converter, coldErrorAtTipC, hotErrorC } from './converter.ts';
import type { CoupleLetter } from './its90-coefficients.ts';
import { classTolerance, type WireClass } from './wire-class.ts';

export interface Contribution {
  /** For the person: "wire, class 2". */
  readonly what: string;
  /** What is stated: a limit either way, or a certificate's figure. */
  readonly statedC: number;
  /** What the stated figure is divided by to become a standard uncertainty: √3 for limits, 2 for a certificate. */
  readonly divisorRatio: number;
  readonly standardC: number;
}

export interface Budget {
  readonly contributions: readonly Contribution[];
  /** Combined, one standard deviation. */
  readonly standardC: number;
  /** Expanded, k = 2: about 95 of 100 readings are no further off. */
  readonly expandedC: number;
}

export interface Known {
  readonly letter: CoupleLetter;
  readonly celsius: number;
  readonly wireClass: WireClass;
  readonly converter: Converter;
  /** The last digit as it arrives, where it is coarser than the converter's own. */
  readonly stepC?: number | undefined;
  /** 25 °C where it is not told. */
  readonly coldJunctionC?: number | undefined;
  readonly correction: Correction | null;
}

const COVERAGE = 2;
/** Limits with nothing known between them: GUM 4.3.7, the half width divided by √3. */
const LIMITS = Math.sqrt(3);
const USUAL_TERMINAL_C = 25;
/** Beyond a certificate's points the wire's class comes back little by little, and is whole so far out. Ours. */
const TRUST_ENDS_C = 100;

/**
 * The budget of one reading.
 *
 * Each limit (tolerance class, converter, cold end, half a step of the read-out) counts as evenly spread between its
 * ends, so its standard uncertainty is the half width over √3 (a step over √12); a certificate's expanded uncertainty is
 * halved. All are taken as independent and combined as the root of the sum of squares; twice that is reported.
 * A certificate replaces the class; once it is overdue, or as far as a reading lies beyond its points, the class counts
 * on top of it. The cold end's error is moved to the tip by the ratio of the sensitivities.
 *
 * Not counted: how late the couple shows, where it stands, and what it has aged since it was new or calibrated.
 *
 * Source: Guide to the Expression of Uncertainty in Measurement, JCGM 100:2008: 4.3.3 (certificates), 4.3.7 (limits),
 * F.2.2.1 (a display's step), 5.1.2 (root of the sum of squares), 6.2.1 (expanded); clauses from memory.
 */
export function budgetOf(known: Known): Budget {
  const { letter, celsius, converter, correction } = known;
  const contributions = [
    ...wireContributions(known),
    limit(converter.what, hotErrorC(converter, letter, celsius)),
    limit(
      'terminals’ temperature',
      coldErrorAtTipC(letter, celsius, known.coldJunctionC ?? USUAL_TERMINAL_C, converter.coldErrorC),
    ),
    limit('last digit', Math.max(converter.stepC, known.stepC ?? 0) / 2),
  ];
  if (correction !== null) contributions.unshift(contribution('certificate', correction.uncertaintyC, COVERAGE));
  const standardC = Math.sqrt(contributions.reduce((sum, c) => sum + c.standardC * c.standardC, 0));
  return { contributions, standardC, expandedC: COVERAGE * standardC };
}

function wireContributions({ letter, celsius, wireClass, correction }: Known): Contribution[] {
  const tolerance = classTolerance(letter, wireClass, celsius);
  // A class that the letter has not is refused before; the usual one is there for each letter.
  const toleranceC = tolerance.ok ? tolerance.toleranceC : 0;
  const what = `wire, class ${wireClass}`;
  if (correction === null) return [limit(what, toleranceC)];
  if (correction.isOverdue) return [limit(`${what}, since the certificate is overdue`, toleranceC)];
  if (correction.beyondC === 0) return [];
  const shareRatio = Math.min(correction.beyondC / TRUST_ENDS_C, 1);
  return [limit(`${what}, as far as beyond the certificate’s points`, toleranceC * shareRatio)];
}

function limit(what: string, limitC: number): Contribution {
  return contribution(what, limitC, LIMITS);
}

function contribution(what: string, statedC: number, divisorRatio: number): Contribution {
  return { what, statedC, divisorRatio, standardC: statedC / divisorRatio };
}
