/** One made-up kiln at one instant: readings, place on the plan, forecast. Everything follows from the time alone. */
import type { Call, ForecastEvent, PositionEvent } from '../../daemon/core/events.ts';
import type { PlannedAct, Schedule } from '../../daemon/core/plan/schedule.ts';
import { layOut, measuredC, passesAtS, planLine, plannedC, type Span, spanAt } from './scripted-curve.ts';

export interface ScriptedKiln {
  readonly id: string;
  readonly name: string;
  readonly heat: 'gas' | 'electric';
  readonly closure: 'lid' | 'door';
  readonly sensors: readonly string[];
}

export interface ScriptedFiring {
  readonly id: string;
  readonly startedAtMs: number;
  readonly schedule: Schedule | null;
}

/** What the moment adds to the curve: a climb that runs past the hold, a lid that stands open. */
export interface Turn {
  readonly fromMs: number;
  readonly kind: 'runs-over' | 'lid-open';
}

export const startC = 18;
const hourMs = 3_600_000;

export function clockTime(atMs: number, utcOffsetMinutes: number): string {
  return new Date(atMs + utcOffsetMinutes * 60_000).toISOString().slice(11, 16);
}

/** Without a plan the kiln warms all the same, at 150 °C/h up to 300 °C. */
const unplanned: Schedule = {
  name: 'no plan',
  segments: [
    { kind: 'ramp', toC: 300, rateCPerH: 150 },
    { kind: 'hold', minutes: 600 },
  ],
};

export function spansOf(firing: ScriptedFiring): readonly Span[] {
  return layOut(firing.schedule ?? unplanned, startC);
}

/** °C of one couple; the room's temperature where nothing burns. */
export function celsiusAt(firing: ScriptedFiring | null, couple: number, atMs: number, turn: Turn | null): number {
  if (firing === null) return Math.round((19 + couple * 0.6 + 0.3 * Math.sin(atMs / 60_000)) * 10) / 10;
  const plain = measuredC(spansOf(firing), (atMs - firing.startedAtMs) / 1000, couple);
  if (turn === null || atMs < turn.fromMs) return plain;
  const sinceS = (atMs - turn.fromMs) / 1000;
  if (turn.kind === 'lid-open') return Math.round((plain - 45 * (1 - Math.exp(-sinceS / 60))) * 10) / 10;
  const from = measuredC(spansOf(firing), (turn.fromMs - firing.startedAtMs) / 1000, couple);
  return Math.round((from + 24 * (1 - Math.exp(-sinceS / 360))) * 10) / 10;
}

export function positionAt(
  kiln: ScriptedKiln,
  firing: ScriptedFiring,
  atMs: number,
  turn: Turn | null,
  utcOffsetMinutes: number,
): PositionEvent {
  const spans = spansOf(firing);
  const atS = (atMs - firing.startedAtMs) / 1000;
  const celsius = celsiusAt(firing, 0, atMs, turn);
  const rateCPerH = Math.round((celsius - celsiusAt(firing, 0, atMs - 300_000, turn)) * 12);
  const nothing = { holdDoneS: null, holdInBandS: null, holdS: null, segmentEndsAtMs: null };
  const { schedule } = firing;
  if (schedule === null) {
    return {
      type: 'position',
      atMs,
      sentence: `${kiln.name}: warming with no plan, ${Math.round(celsius)} °C. Choose the plan.`,
      segment: null,
      segmentName: 'no plan',
      plannedC: null,
      deviationC: null,
      rateCPerH,
      ...nothing,
      planEndsAtMs: null,
      crackAtMs: null,
      unloadAtMs: null,
      next: null,
      nextAtMs: null,
      calls: [],
      planLine: [],
    };
  }
  const span = spanAt(spans, atS);
  const segment = span === undefined ? undefined : schedule.segments[span.segment];
  const at = (s: number): number => Math.round(firing.startedAtMs + s * 1000);
  const calls = callsOf(schedule, spans, firing.startedAtMs, atMs, utcOffsetMinutes);
  const coming = calls.find((call) => call.state === 'coming' || call.state === 'due');
  const crackS = passesAfterPeakS(spans, schedule.safeOpenC ?? 150);
  const unloadS = passesAfterPeakS(spans, 50);
  const holdDoneS = segment?.kind === 'hold' && span !== undefined ? Math.floor(atS - span.fromS) : null;
  const segmentName = nameOf(schedule, span);
  const opening =
    crackS === null || atMs >= at(crackS) ? null : `open it at ${clockTime(at(crackS), utcOffsetMinutes)}`;
  const next =
    coming === undefined || coming.dueAtMs === null
      ? opening
      : `${coming.do} at ${clockTime(coming.dueAtMs, utcOffsetMinutes)}`;
  const holding =
    segment?.kind === 'hold' && holdDoneS !== null ? `, ${Math.floor(holdDoneS / 60)} of ${segment.minutes} min` : '';
  const planned = plannedC(spans, atS);
  return {
    type: 'position',
    atMs,
    sentence: `${kiln.name}: ${segmentName}${holding}. ${turn === null ? 'All well.' : 'Look at the alert.'}${next === null ? '' : ` Next: ${next}.`}`,
    segment: span?.segment ?? schedule.segments.length,
    segmentName,
    plannedC: Math.round(planned * 10) / 10,
    deviationC: Math.round((celsius - planned) * 10) / 10,
    rateCPerH,
    holdDoneS,
    holdInBandS: holdDoneS === null ? null : Math.max(0, holdDoneS - 40),
    holdS: segment?.kind === 'hold' ? segment.minutes * 60 : null,
    segmentEndsAtMs: span === undefined ? null : at(span.toS),
    planEndsAtMs: at(spans.at(-1)?.toS ?? 0),
    crackAtMs: crackS === null ? null : at(crackS),
    unloadAtMs: unloadS === null ? null : at(unloadS),
    next,
    nextAtMs: coming?.dueAtMs ?? (opening === null || crackS === null ? null : at(crackS)),
    calls,
    planLine: planLine(spans, firing.startedAtMs),
  };
}

