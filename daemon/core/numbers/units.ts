/** The units that core counts in, and every conversion between them. */

export const MS_PER_S = 1000;
export const S_PER_MIN = 60;
export const MIN_PER_H = 60;
export const S_PER_H = 3600;
export const MS_PER_MIN = 60_000;
export const S_PER_DAY = 86_400;

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

/** 0 °C in kelvin. Exact, by the definition of the degree Celsius. */
const ZERO_C_IN_K = 273.15;
/** 0 °C on the Fahrenheit scale, and a Fahrenheit degree in °C. Exact. */
const ZERO_C_IN_F = 32;
const C_PER_F = 5 / 9;

/** A temperature in degrees Fahrenheit as °C. */
export function celsiusFromF(temperatureF: number): number {
  return (temperatureF - ZERO_C_IN_F) * C_PER_F;
}

/** A difference of temperatures, or an instrument's step, in Fahrenheit degrees as °C. */
export function deltaCFromF(deltaF: number): number {
  return deltaF * C_PER_F;
}

/** A temperature in kelvin as °C. */
export function celsiusFromK(temperatureK: number): number {
  return temperatureK - ZERO_C_IN_K;
}

export function clamp(value: number, low: number, high: number): number {
  return Math.min(Math.max(value, low), high);
}
