/**
 * What was told a little earlier. The end of one trouble bends the way of the temperature as its beginning did, the other
 * way round: who turns off what ran too hot sees a fall, who lights again what had gone out sees a leap. Rules ask here, so
 * that a remedy is not taken for a second trouble.
 */
import type { AlertKind } from '../events.ts';
import { secondsBetween } from '../numbers/units.ts';
import { isKeyOf } from './alert.ts';
import type { View } from './rule.ts';

/** Its remedy is that heat is taken away. */
export const TOO_MUCH_HEAT: readonly AlertKind[] = ['uncontrolled-heat', 'overshoot', 'heating-too-fast', 'hold-long'];
/** Their remedy brings heat back, or keeps cold air out. */
export const TOO_LITTLE_HEAT: readonly AlertKind[] = ['heat-lost', 'stalled-ramp', 'lid-open-hot', 'hold-short'];
/** While one of these stands nobody can steer by the couple: what is lost by it is told with it. */
export const NOT_BELIEVED: readonly AlertKind[] = ['sensor-fault', 'sensors-disagree', 'silence', 'clock-trouble'];
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
  for (const [key, atMs] of Object.entries(overAtMs)) {
    if (atMs > lastMs && kinds.some((kind) => isKeyOf(kind, key))) lastMs = atMs;
  }
  return secondsBetween(lastMs, nowMs);
}
