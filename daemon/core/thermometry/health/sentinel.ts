/** A number by which an instrument says that it has none: −32768, 9999, or 0 while the kiln is hot. */
import { clamp, secondsBetween } from '../../numbers/units.ts';
import { type Detector, type DetectorContext, isShown, type SensorFault, type Shown, stepOf } from './detector.ts';

export interface SentinelState {
  /** The last figure that was no code. */
  readonly last: Shown | null;
  readonly code: { readonly codeC: number; readonly sinceMs: number; readonly seenCount: number } | null;
  readonly fault: SensorFault | null;
}

/** No kiln is that hot or cold: the ends of 16-bit numbers, whole and in tenths, and what displays fill up with. From memory. */
const NEVER_C = [
  -32_768, 32_767, 65_535, 32_768, 3276.7, -3276.8, 3276.8, 6553.5, 9999, 9999.9, 999_999, -999, -999.9, -9999, 8888,
  2047.75, 4095, -200, -210, -270,
];
/** A kiln may be there, so it must have been far away just before: an empty register, a filled display, all bits set. */
const SOMETIMES_C = [0, -1, 85, 127, 999, 999.9, 1023.75, 1024, 1999, 1999.9];
/** What a kiln may move by at once, and for each second. Common practice, no source. */
const AT_ONCE_C = 8;
const PACE_C_PER_S = 3;
const REPEATED = 2;
/** A board that was switched on with a broken wire says 0.00 from the first reading on; frost is never so even. */
const ZERO_FROM_BEGIN = 20;
const FINE_STEP_C = 0.25;

export const sentinel: Detector<SentinelState> = {
  begin: { last: null, code: null, fault: null },
  judge(state, sample, context) {
    if (!isShown(sample)) return { state, fault: state.fault };
    const { celsius, atMs } = sample;
    if (state.code !== null && state.code.codeC === celsius) {
      const code = { ...state.code, seenCount: state.code.seenCount + 1 };
      return answer({ ...state, code }, context, isCertain(state, celsius, context));
    }
    if (isCode(state, sample, context)) {
      return answer({ ...state, code: { codeC: celsius, sinceMs: atMs, seenCount: 1 }, fault: null }, context, true);
    }
    return { state: { last: sample, code: null, fault: null }, fault: null };
  },
};

function answer(state: SentinelState, context: DetectorContext, isSure: boolean) {
  const { code } = state;
  const needed = isSure ? REPEATED : ZERO_FROM_BEGIN;
  const fault: SensorFault | null =
    code !== null && code.seenCount >= needed
      ? {
          cause: 'sentinel',
          sinceMs: code.sinceMs,
          sentence: `${context.sensor} says exactly ${code.codeC} again and again: that is the instrument's word for no value.`,
        }
      : null;
  return { state: { ...state, fault }, fault };
}

function isCode({ last }: SentinelState, sample: Shown, context: DetectorContext): boolean {
  const { celsius } = sample;
  if (context.codesC.includes(celsius) || NEVER_C.includes(celsius)) return true;
  if (!SOMETIMES_C.includes(celsius)) return false;
  if (last === null) return celsius === 0 && stepOf(context) <= FINE_STEP_C;
  const allowedS = clamp(secondsBetween(last.atMs, sample.atMs), 0, 120);
  return Math.abs(celsius - last.celsius) > AT_ONCE_C + PACE_C_PER_S * allowedS;
}

/** Without a figure before it, a zero must be repeated for long. */
function isCertain({ last }: SentinelState, celsius: number, context: DetectorContext): boolean {
  return last !== null || context.codesC.includes(celsius) || NEVER_C.includes(celsius);
}
