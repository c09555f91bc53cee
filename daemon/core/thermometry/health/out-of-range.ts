/** Figures that no couple of this letter can give. */
import { type Detector, degrees, isShown, type SensorFault } from './detector.ts';

export interface OutOfRangeState {
  readonly sinceMs: number | null;
  readonly seenCount: number;
  readonly fault: SensorFault | null;
}

/** One garbled figure is none. */
const REPEATED = 2;

export const outOfRange: Detector<OutOfRangeState> = {
  begin: { sinceMs: null, seenCount: 0, fault: null },
  judge(state, sample, context) {
    if (!isShown(sample)) return { state, fault: state.fault };
    const { fromC, toC } = context.range;
    if (sample.celsius >= fromC && sample.celsius <= toC) return { state: outOfRange.begin, fault: null };
    const sinceMs = state.sinceMs ?? sample.atMs;
    const seenCount = state.seenCount + 1;
    const fault: SensorFault | null =
      seenCount < REPEATED
        ? null
        : {
            cause: 'out-of-range',
            sinceMs,
            sentence: `${context.sensor} shows ${degrees(sample.celsius)}; its couple can show ${fromC} to ${toC} °C only. Look at the wires and at what the instrument is set to.`,
          };
    return { state: { sinceMs, seenCount, fault }, fault };
  },
};
