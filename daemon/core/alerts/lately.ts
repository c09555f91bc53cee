/**
 * What was told a little earlier. The end of one trouble bends the way of the temperature as its beginning did, the other
 * way round: who turns off what ran too hot sees a fall, who lights again what had gone out sees a leap. Rules ask here, so
 * that a remedy is not taken for a second trouble.
 */
import type { AlertEvent, AlertKind } from '../events.ts';
import { secondsBetween } from '../numbers/units.ts';
import { overKey } from './alert.ts';
import type { View } from './rule.ts';

/** Its remedy is that heat is taken away. */
export const TOO_MUCH_HEAT: readonly AlertKind[] = ['uncontrolled-heat', 'overshoot', 'heating-too-fast', 'hold-long'];
/** Their remedy brings heat back, or keeps cold air out. */
export const TOO_LITTLE_HEAT: readonly AlertKind[] = ['heat-lost', 'stalled-ramp', 'lid-open-hot', 'hold-short'];
export const COLD_AIR: readonly AlertKind[] = ['lid-open-hot', 'cooling-too-fast'];

/** Whether an alert of one of these kinds stands. */
export function isTold({ standing }: Pick<View, 'standing'>, kinds: readonly AlertKind[]): boolean {
  return standing.some((a) => a.phase !== 'over' && kinds.includes(a.alert));
}

/** Seconds since an alert of one of these kinds was last told and not over: 0 while one stands, Infinity if none ever did. */
export function sinceToldS(
  { standing, overAtMs, nowMs }: Pick<View, 'standing' | 'overAtMs' | 'nowMs'>,
  kinds: readonly AlertKind[],
): number {
  if (isTold({ standing }, kinds)) return 0;
  let lastMs = Number.NEGATIVE_INFINITY;
  for (const kind of kinds) lastMs = Math.max(lastMs, overAtMs[overKey(kind, '')] ?? Number.NEGATIVE_INFINITY);
  return secondsBetween(lastMs, nowMs);
}

/**
 * Seconds since nobody could steer by the ruling couple: what is lost by that is told with it. 0 while it is so, Infinity if it
 * never was. Another couple's trouble is none of the plan's.
 */
export function sinceNotBelievedS(view: Pick<View, 'standing' | 'overAtMs' | 'nowMs' | 'ruling'>): number {
  const ruling = view.ruling?.name;
  const isIts = ({ alert, sensor }: AlertEvent): boolean =>
    (alert === 'sensor-fault' || alert === 'silence') && sensor === ruling;
  if (view.standing.some((a) => a.phase !== 'over' && isIts(a))) return 0;
  const overMs = view.overAtMs[overKey('sensor-fault', ruling ?? '')] ?? Number.NEGATIVE_INFINITY;
  return Math.min(secondsBetween(overMs, view.nowMs), sinceToldS(view, ['silence', 'clock-trouble']));
}
