/** °C to mV and back, by the international temperature scale of 1990. Everything here has the cold end at 0 °C. */
import { clamp } from '../numbers/units.ts';
import {
  COUPLES,
  type CoupleFunction,
  type CoupleLetter,
  type DirectPiece,
  type Polynomial,
} from './its90-coefficients.ts';

export interface Refused {
  readonly ok: false;
  /** What was wrong and what would be right, for the person. */
  readonly sentence: string;
}

export interface Emf {
  readonly ok: true;
  readonly emfMv: number;
}

export interface Temperature {
  readonly ok: true;
  readonly temperatureC: number;
}

/** A letter prepared for use: its pieces, and where they end in mV. */
interface Couple {
  readonly letter: CoupleLetter;
  readonly fromC: number;
  readonly toC: number;
  /** The way back begins here. */
  readonly backFromC: number;
  readonly backFromMv: number;
  readonly toMv: number;
  readonly pieces: readonly Piece[];
  readonly inverse: CoupleFunction['inverse'];
}

interface Piece extends DirectPiece {
  readonly slopeTerms: Polynomial;
  readonly fromMv: number;
  readonly toMv: number;
}

/**
 * Type B gives next to nothing up to here: −0.003 mV at 21 °C, 0 again at 42 °C, 0.002 mV at 50 °C. Below 42 °C one
 * voltage means two temperatures. NIST Monograph 175; the table of tests/data/thermocouple/emf_table_B.csv shows it.
 */
const B_BACK_FROM_C = 50;
/** A voltage written in µV may lie this much outside the range by rounding alone. */
const ROUNDING_MV = 0.0005;
/** Newton's method is there long before; this is for the flat ends at −270 °C. */
const MOST_ROUNDS = 60;
const CLOSE_C = 1e-9;

const PREPARED: Readonly<Record<CoupleLetter, Couple>> = {
  B: prepare('B', COUPLES.B),
  E: prepare('E', COUPLES.E),
  J: prepare('J', COUPLES.J),
  K: prepare('K', COUPLES.K),
  N: prepare('N', COUPLES.N),
  R: prepare('R', COUPLES.R),
  S: prepare('S', COUPLES.S),
  T: prepare('T', COUPLES.T),
};

export function isCoupleLetter(text: string): text is CoupleLetter {
  return Object.hasOwn(PREPARED, text);
}

/**
 * What a couple gives whose tip is at `celsius` and whose cold end is at 0 °C.
 * @returns mV, or a sentence where the letter's function does not reach
 * Source: NIST Monograph 175; every point of its tables is checked in tests/core/thermometry/its90.test.ts.
 */
export function emfMv(letter: CoupleLetter, celsius: number): Emf | Refused {
  const couple = PREPARED[letter];
  if (!(celsius >= couple.fromC && celsius <= couple.toC)) return refuse(outsideC(couple, celsius));
  return { ok: true, emfMv: pieceEmfMv(pieceAt(couple, celsius), celsius) };
}

/**
 * The temperature of a tip that gives `emf` mV against a cold end at 0 °C: the direct function inverted numerically,
 * starting from the published inverse. Within 0.000 1 °C of the direct function everywhere.
 *
 * @returns °C, or a sentence where no temperature of the letter gives this, or, for type B, more than one may
 */
export function celsiusOf(letter: CoupleLetter, emf: number): Temperature | Refused {
  const couple = PREPARED[letter];
  if (!(emf >= couple.backFromMv - ROUNDING_MV && emf <= couple.toMv + ROUNDING_MV))
    return refuse(outsideMv(couple, emf));
  return { ok: true, temperatureC: solve(couple, clamp(emf, couple.backFromMv, couple.toMv)) };
}

/**
 * How much more the couple gives for each degree, in mV/°C; this is what turns a voltage's error into degrees.
 * @returns undefined where the letter's function does not reach
 */
export function sensitivityMvPerC(letter: CoupleLetter, celsius: number): number | undefined {
  const couple = PREPARED[letter];
  if (!(celsius >= couple.fromC && celsius <= couple.toC)) return undefined;
  return pieceSlope(pieceAt(couple, celsius), celsius);
}

/** Where the letter's function reaches, °C. */
export function rangeOf(letter: CoupleLetter): { readonly fromC: number; readonly toC: number } {
  const { fromC, toC } = PREPARED[letter];
  return { fromC, toC };
}

