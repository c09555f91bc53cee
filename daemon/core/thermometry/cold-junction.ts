/** The tip's temperature from the voltage at the terminals and the terminals' own temperature. */
import { celsiusOf, emfMv, type Refused, type Temperature } from './its90.ts';
import type { CoupleLetter } from './its90-coefficients.ts';

/** What a thermometer at the terminals may say of a room; beyond it is broken. From converters.json of tests/data. */
export const COLD_END_C = { fromC: -40, toC: 125 };

/**
 * A couple gives the difference of two ends: E(tip) = E measured + E(cold end), each against 0 °C. The voltages are
 * added, never the degrees: with type B that would be 25 °C wrong, with type S 12 °C.
 *
 * @param measuredMv at the terminals
 * @param coldJunctionC the terminals' temperature
 * @returns the tip's temperature, or a sentence
 * Source: NIST Monograph 175; acceptance case AC-02 in tests/core/thermometry/cold-junction.test.ts.
 */
export function tipC(letter: CoupleLetter, measuredMv: number, coldJunctionC: number): Temperature | Refused {
  const coldMv = coldEndMv(letter, coldJunctionC);
  return coldMv.ok ? celsiusOf(letter, measuredMv + coldMv.emfMv) : coldMv;
}

/** What the instrument must have measured at its terminals to show `shownC` rightly. */
export function terminalMv(
  letter: CoupleLetter,
  shownC: number,
  coldJunctionC: number,
): { readonly ok: true; readonly emfMv: number } | Refused {
  const coldMv = coldEndMv(letter, coldJunctionC);
  if (!coldMv.ok) return coldMv;
  const wholeMv = emfMv(letter, shownC);
  return wholeMv.ok ? { ok: true, emfMv: wholeMv.emfMv - coldMv.emfMv } : wholeMv;
}

/**
 * Some converters count degrees along a straight line, so many mV for each, on top of the cold end. This takes their
 * figure apart and reads the voltage by the letter's own function.
 *
 * @param mvPerC what the converter takes a degree for; 0.041276 for type K is usual (from memory)
 */
export function tipCFromStraightLine(
  letter: CoupleLetter,
  shownC: number,
  coldJunctionC: number,
  mvPerC: number,
): Temperature | Refused {
  return tipC(letter, (shownC - coldJunctionC) * mvPerC, coldJunctionC);
}

function coldEndMv(letter: CoupleLetter, coldJunctionC: number): ReturnType<typeof emfMv> {
  if (!(coldJunctionC >= COLD_END_C.fromC && coldJunctionC <= COLD_END_C.toC)) {
    return {
      ok: false,
      sentence: `The terminals are said to be at ${coldJunctionC} °C; their thermometer can be right from ${COLD_END_C.fromC} to ${COLD_END_C.toC} °C only.`,
    };
  }
  const coldMv = emfMv(letter, coldJunctionC);
  if (coldMv.ok) return coldMv;
  return {
    ok: false,
    sentence: `The terminals are at ${coldJunctionC} °C, where nothing is published for type ${letter}; they must be above ${letter === 'B' ? 0 : -50} °C.`,
  };
}
