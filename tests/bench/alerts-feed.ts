/** A firing of the corpus goes through core as `spyhole replay` would send it, and what was said is kept. */
import type { AlertKind, FiringEvent, ForecastEvent, Phase, Priority } from '../../daemon/core/events.ts';
import type { CoreInput } from '../../daemon/core/inputs.ts';
import { rulingSensor } from '../../daemon/core/plan/kiln.ts';
import type { FiringState } from '../../daemon/core/state.ts';
import { type BandCounts, bandWatch } from './alerts-bands.ts';
import { type CorpusFiring, LID_CLOSED, LID_OPEN, NO_VALUE, SENSOR_BITS } from './alerts-corpus.ts';
import type { Built } from './built.ts';

/** An alert as it begins, gets worse, changes its priority, and is over. */
export interface Told {
  /** True seconds since the firing began. */
  readonly atS: number;
  readonly id: string;
  readonly kind: AlertKind;
  readonly phase: Phase;
  readonly priority: Priority;
  readonly sensor?: string | undefined;
  readonly cause?: string | undefined;
  readonly leadS?: number | undefined;
  /** The alert under which it is listed without a sound; replay tells it all the same, and so it is scored. */
  readonly heldBackBy?: string | undefined;
  readonly message: string;
}

export interface Heard {
  readonly told: readonly Told[];
  /** True seconds from the first row to where core ended the firing, or to the last row. */
  readonly watchedS: number;
  readonly readings: number;
  readonly bands: BandCounts;
}

export function hearFiring(built: Pick<Built, 'state' | 'step'>, firing: CorpusFiring): Heard {
  const { rows, kiln, schedule } = firing;
  const { startedAtMs, sensors, stampMs, cameMs, milliC, flags } = rows;
  const told: Told[] = [];
  const stages = new Map<string, string>();
  const bands = bandWatch(schedule);
  const ruling = rulingSensor(kiln);
  let state: FiringState = built.state.beginFiring(kiln, schedule, startedAtMs + (stampMs[0] ?? 0));
  let lastS = 0;
  let edge = 0;

  const hear = (event: FiringEvent, atS: number): void => {
    if (event.type === 'forecast') bands.foresee(event as ForecastEvent, state.track?.segment ?? null);
    if (event.type !== 'alert') return;
    const { id, alert: kind, phase, priority, sensor, cause, leadS, heldBackBy, message } = event;
    const stage = `${phase} ${phase === 'over' ? '' : priority}`;
    if (stages.get(id) === stage) return;
    stages.set(id, stage);
    told.push({ atS, id, kind, phase, priority, sensor, cause, leadS, heldBackBy, message });
  };
  const take = (input: CoreInput, nowS: number): void => {
    const stepped = built.step.step(state, input);
    state = stepped.state;
    for (const event of stepped.events) hear(event, nowS);
  };

  let row = 0;
  for (; row < flags.length && !state.ended; row++) {
    const flag = flags[row] ?? 0;
    const atMs = startedAtMs + (stampMs[row] ?? 0);
    const nowS = (cameMs[row] ?? 0) / 1000;
    const passed = built.step.passTime(state, atMs);
    state = passed.state;
    // Between two rows an instant of core is a true one, unless the instrument's clock is wrong.
    for (const event of passed.events) hear(event, Math.min(Math.max((event.atMs - startedAtMs) / 1000, lastS), nowS));
    for (let next = firing.edges[edge]; next !== undefined && next.row <= row; next = firing.edges[++edge]) {
      take({ kind: 'edge', atMs: next.atMs, ...next.news }, nowS);
    }
    const raw = { kind: 'raw', atMs, input: 'rows' } as const;
    if ((flag & (LID_OPEN | LID_CLOSED)) !== 0) {
      take({ ...raw, channel: 'lid', text: (flag & LID_OPEN) !== 0 ? 'open' : 'closed' }, nowS);
    }
    const sensor = sensors[flag & SENSOR_BITS] ?? '';
    const milli = milliC[row] ?? NO_VALUE;
    if (sensor === ruling && milli !== NO_VALUE) bands.read(atMs, milli / 1000);
    take({ ...raw, channel: sensor, text: milli === NO_VALUE ? '' : String(milli / 1000) }, nowS);
    lastS = nowS;
  }
  return { told, watchedS: lastS, readings: row, bands: bands.counts() };
}
