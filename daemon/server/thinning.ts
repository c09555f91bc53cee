/** Where the firing is, and where it is heading, may change faster than anybody looks: the latest word is enough. */
import type { Clock } from '../runtime/clock.ts';
import type { ForecastMessage, LiveMessage, PositionMessage } from '../wire/live-messages.ts';

/** At most five a second of each kind for each kiln (ours: an eye sees no difference above that). */
const leastMsBetween = 200;

export interface Thinning {
  /** Takes every message in order; passes it on now, or, for a position or forecast, perhaps later or never. */
  offer(message: LiveMessage): void;
  /** Passes on what is held back, now. */
  flush(): void;
  /** Forgets what is held back. */
  stop(): void;
}

interface Lane {
  lastRealMs: number;
  held: PositionMessage | ForecastMessage | null;
  cancel: (() => void) | null;
}

export function thinning(clock: Clock, pass: (message: LiveMessage) => void): Thinning {
  const lanes = new Map<string, Lane>();

  function laneOf(message: PositionMessage | ForecastMessage): Lane {
    const key = `${message.type} ${message.kiln}`;
    const known = lanes.get(key);
    if (known !== undefined) return known;
    const lane: Lane = { lastRealMs: Number.NEGATIVE_INFINITY, held: null, cancel: null };
    lanes.set(key, lane);
    return lane;
  }

  function release(lane: Lane): void {
    lane.cancel?.();
    lane.cancel = null;
    const { held } = lane;
    if (held === null) return;
    lane.held = null;
    lane.lastRealMs = clock.realMs();
    pass(held);
  }

  function drop(kiln: string | null): void {
    for (const lane of lanes.values()) {
      if (kiln !== null && lane.held?.kiln !== kiln) continue;
      lane.cancel?.();
      lane.cancel = null;
      lane.held = null;
    }
  }

  return {
    offer(message) {
      switch (message.type) {
        case 'position':
        case 'forecast': {
          const lane = laneOf(message);
          lane.held = message;
          const waitMs = lane.lastRealMs + leastMsBetween - clock.realMs();
          if (waitMs <= 0) release(lane);
          else lane.cancel ??= clock.after(waitMs, () => release(lane));
          return;
        }
        case 'kiln':
        case 'kiln-gone':
          drop(message.kiln); // It holds the kiln as it stands; what was held back is older.
          pass(message);
          return;
        case 'snapshot':
          drop(null);
          pass(message);
          return;
        case 'reading':
        case 'alert':
        case 'act':
        case 'lid':
        case 'controller':
        case 'gap':
        case 'trouble':
        case 'heartbeat':
          pass(message);
          return;
      }
    },
    flush() {
      for (const lane of lanes.values()) release(lane);
    },
    stop: () => drop(null),
  };
}
