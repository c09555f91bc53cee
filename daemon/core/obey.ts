/** What a person does: on the page, at the kiln, or by the lid's switch. */
import type { Told } from './alerts/alert.ts';
import { putAside, resetAlert, seeAlert, switchOff, switchOn } from './alerts/answers.ts';
import type { FiringEvent } from './events.ts';
import { layPlan } from './follow.ts';
import { answerCalls, type HandAct } from './forecast/calls.ts';
import type { Action } from './inputs.ts';
import { couplesWord } from './report/couples.ts';
import { changed, type FiringState } from './state.ts';

/** A person did something. */
export function obey(state: FiringState, action: Action, said: FiringEvent[]): FiringState {
  const { atMs, by } = action;
  const celsius = state.sensors[state.rulingSensor]?.last?.celsius ?? null;
  switch (action.deed) {
    case 'plan':
      said.push({ type: 'plan', atMs, schedule: action.schedule });
      return layPlan(state, action.schedule);
    case 'act': {
      const { what, value, correctsAtMs } = action;
      const act = { type: 'act', atMs, by, deed: 'act', what, ...(value !== undefined && { value }), celsius } as const;
      if (correctsAtMs !== undefined) {
        said.push({ ...act, correctsAtMs });
        return changed(state, { marks: withMark(state.marks, what, value) });
      }
      said.push(act);
      const { isUp, ...work } = handWork(state, what, value, atMs);
      return answer(changed(state, work), { atMs, what, value, isUp }, said);
    }
    case 'seen':
      return withAlerts(state, seeAlert(state.alerts, action.alertId, by, atMs), said);
    case 'put-aside': {
      const segment = state.track?.segment ?? null;
      return withAlerts(state, putAside(state.alerts, action.alertId, by, action.minutes, segment, atMs), said);
    }
    case 'list': {
      const sensors = state.kiln.sensors.map(({ name }) => ({
        name,
        celsius: state.sensors[name]?.last?.celsius ?? null,
      }));
      const couples = action.couples ?? couplesWord(sensors, action.roomC);
      said.push({
        type: 'act',
        atMs,
        by,
        deed: 'list',
        what: 'before lighting',
        celsius,
        items: action.items,
        couples,
      });
      return state;
    }
    case 'reset':
      return withAlerts(state, resetAlert(state.alerts, action.alertId, by, atMs), said);
    case 'switch-off':
      said.push({ type: 'act', atMs, by, deed: 'switch-off', what: action.alert, value: action.why, celsius });
      return withAlerts(state, switchOff(state.alerts, action.alert, by, action.why, atMs), said);
    case 'switch-on':
      said.push({ type: 'act', atMs, by, deed: 'switch-on', what: action.alert, celsius });
      return changed(state, { alerts: switchOn(state.alerts, action.alert) });
    case 'note':
      said.push({
        type: 'act',
        atMs,
        by,
        deed: 'note',
        what: action.text,
        celsius,
        ...(action.photo !== undefined && { photo: action.photo }),
      });
      return state;
    case 'end':
      said.push({ type: 'ended', atMs, by, why: 'ended by hand' });
      return changed(state, { ended: true });
  }
}

function withAlerts(state: FiringState, told: Told, said: FiringEvent[]): FiringState {
  said.push(...told.events);
  return changed(state, { alerts: told.alerts });
}

/** What the eye saw, an instrument held in the hand showed, or a person took over changes nothing in the kiln. */
const LOOKS = new Set([
  'gloss seen',
  'smoke stopped',
  'cone down',
  'trial drawn',
  'hand pyrometer',
  'flame colour',
  'watch handed to',
  'bell heard',
]);

/** A flame lit or the heat switched on is no turning down. */
const HEAT_ON = new Set(['lit', 'on']);

/** Whether the hand turned something up is told by its figures, where it gives them. */
function handWork(
  state: FiringState,
  what: string,
  value: string | undefined,
  atMs: number,
): Pick<FiringState, 'marks' | 'lastTurnDownAtMs' | 'lastHandAtMs'> & { readonly isUp: boolean } {
  const { marks, lastTurnDownAtMs, lastHandAtMs } = state;
  if (LOOKS.has(what.toLowerCase())) return { marks, lastTurnDownAtMs, lastHandAtMs, isUp: false };
  const figure = figureIn(value);
  const before = marks[what];
  const isUp = HEAT_ON.has(value ?? '') || (before !== undefined && figure > before);
  return {
    marks: withMark(marks, what, value),
    lastTurnDownAtMs: isUp ? lastTurnDownAtMs : atMs,
    lastHandAtMs: atMs,
    isUp,
  };
}

function figureIn(value: string | undefined): number {
  return Number.parseFloat((value ?? '').replace(/^[^\d-]*/, '').replace(',', '.'));
}

function withMark(marks: FiringState['marks'], what: string, value: string | undefined): FiringState['marks'] {
  const figure = figureIn(value);
  return Number.isFinite(figure) ? { ...marks, [what]: figure } : marks;
}

/** Whatever was done, by the page or seen by the lid's switch, may be what a call asked for. */
export function answer(state: FiringState, act: HandAct, said: FiringEvent[]): FiringState {
  const calls = answerCalls(state.calls, act);
  for (const call of calls) if (!state.calls.includes(call)) said.push({ type: 'call', atMs: act.atMs, call });
  return changed(state, { calls });
}
