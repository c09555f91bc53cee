/** A kiln as core knows it, and ways to feed it made-up readings: for the tests of core. */
import type { AlertEvent, FiringEvent, PositionEvent } from '../../daemon/core/events.ts';
import type { Action, CoreInput, Deed, RawMessage } from '../../daemon/core/inputs.ts';
import type { KilnSetup } from '../../daemon/core/plan/kiln.ts';
import type { Schedule } from '../../daemon/core/plan/schedule.ts';
import { beginFiring, type FiringState } from '../../daemon/core/state.ts';
import { passTime, step } from '../../daemon/core/step.ts';

/** 14 March 2026, nine in the morning. */
export const START_MS = Date.UTC(2026, 2, 14, 9, 0);
export const atS = (seconds: number): number => START_MS + seconds * 1000;

export function kilnOf(over: Partial<KilnSetup> = {}): KilnSetup {
  return {
    id: 'gas-kiln',
    name: 'Gas kiln',
    heat: 'gas',
    closure: 'door',
    toleranceC: 6,
    sensors: [{ name: 'shelf', letter: 'K' }],
    decodings: { rows: { kind: 'channels', channels: { shelf: 'shelf', top: 'top', lid: 'lid' } } },
    utcOffsetMinutes: 0,
    ...over,
  };
}

/** Up to 660, hold, and let it fall. */
export const matt: Schedule = {
  name: 'Matt',
  toleranceC: 6,
  safeOpenC: 150,
  segments: [
    { kind: 'ramp', toC: 450, rateCPerH: 240 },
    { kind: 'ramp', toC: 660, rateCPerH: 120 },
    { kind: 'hold', minutes: 15 },
    { kind: 'ramp', toC: 150, rateCPerH: 'let-fall' },
    { kind: 'ramp', toC: 50, rateCPerH: 'let-fall', opening: 'free' },
  ],
};

/** A soak that drives the water out, reached after an hour, and a climb from it. */
export const soaked: Schedule = {
  ...matt,
  segments: [
    { kind: 'ramp', toC: 110, rateCPerH: 90 },
    { kind: 'hold', minutes: 20 },
    { kind: 'ramp', toC: 600, rateCPerH: 120 },
    { kind: 'hold', minutes: 15 },
  ],
};

/** As `matt`, up to its hold, with the smoke let off by an open lid up to so many °C. */
export const mattAiredTo = (toC: number): Schedule => ({
  ...matt,
  segments: [
    { kind: 'ramp', toC, rateCPerH: 240, opening: 'propped' },
    { kind: 'ramp', toC: 660, rateCPerH: 120, opening: 'closed' },
    { kind: 'hold', minutes: 15 },
  ],
});

/** The climb that `matt` asks for, °C after so many seconds, and its hold. */
export const climbOfMatt = (s: number): number => (s < 6450 ? 20 + s / 15 : Math.min(450 + (s - 6450) / 30, 660));

/** `matt` fired as planned, left to fall after its hold, and from 520 °C on as `then` says. */
export function fallenMatt(then: (afterS: number) => number): RawMessage[] {
  return curve(0, 16_200, (s) => {
    if (s < 13_700) return climbOfMatt(s);
    const celsius = 660 - (s - 13_700) / 14;
    return celsius > 520 ? celsius : then(s - 15_660);
  });
}

export interface Fed {
  readonly state: FiringState;
  readonly events: readonly FiringEvent[];
}

export function begin(schedule: Schedule | null = matt, kiln: KilnSetup = kilnOf()): Fed {
  return { state: beginFiring(kiln, schedule, START_MS), events: [] };
}

/** Time passes second by second up to each input, as in a replay. */
export function feed(before: Fed, inputs: Iterable<CoreInput>): Fed {
  let state = before.state;
  const events = [...before.events];
  for (const input of inputs) {
    const passed = passTime(state, input.atMs);
    const stepped = step(passed.state, input);
    state = stepped.state;
    events.push(...passed.events, ...stepped.events);
  }
  return { state, events };
}

/** Nothing is heard until then. */
export function wait(before: Fed, untilS: number): Fed {
  const passed = passTime(before.state, atS(untilS));
  return { state: passed.state, events: [...before.events, ...passed.events] };
}

export function reading(seconds: number, celsius: number | string, sensor = 'shelf'): RawMessage {
  const text = typeof celsius === 'number' ? String(Math.round(celsius * 100) / 100) : celsius;
  return { kind: 'raw', atMs: atS(seconds), input: 'rows', channel: sensor, text };
}

export function lid(seconds: number, open: boolean): RawMessage {
  return reading(seconds, open ? 'open' : 'closed', 'lid');
}

export function deed(seconds: number, done: Deed): Action {
  return { kind: 'action', atMs: atS(seconds), by: 'painter', ...done };
}

export interface Stretch {
  readonly fromS: number;
  readonly toS: number;
  readonly fromC: number;
  readonly rateCPerH: number;
  readonly everyS?: number;
}

/** Readings along a straight line, both ends included. */
export function line({ fromS, toS, fromC, rateCPerH, everyS = 10 }: Stretch): RawMessage[] {
  return curve(fromS, toS, (s) => fromC + ((s - fromS) / 3600) * rateCPerH, everyS);
}

export function curve(fromS: number, toS: number, celsiusAt: (seconds: number) => number, everyS = 10): RawMessage[] {
  const readings: RawMessage[] = [];
  for (let s = fromS; s <= toS; s += everyS) readings.push(reading(s, celsiusAt(s)));
  return readings;
}

/** Each alert's stages in order, without what only refreshed its words: "overshoot foreseen". */
export function stagesOf(fed: { readonly events: readonly FiringEvent[] }): string[] {
  return stagedAlerts(fed).map((a) => `${a.alert} ${a.phase}`);
}

export function stagedAlerts({ events }: { readonly events: readonly FiringEvent[] }): AlertEvent[] {
  const stages = new Map<string, string>();
  return events.filter((event): event is AlertEvent => {
    if (event.type !== 'alert' || stages.get(event.id) === event.phase) return false;
    stages.set(event.id, event.phase);
    return true;
  });
}

export function lastPosition({ events }: Fed): PositionEvent {
  const last = events.findLast((e) => e.type === 'position');
  if (last === undefined) throw new Error('no position was told');
  return last;
}
