/** What the simulated instruments have in common: where their readings come from, and the clock they run on. */
import type { LiveFiring, ScenarioRow } from './firing-scenario.ts';
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
  };
}
