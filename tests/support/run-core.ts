/** Runs a whole simulated firing through core, as a replay would, and gathers what was said. */
import type { AlertEvent, CallEvent, FiringEvent, PositionEvent } from '../../daemon/core/events.ts';
import type { CoreInput } from '../../daemon/core/inputs.ts';
import { beginFiring, type FiringState } from '../../daemon/core/state.ts';
import { passTime, step } from '../../daemon/core/step.ts';
import type { LiveFiring } from '../../simulators/firing-scenario.ts';
import { type FiringScenario, liveFiring } from '../../simulators/firing-scenario.ts';

export interface Ran {
  readonly state: FiringState;
  readonly events: readonly FiringEvent[];
  /** An alert's stages in order: foreseen, happening, over; what only refreshed its words is left out. */
  readonly alerts: readonly AlertEvent[];
  readonly calls: readonly CallEvent[];
  readonly positions: readonly PositionEvent[];
}

export interface RunOptions {
  /** The operator's acts reach core, as if logged on the page. */
  readonly logsActs?: boolean;
  /** The operator hears what core says, and may come. */
  readonly hears?: boolean;
}

export function runScenario(scenario: FiringScenario, options: RunOptions = {}): Ran {
  const firing = liveFiring(scenario);
  const events: FiringEvent[] = [];
  let state = beginFiring(scenario.kiln, scenario.schedule, scenario.startedAtMs);
  let lid: string | undefined;
  const take = (input: CoreInput): void => {
    const passed = passTime(state, input.atMs);
    const stepped = step(passed.state, input);
    state = stepped.state;
    for (const event of [...passed.events, ...stepped.events]) {
      events.push(event);
      if (options.hears === true) tellOperator(firing, event);
    }
  };
  for (let toMs = scenario.startedAtMs; !firing.ended() && !state.ended; toMs += scenario.instrument.sampleS * 1000) {
    const news = firing.step(toMs);
    const acts = options.logsActs === true ? news.acts : [];
    for (const act of acts) {
      const value = act.value === undefined ? {} : { value: String(act.value) };
      take({ kind: 'action', atMs: act.atMs, by: 'painter', deed: 'act', what: act.what, ...value });
    }
    for (const { atMs, news: edge } of news.edges) take({ kind: 'edge', atMs, ...edge });
    for (const row of news.rows) {
      const raw = { kind: 'raw', atMs: row.atMs, input: 'rows' } as const;
      if (row.lid !== undefined && row.lid !== lid) take({ ...raw, channel: 'lid', text: row.lid });
      lid = row.lid ?? lid;
      take({ ...raw, channel: row.sensor, text: row.celsius === null ? '' : String(row.celsius) });
    }
  }
  return { state, events, ...sortOut(events) };
}

function tellOperator(firing: LiveFiring, event: FiringEvent): void {
  if (event.type === 'alert' && event.life === 'calling' && event.refresh !== true)
    firing.told(event.alert, event.phase);
}

function sortOut(events: readonly FiringEvent[]): Pick<Ran, 'alerts' | 'calls' | 'positions'> {
  const stages = new Map<string, string>();
  const alerts: AlertEvent[] = [];
  const calls: CallEvent[] = [];
  const positions: PositionEvent[] = [];
  for (const event of events) {
    if (event.type === 'call') calls.push(event);
    if (event.type === 'position') positions.push(event);
    if (event.type !== 'alert' || stages.get(event.id) === event.phase) continue;
    stages.set(event.id, event.phase);
    alerts.push(event);
  }
  return { alerts, calls, positions };
}
