/** Firings of other days, made up but whole: rows, details and curves. */

import type { ActEvent, AlertEvent, GapEvent } from '../../daemon/core/events.ts';
import { peakC, type Schedule } from '../../daemon/core/plan/schedule.ts';
import { alertStatistics } from '../../daemon/core/report/alert-statistics.ts';
import type { Curve, CurvePoint, FiringDetail } from '../../daemon/wire/live-messages.ts';
import { enamel, layOut, planLine, plannedC, silverStain, traceAndMatt } from './scripted-curve.ts';
import { celsiusAt, type ScriptedFiring, type ScriptedKiln, startC, type Turn } from './scripted-kiln.ts';

export interface ScriptedPast {
  readonly kiln: ScriptedKiln;
  readonly detail: FiringDetail;
}

const dayMs = 86_400_000;
const minuteMs = 60_000;

export function pastFirings(kilns: readonly ScriptedKiln[], nowMs: number): readonly ScriptedPast[] {
  const [gas, electric] = kilns;
  if (gas === undefined) return [];
  return [
    past(gas, traceAndMatt, nowMs - 2 * dayMs, 'saved'),
    past(electric ?? gas, enamel, nowMs - 3 * dayMs, 'quiet'),
    past(gas, traceAndMatt, nowMs - 6 * dayMs, 'gap'),
    past(electric ?? gas, silverStain, nowMs - 9 * dayMs, 'quiet'),
  ];
}

function past(
  kiln: ScriptedKiln,
  schedule: Schedule,
  startedAtMs: number,
  story: 'quiet' | 'saved' | 'gap',
): ScriptedPast {
  const spans = layOut(schedule, startC);
  const endS = spans.at(-1)?.toS ?? 0;
  const endedAtMs = Math.round(startedAtMs + endS * 1000);
  const id = firingId(startedAtMs, kiln.id);
  const firing: ScriptedFiring = { id, startedAtMs, schedule };
  const hold = spans.find((span) => schedule.segments[span.segment]?.kind === 'hold');
  const holdAtMs = Math.round(startedAtMs + (hold?.fromS ?? 0) * 1000);
  const alertList: AlertEvent[] = story === 'saved' ? [averted(kiln, schedule, holdAtMs)] : [];
  const acts: ActEvent[] =
    story === 'quiet'
      ? []
      : [act(holdAtMs - 10 * minuteMs, 'valve', 'mark 3', 648), act(holdAtMs, 'gloss seen', undefined, 661)];
  const gaps: GapEvent[] =
    story === 'gap'
      ? [{ type: 'gap', fromMs: holdAtMs - 40 * minuteMs, atMs: holdAtMs - 25 * minuteMs, why: 'the daemon was away' }]
      : [];
  const curve = curveOf(kiln, firing, startedAtMs, endedAtMs, 60, { acts, alerts: alertList, gaps });
  const detail: FiringDetail = {
    id,
    kiln: kiln.id,
    kilnName: kiln.name,
    rulingSensor: kiln.sensors[0] ?? '',
    scheduleName: schedule.name,
    startedAtMs,
    endedAtMs,
    peakC: Object.fromEntries(
      kiln.sensors.map((sensor, couple) => [sensor, Math.round(peakC(schedule) * (1 - couple * 0.012)) + 3]),
    ),
    readings: Math.round((endS / 5) * kiln.sensors.length),
    alerts: Object.fromEntries(alertList.map((alert) => [alert.alert, 1])),
    sketch: (curve.sensors[kiln.sensors[0] ?? ''] ?? []).flat().slice(0, 60),
    simulated: false,
    utcOffsetMinutes: 60,
    schedule,
    holds: schedule.segments.flatMap((segment, index) =>
      segment.kind === 'hold'
        ? [
            {
              segment: index,
              plannedMinutes: segment.minutes,
              inBandMinutes: Math.round((segment.minutes - 0.7) * 10) / 10,
            },
          ]
        : [],
    ),
    alertList,
    alertStatistics: alertStatistics(alertList, startedAtMs, endedAtMs),
    acts,
    notes:
      story === 'saved'
        ? [
            {
              atMs: endedAtMs + 9 * 60 * minuteMs,
              by: 'Hanna',
              text: 'Even gloss, matt a little thin at the left edge.',
            },
          ]
        : [],
    list: null,
    gaps,
    corrections: [],
    signOffs: [],
    actLines: [],
    figures: null,
    lines: Math.round((endS / 5) * kiln.sensors.length) + 212,
    head: 'c3ab8ff13720e8ad9047dd39466b3c8974e592c2fa383d4a3960714caef0c4f2',
  };
  return { kiln, detail };
}

export function firingId(startedAtMs: number, kiln: string): string {
  return `${new Date(startedAtMs).toISOString().slice(0, 19).replaceAll(':', '')}-${kiln}`;
}

function averted(kiln: ScriptedKiln, schedule: Schedule, holdAtMs: number): AlertEvent {
  const forecastC = peakC(schedule) + 12;
  return {
    type: 'alert',
    atMs: holdAtMs - 5 * minuteMs,
    id: `${kiln.id}-overshoot-${holdAtMs}`,
    alert: 'overshoot',
    phase: 'over',
    priority: 'soon',
    life: 'gone',
    sinceMs: holdAtMs - 12 * minuteMs,
    leadS: 720,
    forecast: forecastC,
    message: `${kiln.name}: was heading for ${forecastC}. Turned down in time.`,
    because: `It climbed 2 °C a minute at 648; the hold wants ${peakC(schedule)} ± ${schedule.toleranceC ?? 5}.`,
    seenBy: 'Hanna',
  };
}

function act(atMs: number, what: string, value: string | undefined, celsius: number): ActEvent {
  return { type: 'act', atMs, by: 'Hanna', deed: 'act', what, ...(value === undefined ? {} : { value }), celsius };
}

/** Evenly spaced points, broken at gaps; never more than asked for. */
export function curveOf(
  kiln: ScriptedKiln,
  firing: ScriptedFiring & { readonly turn?: Turn | null },
  fromMs: number,
  toMs: number,
  points: number,
  events: Pick<Curve, 'acts' | 'alerts' | 'gaps'>,
): Curve {
  const stepMs = Math.max(5000, (toMs - fromMs) / Math.max(1, points - 1));
  const sensors = Object.fromEntries(
    kiln.sensors.map((sensor, couple) => {
      const stretches: CurvePoint[][] = [[]];
      for (let atMs = fromMs; atMs <= toMs; atMs += stepMs) {
        const isLost = events.gaps.some((gap) => atMs > gap.fromMs && atMs < gap.atMs);
        if (!isLost) stretches.at(-1)?.push([Math.round(atMs), celsiusAt(firing, couple, atMs, firing.turn ?? null)]);
        else if (stretches.at(-1)?.length !== 0) stretches.push([]);
      }
      return [sensor, stretches.filter((stretch) => stretch.length > 0)];
    }),
  );
  const spans = firing.schedule === null ? [] : layOut(firing.schedule, startC);
  const plan = planLine(spans, firing.startedAtMs).map((point) => ({
    ...point,
    celsius: Math.round(plannedC(spans, (point.atMs - firing.startedAtMs) / 1000)),
  }));
  return { fromMs, toMs, sensors, plan, toleranceC: firing.schedule?.toleranceC ?? 5, ...events };
}
