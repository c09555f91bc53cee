/** The hold is over by the plan and the kiln stays as hot: nobody turned it off. */
import { perHour, perSecond, secondsBetween } from '../numbers/units.ts';
import { isFarBelowTop, isLetFall, type Schedule, targetC } from '../plan/schedule.ts';
import type { PlanTrack } from '../tracking/plan-track.ts';
import { latelyLine, traceLine } from '../tracking/trace.ts';
import { isTold } from './lately.ts';
import { heard, type Opinion, type Rule, type View } from './rule.ts';
import { wording } from './wording.ts';

/** So long after its end it is said at the soonest, later where a controller's own clock may differ from the plan's; and so long after it the colours suffer. The second is the trade's own word. */
const SAID_AFTER_S = { gas: 30, electric: 210 } as const;
const HARM_AFTER_S = 300;
/** ... and only where the kiln has been so much longer within its tolerance: whoever eases into the top, or comes late to it, counts later. Ours. */
const LONGER_S = { gas: 230, electric: 240 } as const;
/** How fast a climb without a pace of its own comes into its top, °C/h. From memory. */
const FLAT_OUT_CPERH = 300;
const STAYS_OVER_S = 200;
/** A kiln without heat falls faster than this, also seen through a thick sheath. From memory. */
const RESTING_CPERH = 45;

export const holdLong: Rule = {
  alert: 'hold-long',
  onDelayS: 1,
  offDelayS: 60,
  isSlow: true,
  cause: 'nobody turned it off, or the controller holds longer than the plan',
  consequence: 'five minutes too much at the top spoil a colour',
  whatToDo: {
    gas: 'gas off, damper after',
    electric: 'switch off at the wall',
  },
  timeToAct: 'one to three minutes',
  priority: 'now',
  judge,
  afterwards: (told, lastedS) => (told.phase === 'foreseen' ? wording.holdEnded : wording.holdLongWas(lastedS)),
};

function judge(view: View): Opinion {
  const { schedule, track, trace } = view;
  if (schedule === null || track === null || track.segment === 0) return undefined;
  const held = schedule.segments[track.segment - 1];
  const next = view.segment;
  if (held?.kind !== 'hold' || next?.kind === 'hold') return undefined;
  const heldC = targetC(schedule, track.segment - 1);
  const goesDown = next === null || isLetFall(next) || (next.kind === 'ramp' && next.toC < heldC);
  // Only at the top do colours suffer: a longer anneal does no harm.
  if (!goesDown || isFarBelowTop(schedule, heldC)) return undefined;
  const ruling = heard(view);
  if (ruling?.last == null) return 'unknown';
  const sinceS = sinceEndS(schedule, track, held.minutes, view.nowMs);
  if (sinceS < SAID_AFTER_S[view.kiln.heat] || sinceS > 3 * 3600) return undefined;
  if (track.atTopS - wantedAtTopS(view, schedule, track.segment - 1) < LONGER_S[view.kiln.heat]) return undefined;
  const nowC = ruling.last.celsius;
  // A relay's ripple is no end of a hold that was told to be too long.
  const hasTold = isTold(view, ['hold-long']);
  const lately = (hasTold ? traceLine(trace, STAYS_OVER_S) : null) ?? latelyLine(trace);
  if (lately === null) return undefined;
  const guidedCPerH = next?.kind === 'ramp' && typeof next.rateCPerH === 'number' ? next.rateCPerH : null;
  const restingCPerH = guidedCPerH === null ? RESTING_CPERH : Math.min(RESTING_CPERH, 0.3 * guidedCPerH);
  // A guided fall leaves the band later by itself: it is late by what it lies above its plan.
  const allowedC = guidedCPerH === null ? heldC - view.toleranceC : heldC - perSecond(guidedCPerH) * sinceS * 0.5;
  const stays = nowC > allowedC && lately.perS > -perSecond(restingCPerH) + lately.sigmaPerS;
  if (!stays)
    return nowC > heldC - view.toleranceC && lately.perS > -perSecond(2 * restingCPerH) ? 'unsure' : undefined;
  const isHarm = sinceS >= HARM_AFTER_S && nowC > heldC - view.toleranceC;
  return {
    phase: isHarm ? 'happening' : 'foreseen',
    priority: 'now',
    sensor: ruling.name,
    leadS: Math.max(Math.round(HARM_AFTER_S - sinceS), 0),
    message: wording.holdLong(view.kiln.heat, sinceS),
    because: wording.holdLongBecause(nowC, heldC, perHour(lately.perS)),
  };
}

/** Seconds since the hold's end. A hand's clock begins as the top is reached, which may be long after the plan's by the clock. */
function sinceEndS(schedule: Schedule, track: PlanTrack, minutes: number, nowMs: number): number {
  const notThereMs = schedule.waits === false ? track.startedAtMs : Number.NEGATIVE_INFINITY;
  const ownEndMs = (track.thereAtMs ?? notThereMs) + minutes * 60_000;
  return secondsBetween(Math.max(track.startedAtMs, ownEndMs), nowMs);
}

/** What the plan's own pace and hold make of it. */
function wantedAtTopS({ toleranceC }: View, { segments }: Schedule, index: number): number {
  const climb = segments[index - 1];
  const hold = segments[index];
  const rateCPerH = climb?.kind === 'ramp' && typeof climb.rateCPerH === 'number' ? climb.rateCPerH : FLAT_OUT_CPERH;
  return (hold?.kind === 'hold' ? hold.minutes * 60 : 0) + toleranceC / perSecond(rateCPerH);
}
