/** What the curve shows, in the firing's time and degrees, before anything is drawn. */

import type { Curve, FiringDetail } from '../daemon/wire/live-messages.ts';
import { wordOfAlert } from './alert-word.ts';
import type { KilnView } from './dashboard-state.ts';
import { drawnActs, handReadingC, type StandingAct } from './standing-acts.ts';
import { type Trace, traceOfPieces } from './trace.ts';
import type { AlertEvent, ForecastPoint, GapEvent, Heat, PlanPoint, Schedule } from './wire-types.ts';

export interface TraceView {
  readonly name: string;
  readonly isRuling: boolean;
  readonly points: Trace;
}

export interface Place {
  readonly atMs: number;
  readonly celsius: number;
}

export interface Expected extends Place {
  /** Of a standing warning: where its way begins, so that the curve shows what the sentence says. */
  readonly from: Place | null;
}

export interface HoldView {
  readonly fromMs: number;
  readonly toMs: number;
  readonly celsius: number;
  readonly plannedMinutes: number;
  /** Null for a hold that is not on now, or of which only the plan is known. */
  readonly doneMinutes: number | null;
}

export interface AlertMark {
  readonly atMs: number;
  readonly priority: AlertEvent['priority'];
  readonly word: string;
}

export interface CurveView {
  readonly traces: readonly TraceView[];
  readonly plan: readonly PlanPoint[];
  readonly toleranceC: number;
  readonly forecast: readonly ForecastPoint[];
  /** The hottest to come if nothing is done. */
  readonly expected: Expected | null;
  readonly holds: readonly HoldView[];
  readonly acts: readonly StandingAct[];
  readonly gaps: readonly GapEvent[];
  readonly alerts: readonly AlertMark[];
  /** Null for a firing that is over. */
  readonly nowMs: number | null;
  /** False while the page is not live: then the upright line says when it last heard. */
  readonly isLive: boolean;
  readonly utcOffsetMinutes: number;
  readonly fromMs: number;
  readonly toMs: number;
  readonly lowC: number;
  readonly highC: number;
}

const MINUTE_MS = 60_000;
/** Near now: what happened in the last half hour, and as far as a forecast carries. */
const NEAR_BACK_MS = 40 * MINUTE_MS;
const NEAR_AHEAD_MS = 35 * MINUTE_MS;

export type Reach = 'whole' | 'near';

/** Where each hold of the schedule lies on the plan line, as far as the line reaches. */
export function holdsOf(plan: readonly PlanPoint[], schedule: Schedule | null, now: HoldNow | null): HoldView[] {
  return (schedule?.segments ?? []).flatMap((segment, index) => {
    const end = plan.findLastIndex((corner) => corner.segment === index);
    const from = plan[plan.findIndex((corner) => corner.segment === index) - 1];
    const to = plan[end];
    if (segment.kind !== 'hold' || from === undefined || to === undefined) return [];
    const doneMinutes = now?.segment === index ? Math.floor(now.doneS / 60) : null;
    const span = { fromMs: from.atMs, toMs: to.atMs, celsius: to.celsius };
    return [{ ...span, plannedMinutes: segment.minutes, doneMinutes }];
  });
}

export interface HoldNow {
  readonly segment: number;
  readonly doneS: number;
}

export interface WatchMoment {
  readonly nowMs: number;
  readonly utcOffsetMinutes: number;
  readonly reach: Reach;
  readonly isLive: boolean;
}

export function curveOfWatch(view: KilnView, { nowMs, utcOffsetMinutes, reach, isLive }: WatchMoment): CurveView {
  const { now, history } = view;
  const plan = now.position?.planLine ?? [];
  const { position, forecast } = now;
  const hold =
    position?.segment != null && position.holdDoneS !== null
      ? { segment: position.segment, doneS: position.holdDoneS }
      : null;
  const ahead = (forecast?.points ?? []).filter((point) => point.atMs >= nowMs - MINUTE_MS);
  const startMs = Math.min(now.firing?.startedAtMs ?? nowMs, nowMs);
  const isNear = reach === 'near';
  const lastMs = Math.max(nowMs + 15 * MINUTE_MS, ahead.at(-1)?.atMs ?? 0, plan.at(-1)?.atMs ?? 0);
  const fromMs = isNear ? Math.max(startMs, nowMs - NEAR_BACK_MS) : startMs;
  return framed({
    traces: tracesOf(history.traces, now.sensors, now.rulingSensor, fromMs),
    plan,
    toleranceC: now.toleranceC,
    forecast: ahead,
    expected: warnedOf(now, nowMs) ?? expectedOf(forecast, nowMs),
    holds: holdsOf(plan, now.firing?.schedule ?? null, hold),
    acts: drawnActs(history.acts),
    gaps: history.gaps,
    alerts: now.alerts.map((alert) => markOf(alert, now.heat)),
    nowMs,
    isLive,
    utcOffsetMinutes,
    fromMs,
    toMs: isNear ? nowMs + NEAR_AHEAD_MS : lastMs,
  });
}

function warnedOf({ alerts, rulingSensor, readings }: KilnView['now'], nowMs: number): Expected | null {
  const warning = alerts.find(
    ({ alert, phase, sensor }) => alert === 'overshoot' && phase === 'foreseen' && sensor === rulingSensor,
  );
  const { forecast, forecastAtMs } = warning ?? {};
  const celsius = readings.find(({ sensor }) => sensor === rulingSensor)?.celsius ?? null;
  if (forecast === undefined || forecastAtMs === undefined || forecastAtMs <= nowMs || celsius === null) return null;
  return { atMs: forecastAtMs, celsius: forecast, from: { atMs: nowMs, celsius } };
}

