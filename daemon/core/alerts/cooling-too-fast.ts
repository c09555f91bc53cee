/** It cools faster than the glass bears: a damper left open, a lid ajar, the bung out. */
import { perHour, perMinute, perSecond, secondsBetween } from '../numbers/units.ts';
import { mayStandOpen } from '../plan/schedule.ts';
import { HEATED_RATIO } from '../tracking/heat-change.ts';
import { plannedNowC } from '../tracking/plan-track.ts';
import { filledLine, traceLine } from '../tracking/trace.ts';
import { sinceToldS, TOO_MUCH_HEAT } from './lately.ts';
import { ANNEALS_FROM_C, fallLimit } from './rate-limits.ts';
import { heard, isLidOpen, type Opinion, type Rule, type View } from './rule.ts';
import { wording } from './wording.ts';

const HARM_OVER_S = 300;
const SAID_OVER_S = 120;
/** Couple and flame fall first when the heat goes off; the glass follows. From memory. */
const AFTER_OFF_S = 720;
const LEVEL_FROM_S = 900;
/** Below its strain point thin glass takes much; from here down only an open lid matters. Common practice, no source. */
const LEAST_C = 370;
/** A fall that steepens by this much at once has been helped. */
const STEEPER_RATIO = 1.35;

/** A shut kiln without heat sheds less than this share of its °C in an hour, some minutes after. From simulated firings. */
const SHUT_RATIO = 0.75;

export const coolingTooFast: Rule = {
  alert: 'cooling-too-fast',
  onDelayS: 15,
  offDelayS: 60,
  // A controller that goes on and off in a guided fall crosses the limit with each of its waves: one trouble.
  isSlow: true,
  cause: 'damper, bung or vent left open, or a lid that is not quite shut',
  consequence: 'stress stays in the glass, or it cracks',
  whatToDo: {
    gas: 'once the gas is off: damper and ports shut, spyhole plugged',
    electric: 'close lid and peephole',
  },
  timeToAct: 'some minutes, while it is still in the range where the glass minds',
  priority: 'now',
  judge,
  afterwards: (_told, lastedS) => wording.coolingWas(lastedS),
};

function judge(view: View): Opinion {
  const { schedule, track, trace, segment } = view;
  if (schedule === null || track === null || track.past.length === 0) return undefined;
  if (segment?.kind === 'hold' || (segment !== null && segment.toC >= track.startC)) return undefined;
  if (mayStandOpen(segment)) return undefined;
  const ruling = heard(view);
  if (ruling?.last == null) return 'unknown';
  const nowC = ruling.last.celsius;
  const isGuided = segment !== null && typeof segment.rateCPerH === 'number';
  if (nowC < LEAST_C || isLidOpen(view)) return undefined;
  if (!isGuided && secondsBetween(fallsSinceMs(view), view.nowMs) < AFTER_OFF_S) return undefined;
  // The heat went off later than the plan wanted.
  if (sinceToldS(view, TOO_MUCH_HEAT) < AFTER_OFF_S || (!isGuided && wasLevel(view))) return undefined;
  const limit = fallLimit(schedule, segment, nowC);
  const over = filledLine(trace, SAID_OVER_S);
  const long = filledLine(trace, HARM_OVER_S);
  if (over === null) return undefined;
  const fallPerS = -over.perS;
  const limitPerS = limit === null ? Number.POSITIVE_INFINITY : perSecond(limit.maxCPerH);
  // Left to fall, a shut kiln falls as it does, whatever the plan's limits say of it: that it is open must show.
  const isOwn = isGuided ? !isBelowPlan(view, nowC) : fallPerS < perSecond(SHUT_RATIO * nowC);
  const isFast = fallPerS > limitPerS + 2 * over.sigmaPerS && !isOwn;
  const isHelped = !isGuided && isSteepened(view);
  if (!isFast && !isHelped) return undefined;
  const isHarm = isFast && long !== null && -long.perS > limitPerS;
  const rateCPerH = perHour(fallPerS);
  return {
    phase: isHarm ? 'happening' : 'foreseen',
    priority: isHarm ? 'now' : 'soon',
    sensor: ruling.name,
    leadS: isHarm ? 0 : HARM_OVER_S - SAID_OVER_S,
    message: wording.coolingTooFast(view.kiln.heat, view.kiln.closure, nowC, perMinute(rateCPerH)),
    because: wording.coolingBecause(rateCPerH, limit?.maxCPerH ?? null, limit?.why ?? null),
  };
}

/** Since when no heat is wanted: the falls of a plan follow each other. */
function fallsSinceMs({ schedule, track }: View): number {
  if (schedule === null || track === null) return 0;
  let sinceMs = track.startedAtMs;
  for (let i = track.past.length - 1; i >= 0; i--) {
    const past = track.past[i];
    const segment = past === undefined ? undefined : schedule.segments[past.segment];
    if (past === undefined || segment?.kind !== 'ramp' || segment.rateCPerH !== 'let-fall') break;
    sinceMs = past.startedAtMs;
  }
  return sinceMs;
}

function isBelowPlan({ track, schedule, toleranceC, nowMs }: View, nowC: number): boolean {
  const plannedC = schedule === null || track === null ? null : plannedNowC(schedule, track, nowMs);
  return plannedC !== null && nowC < plannedC - toleranceC;
}

/** The way has bent down by itself, in the range where the glass minds. */
function isSteepened({ turn, ruling }: View): boolean {
  if (turn === null || (ruling?.last?.celsius ?? 0) < ANNEALS_FROM_C) return false;
  const isSure = turn.bendPerS < -7 * turn.bendSigmaPerS && turn.agoS >= 40;
  return (
    isSure &&
    turn.beforePerS < -perSecond(HEATED_RATIO * turn.fromC) &&
    turn.sincePerS < STEEPER_RATIO * turn.beforePerS &&
    turn.offC < -2.5
  );
}

/** A quarter of an hour ago it hardly fell yet. */
function wasLevel({ trace }: View): boolean {
  const before = traceLine(trace, LEVEL_FROM_S, AFTER_OFF_S);
  return before !== null && before.perS > -perSecond(HEATED_RATIO * before.atEndC);
}