function prepare(letter: CoupleLetter, { direct, inverse }: CoupleFunction): Couple {
  const pieces = direct.map((piece) => ({
    ...piece,
    slopeTerms: piece.terms.slice(1).map((term, i) => term * (i + 1)),
    fromMv: pieceEmfMv(piece, piece.fromC),
    toMv: pieceEmfMv(piece, piece.toC),
  }));
  const fromC = Math.min(...pieces.map((piece) => piece.fromC));
  const toC = Math.max(...pieces.map((piece) => piece.toC));
  const backFromC = letter === 'B' ? B_BACK_FROM_C : fromC;
  const ends = { fromC, toC, backFromC, pieces };
  return {
    letter,
    ...ends,
    backFromMv: pieceEmfMv(pieceAt(ends, backFromC), backFromC),
    toMv: pieceEmfMv(pieceAt(ends, toC), toC),
    inverse,
  };
}

/** At a seam the colder piece counts. */
function pieceAt<P extends DirectPiece>({ pieces }: { readonly pieces: readonly P[] }, celsius: number): P {
  const found = pieces.find((piece) => celsius <= piece.toC) ?? pieces[pieces.length - 1];
  if (found === undefined) throw new RangeError('a thermocouple letter without pieces');
  return found;
}

function evaluate(terms: Polynomial, x: number): number {
  let sum = 0;
  for (let i = terms.length - 1; i >= 0; i--) sum = sum * x + (terms[i] ?? 0);
  return sum;
}

function pieceEmfMv({ terms, bump }: DirectPiece, celsius: number): number {
  const polynomialMv = evaluate(terms, celsius);
  if (bump === undefined) return polynomialMv;
  const [heightMv, perC2, centreC] = bump;
  return polynomialMv + heightMv * Math.exp(perC2 * (celsius - centreC) * (celsius - centreC));
}

function pieceSlope({ slopeTerms, bump }: Piece, celsius: number): number {
  const slope = evaluate(slopeTerms, celsius);
  if (bump === undefined) return slope;
  const [heightMv, perC2, centreC] = bump;
  const awayC = celsius - centreC;
  return slope + 2 * perC2 * awayC * heightMv * Math.exp(perC2 * awayC * awayC);
}

/**
 * Newton's method kept between two bounds that always hold the answer; a step that would leave them is halved instead.
 * Neighbouring pieces do not meet to the last digit: a voltage in such a gap (under 0.000 1 °C wide) is at the seam.
 */
function solve(couple: Couple, emf: number): number {
  const piece = couple.pieces.find((p) => emf <= p.toMv) ?? pieceAt(couple, couple.toC);
  let lowC = Math.max(piece.fromC, couple.backFromC);
  let highC = piece.toC;
  if (emf <= piece.fromMv) return lowC;
  let celsius = clamp(firstGuessC(couple, emf), lowC, highC);
  for (let round = 0; round < MOST_ROUNDS; round++) {
    const tooMuchMv = pieceEmfMv(piece, celsius) - emf;
    if (tooMuchMv === 0) return celsius;
    if (tooMuchMv > 0) highC = celsius;
    else lowC = celsius;
    const newtonC = celsius - tooMuchMv / pieceSlope(piece, celsius);
    const nextC = newtonC >= lowC && newtonC <= highC ? newtonC : (lowC + highC) / 2;
    if (Math.abs(nextC - celsius) < CLOSE_C) return nextC;
    celsius = nextC;
  }
  return celsius;
}

/** Below the first published inverse its own cold end serves: the curve bends so that Newton comes down from there. */
function firstGuessC({ inverse }: Couple, emf: number): number {
  const first = inverse[0];
  if (first === undefined) return 0;
  if (emf < first.fromMv) return evaluate(first.terms, first.fromMv);
  const piece = inverse.find((p) => emf <= p.toMv) ?? inverse[inverse.length - 1] ?? first;
  return evaluate(piece.terms, emf);
}

function refuse(sentence: string): Refused {
  return { ok: false, sentence };
}

function outsideC({ letter, fromC, toC }: Couple, celsius: number): string {
  if (!Number.isFinite(celsius)) return `A type ${letter} couple cannot be at ${celsius} °C; give a number.`;
  return `${celsius} °C is outside what a type ${letter} couple can measure: ${fromC} to ${toC} °C.`;
}

function outsideMv({ letter, backFromC, backFromMv, toC, toMv }: Couple, emf: number): string {
  if (!Number.isFinite(emf)) return `A type ${letter} couple cannot give ${emf} mV; give a number.`;
  const given = `${emf.toFixed(3)} mV`;
  const range = `it gives ${backFromMv.toFixed(3)} mV at ${backFromC} °C and ${toMv.toFixed(3)} mV at ${toC} °C`;
  if (letter === 'B' && emf < backFromMv && emf > -1) {
    return `${given} of a type B couple means no one temperature: below ${backFromC} °C it gives almost nothing, and the same voltage twice; it can be read from ${backFromC} °C up.`;
  }
  const isReversed = emf < backFromMv && -emf <= toMv;
  const hint = isReversed ? ' Are its two wires swapped?' : '';
  return `${given} is outside what a type ${letter} couple can give: ${range}.${hint}`;
}
