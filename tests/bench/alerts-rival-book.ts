/** The alerts of a plain watcher, in the shape of core's own. */
import type { AlertKind, Phase } from '../../daemon/core/events.ts';
import type { Told } from './alerts-feed.ts';

/** What has not come back for so long is over. */
const OVER_S = 600;

/** A condition as it is seen now; null where it is not there. */
export interface Seen {
  readonly kind: AlertKind;
  readonly phase: Phase | null;
  readonly atS: number;
  /** It is told only when it has stood for so long. */
  readonly heldS: number;
  readonly sensor?: string | undefined;
  readonly cause?: string | undefined;
}

interface Standing {
  readonly id: string;
  readonly sinceS: number;
  readonly lastS: number;
  /** What was told of it last. */
  readonly phase: Phase | null;
}

/** One condition is one alert, from where it has stood for a while to where it has not come back for long. */
export function alertBook() {
  const told: Told[] = [];
  const standing = new Map<string, Standing>();

  function tell({ kind, atS, sensor, cause }: Seen, id: string, phase: Phase): void {
    const message = [kind, sensor, cause].filter((word) => word !== undefined).join(', ');
    told.push({ atS, id, kind, phase, priority: 'now', sensor, cause, message });
  }

  function see(seen: Seen): void {
    const { phase, atS, heldS } = seen;
    const key = `${seen.kind} ${seen.sensor ?? ''}`;
    const one = standing.get(key);
    if (phase === null) {
      if (one === undefined || (one.phase !== null && atS - one.lastS < OVER_S)) return;
      if (one.phase !== null) tell(seen, one.id, 'over');
      standing.delete(key);
      return;
    }
    const { id, sinceS, phase: before } = one ?? { id: `${key} ${told.length}`, sinceS: atS, phase: null };
    const isNew = atS - sinceS >= heldS && before !== phase && before !== 'happening';
    if (isNew) tell(seen, id, phase);
    standing.set(key, { id, sinceS, lastS: atS, phase: isNew ? phase : before });
  }

  return { told: told as readonly Told[], see };
}
