/** What the simulated instruments have in common: where their readings come from, and the clock they run on. */
import type { LiveFiring, ScenarioRow } from './firing-scenario.ts';
import type { ControllerReadOut } from './kiln-plant.ts';
import type { OperatorAct } from './operator-hand.ts';

/** The part of the daemon's clock that a device needs. */
export interface DeviceClock {
  nowMs(): number;
  realMs(): number;
  every(realMs: number, fn: () => void): () => void;
  after(realMs: number, fn: () => void): () => void;
}

export interface DeviceReading {
  readonly atMs: number;
  readonly sensor: string;
  /** null where the instrument gives no temperature. */
  readonly celsius: number | null;
}

export interface LidChange {
  readonly atMs: number;
  readonly lid: 'open' | 'closed';
}

export interface DeviceNews {
  readonly readings: readonly DeviceReading[];
  /** Changes of the switch at the lid or door, the first one the state at the beginning. */
  readonly lid: readonly LidChange[];
  /** What the operator did, to be logged through the page's own interface. */
  readonly acts: readonly OperatorAct[];
}

/** A kiln that goes on until the instant it is asked for. */
export interface DeviceSource {
  step(toMs: number): DeviceNews;
  ended(): boolean;
  /** As it stands at the instant reached; absent or null where a hand fires the kiln. */
  controller?(): ControllerReadOut | null;
}

/** What a device has said and what it could not say. */
export interface DeviceCounts {
  /** Readings that the kiln gave, those without a temperature among them. */
  readonly readings: number;
  /** Readings that did not get out: the line was full, or the broker was away for too long. */
  readonly lost: number;
  /** Requests that a slave was asked, whether it answered or not. */
  readonly requests: number;
}

/** An interface with the simulated kiln behind it. */
export interface KilnDevice {
  /** Takes what the kiln has to say by that instant of its time: pushes it out, or keeps it for the next poll. Never waits. */
  say(news: DeviceNews, nowMs: number): void;
  /** Resolves once all that was said is out. */
  flushed(): Promise<void>;
  counts(): DeviceCounts;
  stop(): Promise<void>;
}

/** What cannot be opened or has gone away, in one sentence that says what would be right. */
export class DeviceError extends Error {
  override readonly name = 'DeviceError';
}

/** The operating system's own short word, `ENOENT`, or what else is known. */
export function codeOf(error: unknown): string {
  if (error instanceof Error && 'code' in error) return String(error.code);
  return error instanceof Error ? error.message : String(error);
}

/** The changes among the rows' states of the lid, the first row's state included. */
export function lidChanges(): (rows: readonly ScenarioRow[]) => LidChange[] {
  let before: ScenarioRow['lid'];
  return (rows) =>
    rows.flatMap((row) => {
      if (row.lid === undefined || row.lid === before) return [];
      before = row.lid;
      return [{ atMs: row.atMs, lid: row.lid }];
    });
}

export function sourceOf(firing: LiveFiring): DeviceSource {
  const changesIn = lidChanges();
  return {
    step(toMs) {
      const { rows, acts } = firing.step(toMs);
      const readings = rows.map(({ atMs, sensor, celsius }) => ({ atMs, sensor, celsius }));
      return { readings, lid: changesIn(rows), acts };
    },
    ended: firing.ended,
    controller: () => firing.plant.controller(),
  };
}
