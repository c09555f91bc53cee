/** No reading comes, or none that is a temperature. It has a clock of its own: the tick. */
import { timeOfDay } from '../numbers/time-of-day.ts';
import { secondsBetween } from '../numbers/units.ts';
import type { SensorTrack } from '../tracking/sensor-track.ts';
import { type Opinion, type Rule, silentAfterS, type View } from './rule.ts';
import { wording } from './wording.ts';

/** Without readings none of these can be told from its opposite; those that stood are listed under the silence. */
const EXPLAINS = [
  'heat-lost',
  'uncontrolled-heat',
  'overshoot',
  'heating-too-fast',
  'cooling-too-fast',
  'stalled-ramp',
  'hold-short',
  'hold-long',
  'running-late',
  'sensors-disagree',
] as const;

export const silence: Rule = {
  alert: 'silence',
  onDelayS: 0,
  offDelayS: 3,
  cause: 'a plug, a cable, a broker, a broken wire, an instrument without power',
  consequence: 'nobody would notice what the kiln does',
  whatToDo: {
    gas: 'go to the kiln with the hand pyrometer, then look at plug, cable and instrument',
    electric: 'go to the kiln with the hand pyrometer, then look at plug, cable and instrument',
  },
  timeToAct: 'as long as the kiln would have been well unwatched; nobody knows',
  priority: 'now',
  judge,
  afterwards: (_told, lastedS) => wording.silenceWas(lastedS),
};

/** While another couple of the kiln speaks, a few lost words of one are no silence. From memory. */
const ONE_OF_SEVERAL_S = 40;

function isAnotherHeard(view: View, silent: SensorTrack): boolean {
  return view.sensors.some(
    (s) =>
      s.name !== silent.name && s.last !== null && secondsBetween(s.last.atMs, view.nowMs) <= silentAfterS(view, s),
  );
}

function judge(view: View): Opinion {
  const silent = view.sensors.filter((s) => {
    const watch = view.watches[s.name];
    // A sensor that speaks nonsense, or what nobody believes yet, is not silent.
    const isInDoubt = watch !== undefined && (watch.health.fault !== null || s.leapt !== null);
    const spokenMs = isInDoubt ? watch.spokenAtMs : 0;
    const sinceMs = Math.max(s.last?.atMs ?? view.startedAtMs, spokenMs);
    const silentS = secondsBetween(sinceMs, view.nowMs);
    const patienceS = silentAfterS(view, s);
    return silentS > patienceS && (silentS > Math.max(ONE_OF_SEVERAL_S, 2 * patienceS) || !isAnotherHeard(view, s));
  });
  const worst = silent.find((s) => s.name === view.ruling?.name) ?? silent[0];
  if (worst === undefined) return undefined;
  const isRuling = worst.name === view.ruling?.name;
  const seconds = secondsBetween(worst.last?.atMs ?? view.startedAtMs, view.nowMs);
  const sensorWord = view.sensors.length > 1 && silent.length < view.sensors.length ? ` of ${worst.name}` : '';
  const why = view.lostInputs[0]?.sentence ?? null;
  const isCooling = view.track !== null && view.segment === null;
  const lastAt = worst.last === null ? null : timeOfDay(worst.last.atMs, view.kiln.utcOffsetMinutes);
  return {
    phase: 'happening',
    priority: isRuling ? (isCooling ? 'soon' : 'now') : 'note',
    sensor: worst.name,
    ...(isRuling && { explains: EXPLAINS }),
    message: isCooling ? wording.silenceCooling(seconds, sensorWord) : wording.silence(seconds, sensorWord),
    because: wording.silenceBecause(worst.last?.celsius ?? null, lastAt, why),
  };
}
