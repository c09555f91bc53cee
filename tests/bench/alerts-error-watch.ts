/** How far a couple that has gone wrong is off, and from when. */

/** So many readings are taken together, by their median: noise and a single wild value are no error. */
const TOGETHER = 5;

export interface ErrorWatch {
  /** What a sensor showed less what it would have shown if nothing were wrong with it. */
  see(atS: number, sensor: string, errorC: number): void;
  /** When any of them was first off by so much more than it was at the onset; null where none was. */
  reached(deltaC: number, onsetS: number): number | null;
}

export function errorWatch(): ErrorWatch {
  const seen = new Map<string, { atS: number; errorC: number }[]>();
  return {
    see(atS, sensor, errorC) {
      const of = seen.get(sensor);
      if (of === undefined) seen.set(sensor, [{ atS, errorC }]);
      else of.push({ atS, errorC });
    },
    reached(deltaC, onsetS) {
      const firsts = [...seen.values()].map((errors) => firstBeyond(errors, deltaC, onsetS));
      const found = firsts.filter((s): s is number => s !== null);
      return found.length === 0 ? null : Math.min(...found);
    },
  };
}

function firstBeyond(
  errors: readonly { atS: number; errorC: number }[],
  deltaC: number,
  onsetS: number,
): number | null {
  const before = errors.filter((e) => e.atS <= onsetS).slice(-2 * TOGETHER);
  const usualC = before.length === 0 ? 0 : middle(before);
  const after = errors.filter((e) => e.atS > onsetS);
  for (let i = 0; i < after.length; i++) {
    const some = after.slice(i, i + TOGETHER);
    if (Math.abs(middle(some) - usualC) >= deltaC) return some[0]?.atS ?? null;
  }
  return null;
}

function middle(errors: readonly { errorC: number }[]): number {
  const sorted = errors.map((e) => e.errorC).sort((a, b) => a - b);
  return sorted[sorted.length >> 1] ?? 0;
}
