/** The units that core counts in, and every conversion between them. */

export const MS_PER_S = 1000;
export const S_PER_MIN = 60;
export const MIN_PER_H = 60;
export const S_PER_H = 3600;
export const MS_PER_MIN = 60_000;

export function secondsBetween(fromMs: number, toMs: number): number {
  return (toMs - fromMs) / MS_PER_S;
}

/** °C/s to °C/h. */
export function perHour(ratePerS: number): number {
  return ratePerS * S_PER_H;
}

/** °C/h to °C/s. */
export function perSecond(rateCPerH: number): number {
  return rateCPerH / S_PER_H;
}

/** °C/h to °C/min, as the workshop says it. */
export function perMinute(rateCPerH: number): number {
  return rateCPerH / MIN_PER_H;
}

export function clamp(value: number, low: number, high: number): number {
  return Math.min(Math.max(value, low), high);
}
