/** The instrument's own clock: what it stamps on a reading, which is not always the time. */

export type ClockFault =
  /** Set forward, or back where negative, as by a wrong hand or a lost battery. */
  | { readonly kind: 'steps'; readonly byS: number }
  /** Runs at this multiple of the true pace from now on: above 1 fast, below slow. */
  | { readonly kind: 'runs'; readonly ratio: number }
  /** Stamps the same instant for ever. */
  | { readonly kind: 'stuck' };

export interface InstrumentClock {
  /** Another fault comes on top of the error that it has by then; null sets it right. */
  suffer(fault: ClockFault | null, atMs: number): void;
  /** The stamp of a true instant, whole milliseconds. */
  stampMs(atMs: number): number;
}

export function instrumentClock(): InstrumentClock {
  let sinceMs = 0;
  let stampedMs = 0;
  let pace = 1;
  const stamp = (atMs: number): number => stampedMs + (atMs - sinceMs) * pace;
  return {
    suffer(fault, atMs) {
      stampedMs = fault === null ? atMs : stamp(atMs);
      sinceMs = atMs;
      if (fault === null) pace = 1;
      else if (fault.kind === 'steps') stampedMs += fault.byS * 1000;
      else pace = fault.kind === 'stuck' ? 0 : fault.ratio;
    },
    stampMs: (atMs) => Math.round(stamp(atMs)),
  };
}
