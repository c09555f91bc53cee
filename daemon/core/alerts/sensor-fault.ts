/** A sensor whose figures may not be believed: its wire is broken, it is frozen, has slipped, shows the impossible. */
import { secondsBetween } from '../numbers/units.ts';
import { climbTopC } from '../plan/schedule.ts';
import type { SensorFault } from '../thermometry/health/detector.ts';
import { LEAPS_AGAIN_S, type Leapt } from '../thermometry/health/sensor-health.ts';
import { isRulingLow } from '../tracking/couple-pairs.ts';
import { type Finding, heard, type Opinion, type Rule, soundBeside, type View } from './rule.ts';
import { wording } from './wording.ts';

/** What the figures of a sick couple would otherwise be taken for. */
const EXPLAINS = [
  'lid-open-hot',
  'heat-lost',
  'uncontrolled-heat',
  'overshoot',
  'heating-too-fast',
  'cooling-too-fast',
  'hold-short',
  'hold-long',
  'stalled-ramp',
  'running-late',
  'sensors-disagree',
] as const;
const REPLACES = [
  'lid-open-hot',
  'heat-lost',
  'uncontrolled-heat',
  'stalled-ramp',
  'cooling-too-fast',
  'heating-too-fast',
  'hold-short',
] as const;

/**
 * A couple that shows too little looks like a kiln that falls, and nobody knows when a hold began; never does it explain
 * that something is too hot.
 */
const LOW_EXPLAINS = [
  'lid-open-hot',
  'heat-lost',
  'cooling-too-fast',
  'hold-short',
  'hold-long',
  'stalled-ramp',
  'running-late',
  'sensors-disagree',
] as const;
const LOW_REPLACES = ['lid-open-hot', 'heat-lost', 'cooling-too-fast', 'hold-short'] as const;
/**
 * A couple that drifts makes a climb look slow, and a hold never begun. That a controller, which has a couple of its own,
 * is done and lets the kiln fall while we still climb follows from it too; that a flame goes out never does.
 */
const DRIFT_EXPLAINS = ['hold-short', 'stalled-ramp', 'running-late', 'sensors-disagree'] as const;
const HIGH_EXPLAINS = ['heating-too-fast', 'sensors-disagree'] as const;

type Explained = Pick<Finding, 'explains' | 'replaces'>;

const LOW: Explained = { explains: LOW_EXPLAINS, replaces: LOW_REPLACES };

/** A couple that has leapt goes on by its kiln's ways from there. */
const JUMPED: Explained = { explains: [...LOW_EXPLAINS, ...HIGH_EXPLAINS], replaces: LOW_REPLACES };
/** What shows too much looks like heat that nobody wants, as far as it shows too much. */
const TOO_HOT = ['uncontrolled-heat', 'overshoot'] as const;

/** It becomes sure, or was nothing, long before; till then lid and flame wait for it (`formingCause`). */
const DOUBT_S = 300;

export const sensorFault: Rule = {
  alert: 'sensor-fault',
  onDelayS: 0,
  offDelayS: 20,
  cause: 'a broken or slipped couple, crossed leads, an instrument that froze or says that it has no value',
  consequence: 'the kiln may be hotter than it says, and nobody would notice',
  whatToDo: {
    gas: 'go to the kiln; trust gloss, eyes protected, and the hand pyrometer; turn down if in doubt',
    electric: 'go to the kiln; trust gloss, eyes protected, and the hand pyrometer; switch off if you cannot see',
  },
  timeToAct: 'as long as the kiln would have been well unwatched; nobody knows',
  priority: 'now',
  judge,
  afterwards: (_told, lastedS) => wording.sensorWas(lastedS),
};

function judge(view: View): Opinion {
  const findings: Finding[] = [];
  for (const { name } of view.kiln.sensors) {
    const watch = view.watches[name];
    const { fault = null, doubt = null } = watch?.health ?? {};
    const leapt = watch?.leapt ?? null;
    if (fault !== null) findings.push(findingOf(view, name, fault, explainedBy(view, fault)));
    // Between its leaps its figures are right, as far as anybody knows: they are one trouble, and explain nothing.
    else if (leapt !== null && isBadContact(leapt, view.nowMs)) findings.push(findingOf(view, name, leapt.fault, {}));
    else if (doubt !== null)
      findings.push({ ...findingOf(view, name, doubt, explainedBy(view, doubt)), onDelayS: DOUBT_S });
    else findings.push(...besideOthers(view, name));
  }
  return findings.length === 0 ? undefined : findings;
}