function nameOf(schedule: Schedule, span: Span | undefined): string {
  const segment = span === undefined ? undefined : schedule.segments[span.segment];
  if (span === undefined || segment === undefined) return 'the plan is over';
  if (segment.kind === 'hold') return `hold at ${span.toC}`;
  if (segment.rateCPerH === 'let-fall') return `let it fall to ${segment.toC}`;
  if (segment.rateCPerH === 'flat-out') return `flat out to ${segment.toC}`;
  return `${segment.toC > span.fromC ? 'climb' : 'down'} to ${segment.toC} at ${segment.rateCPerH} °C/h`;
}

function passesAfterPeakS(spans: readonly Span[], celsius: number): number | null {
  for (const span of spans) if (span.toC < span.fromC && span.toC <= celsius) return passesAtS(span, celsius);
  return null;
}

function callsOf(
  schedule: Schedule,
  spans: readonly Span[],
  startedAtMs: number,
  atMs: number,
  utcOffsetMinutes: number,
): readonly Call[] {
  return spans.flatMap((span) =>
    (schedule.segments[span.segment]?.acts ?? []).flatMap((act, index) => {
      const dueS = dueAtS(span, act);
      if (dueS === null) return [];
      const dueAtMs = Math.round(startedAtMs + dueS * 1000);
      const callAtMs = dueAtMs - (act.callMinutes ?? 3) * 60_000;
      const state = atMs < callAtMs ? 'coming' : atMs < dueAtMs + 120_000 ? 'due' : 'passed';
      const sentence = `At ${clockTime(dueAtMs, utcOffsetMinutes)}: ${act.do}.`;
      return [{ id: `${span.segment}.${index}`, do: act.do, dueAtMs, callAtMs, state, sentence } satisfies Call];
    }),
  );
}

function dueAtS(span: Span, act: PlannedAct): number | null {
  if (act.when === 'start') return span.fromS;
  if (act.when === 'end') return span.toS;
  return passesAtS(span, act.when.atC);
}

/** Half an hour ahead, a point each minute; the band opens with the distance. */
export function forecastAt(firing: ScriptedFiring, atMs: number, turn: Turn | null): ForecastEvent {
  const spans = spansOf(firing);
  const points = Array.from({ length: 31 }, (_, minute) => {
    const thenMs = atMs + minute * 60_000;
    const celsius = celsiusAt(firing, 0, thenMs, turn);
    const halfBandC = 0.8 + 0.35 * minute;
    return {
      atMs: thenMs,
      celsius,
      lowC: Math.round((celsius - halfBandC) * 10) / 10,
      highC: Math.round((celsius + halfBandC) * 10) / 10,
    };
  });
  const hottest = points.reduce((peak, point) => (point.celsius > peak.celsius ? point : peak));
  const span = spanAt(spans, (atMs - firing.startedAtMs) / 1000);
  const climbs = span !== undefined && span.toC > span.fromC;
  return {
    type: 'forecast',
    atMs,
    points,
    expectedPeakC: hottest.celsius,
    expectedPeakAtMs: hottest.atMs,
    targetAtMs: climbs && hottest.atMs < atMs + hourMs ? Math.round(firing.startedAtMs + span.toS * 1000) : null,
  };
}