function expectedOf(forecast: KilnView['now']['forecast'], nowMs: number): CurveView['expected'] {
  if (forecast?.expectedPeakC == null || forecast.expectedPeakAtMs === null) return null;
  return forecast.expectedPeakAtMs > nowMs
    ? { atMs: forecast.expectedPeakAtMs, celsius: forecast.expectedPeakC, from: null }
    : null;
}

function markOf(alert: AlertEvent, heat: Heat | null): AlertMark {
  return { atMs: alert.sinceMs, priority: alert.priority, word: wordOfAlert(alert, heat) };
}

/** @param heat of its kiln; null where that is not known any more */
export function curveOfPast(
  detail: FiringDetail,
  curve: Curve,
  utcOffsetMinutes: number,
  heat: Heat | null = null,
): CurveView {
  const sensors = Object.keys(curve.sensors);
  const traces = Object.fromEntries(sensors.map((name) => [name, traceOfPieces(curve.sensors[name] ?? [])]));
  return framed({
    traces: tracesOf(traces, sensors, detail.rulingSensor, curve.fromMs),
    plan: curve.plan,
    toleranceC: curve.toleranceC,
    forecast: [],
    expected: null,
    holds: holdsOf(curve.plan, detail.schedule, null),
    acts: drawnActs(curve.acts),
    gaps: curve.gaps,
    alerts: detail.alertList.map((alert) => markOf(alert, heat)),
    nowMs: null,
    isLive: true,
    utcOffsetMinutes,
    fromMs: curve.fromMs,
    toMs: Math.max(curve.toMs, curve.fromMs + 10 * MINUTE_MS),
  });
}

function tracesOf(
  traces: KilnView['history']['traces'],
  sensors: readonly string[],
  ruling: string,
  fromMs: number,
): TraceView[] {
  return [...sensors]
    .sort((a, b) => Number(b === ruling) - Number(a === ruling))
    .map((name) => ({ name, isRuling: name === ruling, points: shownFrom(traces[name] ?? [], fromMs) }));
}

/** What lies before the curve's left edge is not drawn, but for the one point from which the line comes in. */
function shownFrom(points: Trace, fromMs: number): Trace {
  const first = points.findIndex(({ atMs }) => atMs >= fromMs);
  return first <= 1 ? points : points.slice(first - 1);
}

/** So much of a forecast's band is always shown. Ours. */
const LEAST_BAND_C = 40;

/** Fits the vertical axis to what lies within the time shown, on round degrees. */
function framed(view: Omit<CurveView, 'lowC' | 'highC'>): CurveView {
  const seen: number[] = [];
  const isWithin = (atMs: number): boolean => atMs >= view.fromMs && atMs <= view.toMs;
  for (const { points } of view.traces)
    for (const { atMs, celsius } of points) if (celsius !== null && isWithin(atMs)) seen.push(celsius);
  for (const act of view.acts) {
    const byHandC = handReadingC(act);
    if (byHandC !== null && isWithin(act.atMs)) seen.push(byHandC);
  }
  for (const atMs of [view.fromMs, view.toMs, ...view.plan.map((point) => point.atMs).filter(isWithin)]) {
    const celsius = plannedAt(view.plan, atMs);
    if (celsius !== null) seen.push(celsius + view.toleranceC, celsius - view.toleranceC);
  }
  if (view.expected?.from != null && isWithin(view.expected.atMs)) seen.push(view.expected.celsius);
  if (seen.length > 0) {
    // A forecast that is unsure of itself, or falls away once the gas is off, must not press flat what is measured and
    // planned: it is cut where it leaves the sheet.
    const [lowestC, highestC] = [Math.min(...seen), Math.max(...seen)];
    const moreC = Math.max(LEAST_BAND_C, (highestC - lowestC) / 2);
    for (const { atMs, lowC, highC } of view.forecast)
      if (isWithin(atMs)) seen.push(Math.max(lowC, lowestC - moreC), Math.min(highC, highestC + moreC));
  }
  const least = seen.length === 0 ? 0 : Math.min(...seen);
  const most = seen.length === 0 ? 100 : Math.max(...seen);
  const span = Math.max(20, most - least);
  // Rounding outwards may ask for a wider step: the axis begins and ends on one of its own lines.
  for (let step = roundStep(span); ; ) {
    // A curve that begins near the room's temperature begins at nought: the eye expects it.
    const lowC = least < 60 && span > 60 ? 0 : Math.floor((least - span * 0.06) / step) * step;
    const highC = Math.ceil((most + span * 0.08) / step) * step;
    const wider = roundStep(highC - lowC);
    if (wider <= step) return { ...view, lowC, highC };
    step = wider;
  }
}

/** A round distance for five to seven lines over `spanC`. */
export function roundStep(spanC: number): number {
  return [5, 10, 20, 25, 50, 100, 200, 250].find((step) => spanC / step <= 7) ?? 500;
}

/** What the plan wants at an instant; null outside it. */
export function plannedAt(plan: readonly PlanPoint[], atMs: number): number | null {
  for (let i = 1; i < plan.length; i++) {
    const a = plan[i - 1];
    const b = plan[i];
    if (a === undefined || b === undefined || atMs < a.atMs || atMs > b.atMs) continue;
    return b.atMs === a.atMs ? b.celsius : a.celsius + ((b.celsius - a.celsius) * (atMs - a.atMs)) / (b.atMs - a.atMs);
  }
  return null;
}
