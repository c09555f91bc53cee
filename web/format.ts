/** Numbers and times as the page writes them. Times are those of the clock on the workshop's wall. */

import { shownDegrees, shownDifference, unit } from './unit.ts';
import { motion } from './wording.ts';

const MONTHS = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'];
const MINUTE_MS = 60_000;
const DAY_MS = 24 * 60 * MINUTE_MS;

function two(n: number): string {
  return String(n).padStart(2, '0');
}

/** The wall's time as a Date whose UTC fields are to be read: the browser's own zone plays no part. */
function onTheWall(atMs: number, utcOffsetMinutes: number): Date {
  return new Date(atMs + utcOffsetMinutes * MINUTE_MS);
}

/** "14:20" */
export function timeOfDay(atMs: number, utcOffsetMinutes: number): string {
  const wall = onTheWall(atMs, utcOffsetMinutes);
  return `${two(wall.getUTCHours())}:${two(wall.getUTCMinutes())}`;
}

/** "25 Nov 2026" */
export function dateOf(atMs: number, utcOffsetMinutes: number): string {
  const wall = onTheWall(atMs, utcOffsetMinutes);
  return `${wall.getUTCDate()} ${MONTHS[wall.getUTCMonth()] ?? ''} ${wall.getUTCFullYear()}`;
}

/** "14:20", or "26 Nov 02:10" on another day than `nowMs`. */
export function timeNear(atMs: number, nowMs: number, utcOffsetMinutes: number): string {
  const time = timeOfDay(atMs, utcOffsetMinutes);
  const day = dateOf(atMs, utcOffsetMinutes);
  return day === dateOf(nowMs, utcOffsetMinutes) ? time : `${day.slice(0, -5)} ${time}`;
}

/** Whole degrees as this screen shows them, without a unit, a true minus sign below nought. */
export function degrees(celsius: number): string {
  const whole = Math.round(shownDegrees(celsius));
  return whole < 0 ? `−${-whole}` : String(whole === 0 ? 0 : whole);
}

/** "660 °C", or "1220 °F" where that was chosen. */
export function celsius(value: number): string {
  return `${degrees(value)} °${unit()}`;
}

/** "as planned", "3 °C over", "12 °C under" */
export function deviation(deltaC: number): string {
  const whole = Math.round(shownDifference(Math.abs(deltaC)));
  if (whole === 0) return motion.asPlanned;
  return `${whole} °${unit()} ${deltaC > 0 ? motion.over : motion.under}`;
}

/** A rate with its direction in a word; under 6 °C/h nobody sees it move. */
export function rate(cPerH: number): string {
  if (Math.abs(cPerH) < 6) return motion.steady;
  const whole = Math.round(shownDifference(Math.abs(cPerH)));
  return `${cPerH > 0 ? motion.climbing : motion.falling} ${whole} °${unit()}/h`;
}

/** "42 s", "6 min", "2 h 05 min" */
export function duration(seconds: number): string {
  const s = Math.max(0, Math.floor(seconds));
  if (s < 90) return `${s} s`;
  const minutes = Math.round(s / 60);
  if (minutes < 100) return `${minutes} min`;
  return `${Math.floor(minutes / 60)} h ${two(minutes % 60)} min`;
}

/** Whole minutes of a hold: "6 of 15 min". Done minutes are floored, so that 15 of 15 is truly done. */
export function minutesOf(doneS: number, plannedS: number): string {
  return `${Math.floor(doneS / 60)} of ${Math.round(plannedS / 60)} min`;
}

const TICK_STEPS_MINUTES = [1, 2, 5, 10, 15, 30, 60, 120, 180, 360, 720, 1440];

/** Instants for the time axis, at round times of the wall's clock, at most `most` of them. */
export function timeTicks(fromMs: number, toMs: number, utcOffsetMinutes: number, most: number): number[] {
  const spanMinutes = (toMs - fromMs) / MINUTE_MS;
  const days = Math.max(1, Math.ceil(spanMinutes / 1440 / most));
  const stepMinutes = TICK_STEPS_MINUTES.find((step) => spanMinutes / step <= most) ?? 1440 * days;
  const stepMs = stepMinutes * MINUTE_MS;
  const shiftMs = utcOffsetMinutes * MINUTE_MS;
  const ticks: number[] = [];
  for (let wall = Math.ceil((fromMs + shiftMs) / stepMs) * stepMs; wall <= toMs + shiftMs; wall += stepMs) {
    ticks.push(wall - shiftMs);
  }
  return ticks;
}

/** The label of a tick: the time, or the date where midnight falls. */
export function tickLabel(atMs: number, utcOffsetMinutes: number): string {
  const atMidnight = (atMs + utcOffsetMinutes * MINUTE_MS) % DAY_MS === 0;
  return atMidnight ? dateOf(atMs, utcOffsetMinutes).slice(0, -5) : timeOfDay(atMs, utcOffsetMinutes);
}

/** "UTC+1", "UTC+5:30" */
export function zoneName(utcOffsetMinutes: number): string {
  const minutes = Math.abs(utcOffsetMinutes) % 60;
  const hours = Math.floor(Math.abs(utcOffsetMinutes) / 60);
  return `UTC${utcOffsetMinutes < 0 ? '−' : '+'}${hours}${minutes === 0 ? '' : `:${String(minutes).padStart(2, '0')}`}`;
}