/** It leaps and comes back, again and again. */
function isBadContact({ count, untilMs }: Leapt, nowMs: number): boolean {
  return count > 1 && secondsBetween(untilMs, nowMs) <= LEAPS_AGAIN_S;
}

/** What only shows beside another couple. Its figures are judged on, for want of better. */
function besideOthers(view: View, sensor: string): readonly Finding[] {
  const isRuling = sensor === view.ruling?.name;
  for (const [other, { verdict }] of Object.entries(view.pairs)) {
    if (verdict === null || verdict.left !== (isRuling ? 'ruling' : 'other')) continue;
    if (!isRuling && other !== sensor) continue;
    const byC = isRuling ? -verdict.byC : verdict.byC;
    if (verdict.pace === 'fast') return [left(view, sensor, other, byC, verdict.isLeap)];
    // Of one that does not rule it is enough to say that they part.
    if (isRulingLow(verdict)) return [drifts(view, sensor, other, byC, secondsBetween(verdict.sinceMs, view.nowMs))];
  }
  return isRuling ? mayHaveLeft(view, sensor) : [];
}

/** It falls and another does not, which becomes sure within a minute, or was nothing. */
function mayHaveLeft(view: View, ruling: string): readonly Finding[] {
  if (heard(view) === null) return [];
  for (const [other, { doubtC }] of Object.entries(view.pairs)) {
    if (doubtC !== null) return [{ ...left(view, ruling, other, -doubtC, false), onDelayS: DOUBT_S }];
  }
  return [];
}

function left(view: View, sensor: string, other: string, byC: number, isLeap: boolean): Finding {
  const isRuling = sensor === view.ruling?.name;
  const cause = byC < 0 && !isLeap ? 'slipped' : 'jump';
  const sentence = wording.leftOthers(sensor, isRuling ? other : (view.ruling?.name ?? ''), byC);
  return findingOf(view, sensor, { cause, sentence }, byC < 0 ? LOW : high(view, byC, { explains: HIGH_EXPLAINS }));
}

/** The ruling one shows ever less: who goes by it fires too hot. */
function drifts(view: View, sensor: string, other: string, byC: number, forS: number): Finding {
  const sentence = wording.drifted(sensor, other, byC, forS);
  const explains = view.kiln.heat === 'electric' ? LOW_EXPLAINS : DRIFT_EXPLAINS;
  return findingOf(view, sensor, { cause: 'drift', sentence }, { explains });
}

/** @param explained what it explains better, if it is the ruling sensor's */
function findingOf(
  view: View,
  sensor: string,
  { cause, sentence }: Pick<SensorFault, 'cause' | 'sentence'>,
  explained: Explained,
): Finding {
  const { heat, sensors } = { heat: view.kiln.heat, sensors: view.sensors };
  const isRuling = sensor === view.ruling?.name;
  const isCooling = view.track !== null && view.segment === null;
  const lastC = sensors.find((s) => s.name === sensor)?.last?.celsius ?? null;
  const [other] = soundBeside(view, sensor);
  return {
    phase: 'happening',
    priority: isRuling && !isCooling ? 'now' : 'soon',
    sensor,
    cause,
    ...(isRuling && explained),
    message: isRuling ? wording.sensorFault(heat, cause, sensor) : wording.otherSensorFault(cause, sensor),
    because: wording.sensorBecause(
      sentence,
      lastC,
      other === undefined ? null : other.name,
      other?.last?.celsius ?? null,
    ),
  };
}

/** By its cause, unless more is known. */
function explainedBy(view: View, { cause, byC = 0, sinceMs }: SensorFault): Explained {
  switch (cause) {
    case 'jump':
      return byC > 0 && !hasBentSince(view, sinceMs) ? high(view, byC, JUMPED) : JUMPED;
    case 'slipped':
      return LOW;
    default:
      return { explains: EXPLAINS, replaces: REPLACES };
  }
}

/** A couple leaps once: heat that came long after is the kiln's. */
function hasBentSince({ change }: View, sinceMs: number): boolean {
  return change !== null && secondsBetween(sinceMs, change.sinceMs) > DOUBT_S;
}

/** Less what it shows too much the kiln may be well; if it is too hot even so, nothing hides that. */
function high(
  { ruling, schedule, track, toleranceC }: View,
  byC: number,
  { explains, replaces }: Explained,
): Explained {
  if (schedule === null || track === null || ruling?.last == null) return { explains, replaces };
  const isTooHot = ruling.last.celsius - byC > climbTopC(schedule, track.segment) + toleranceC;
  return isTooHot ? { explains, replaces } : { explains: [...(explains ?? []), ...TOO_HOT], replaces };
}
