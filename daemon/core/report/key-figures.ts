/** A firing in the figures that a painter, or whoever inherits the glass, asks for. All come from what was recorded. */
import type { AlertEvent, AlertKind, FiringEvent, GapEvent, SampleEvent } from '../events.ts';
import { secondsBetween } from '../numbers/units.ts';

/** Nothing is said here of the glass itself: nobody sees a crack from outside. */
export interface KeyFigures {
  readonly peaks: readonly PeakFigure[];
  readonly bands: readonly BandFigure[];
  /** Time of the ruling sensor above some temperatures, gaps not counted. */
  readonly above: readonly { readonly celsius: number; readonly minutes: number }[];
  /** When the ruling sensor had first fallen to what may be opened at, after its peak. */
  readonly couldOpenAtMs: number | null;
  /** When it was opened after its peak, by its switch or by what the hand logged; null where nobody knows. */
  readonly openedAtMs: number | null;
  readonly openedAtC: number | null;
  readonly calls: readonly CallFigure[];
  readonly gapMinutes: number;
}

export interface PeakFigure {
  readonly sensor: string;
  readonly celsius: number;
  readonly atMs: number;
  /** Expanded (k = 2) where the couple's budget is known; else the tolerance of its class. */
  readonly uncertaintyC: number | null;
}

/** The steepest five minutes between two temperatures; null where it did not heat, or cool, there for so long. */
export interface BandFigure {
  readonly fromC: number;
  readonly toC: number;
  readonly heatCPerH: number | null;
  readonly coolCPerH: number | null;
}

/** An alert that called, and how long it was until somebody said that it was seen. */
export interface CallFigure {
  readonly id: string;
  readonly alert: AlertKind;
  readonly calledAtMs: number;
  readonly seenAtMs: number | null;
  readonly seenBy: string | null;
}

/**
 * From 100 to 450 °C the medium governs the climb, above it the glass; slow time above 560 °C harms. Common practice of
 * the workshop, no source.
 */
const BANDS: readonly (readonly [fromC: number, toC: number])[] = [
  [20, 100],
  [100, 300],
  [300, 450],
  [450, 560],
  [560, 1400],
];
const ABOVE_C = [500, 560];
/** Shorter stretches tell of the noise and not of the kiln. Our choice. */
const STRETCH_MS = 5 * 60_000;
/** A pause longer than this breaks a stretch; it is the one that breaks the drawn curve. */
const BREAK_MS = 60_000;
const OPENED = /\b(opened|open|cracked|crack|unloaded|unload)\b.*|\b(lid|door)\b.*\b(open|opened|cracked)\b/i;

export interface FiguresParts {
  readonly rulingSensor: string;
  /** What the kiln may be opened at. */
  readonly openBelowC: number;
}

/** @param events all that was said of the firing, in order */
export function keyFigures(events: Iterable<FiringEvent>, { rulingSensor, openBelowC }: FiguresParts): KeyFigures {
  const ruling: SampleEvent[] = [];
  const peaks = new Map<string, SampleEvent>();
  const calls = new Map<string, CallFigure>();
  const openings: { readonly atMs: number }[] = [];
  const gaps: GapEvent[] = [];
  for (const event of events) {
    switch (event.type) {
      case 'reading':
        if (event.quality !== 'good' || event.celsius === null) break;
        if (event.sensor === rulingSensor) ruling.push(event);
        if (event.celsius > (peaks.get(event.sensor)?.celsius ?? Number.NEGATIVE_INFINITY))
          peaks.set(event.sensor, event);
        break;
      case 'alert':
        noteCall(calls, event);
        break;
      case 'gap':
        gaps.push(event);
        break;
      case 'lid':
        if (event.open) openings.push(event);
        break;
      case 'act':
        if (event.deed === 'act' && OPENED.test(`${event.what} ${event.value ?? ''}`)) openings.push(event);
        break;
      default:
        break;
    }
  }
  const peakAtMs = peaks.get(rulingSensor)?.atMs ?? Number.POSITIVE_INFINITY;
  const fall = ruling.filter(({ atMs }) => atMs > peakAtMs);
  const opened = openings.filter(({ atMs }) => atMs > peakAtMs).sort((a, b) => a.atMs - b.atMs)[0] ?? null;
  return {
    peaks: [...peaks.values()].map(({ sensor, celsius, atMs, uncertaintyC }) => ({
      sensor,
      celsius: celsius ?? 0,
      atMs,
      uncertaintyC,
    })),
    bands: bandsOf(ruling),
    above: ABOVE_C.map((celsius) => ({ celsius, minutes: Math.round(secondsAbove(ruling, celsius) / 6) / 10 })),
    couldOpenAtMs: fall.find(({ celsius }) => (celsius ?? 0) <= openBelowC)?.atMs ?? null,
    openedAtMs: opened?.atMs ?? null,
    openedAtC: opened === null ? null : celsiusAt(ruling, opened.atMs),
    calls: [...calls.values()],
    gapMinutes: Math.round(gaps.reduce((sum, gap) => sum + secondsBetween(gap.fromMs, gap.atMs), 0) / 6) / 10,
  };
}

function noteCall(calls: Map<string, CallFigure>, event: AlertEvent): void {
  const known = calls.get(event.id);
  if (known === undefined) {
    // What is listed under another alert had no sound of its own.
    if (event.life !== 'calling' || event.heldBackBy !== undefined) return;
    calls.set(event.id, { id: event.id, alert: event.alert, calledAtMs: event.atMs, seenAtMs: null, seenBy: null });
  } else if (event.seenBy !== undefined && known.seenAtMs === null) {
    calls.set(event.id, { ...known, seenAtMs: event.atMs, seenBy: event.seenBy });
  }
}

/** Over each pair of readings some five minutes apart with no break between them: the steepest by the band of their middle. */
function bandsOf(ruling: readonly SampleEvent[]): BandFigure[] {
  const steepest = BANDS.map(([fromC, toC]) => ({
    fromC,
    toC,
    heat: null as number | null,
    cool: null as number | null,
  }));
  let from = 0;
  let unbrokenFrom = 0;
  for (const [i, now] of ruling.entries()) {
    if (i > 0 && now.atMs - (ruling[i - 1]?.atMs ?? 0) > BREAK_MS) unbrokenFrom = i;
    from = Math.max(from, unbrokenFrom);
    while ((ruling[from + 1]?.atMs ?? Number.POSITIVE_INFINITY) <= now.atMs - STRETCH_MS) from += 1;
    const then = ruling[from];
    if (then === undefined || now.atMs - then.atMs < STRETCH_MS) continue;
    const riseC = (now.celsius ?? 0) - (then.celsius ?? 0);
    const middleC = ((now.celsius ?? 0) + (then.celsius ?? 0)) / 2;
    const band = steepest.find(({ fromC, toC }) => middleC >= fromC && middleC < toC);
    if (band === undefined) continue;
    const rateCPerH = (riseC * 3600) / secondsBetween(then.atMs, now.atMs);
    if (rateCPerH > Math.max(band.heat ?? 0, 0)) band.heat = rateCPerH;
    if (-rateCPerH > Math.max(band.cool ?? 0, 0)) band.cool = -rateCPerH;
  }
  return steepest.map(({ fromC, toC, heat, cool }) => ({
    fromC,
    toC,
    heatCPerH: heat === null ? null : Math.round(heat),
    coolCPerH: cool === null ? null : Math.round(cool),
  }));
}

/** By straight lines between readings; a pause that breaks the curve counts for nothing. */
function secondsAbove(ruling: readonly SampleEvent[], limitC: number): number {
  let seconds = 0;
  for (let i = 1; i < ruling.length; i++) {
    const a = ruling[i - 1];
    const b = ruling[i];
    if (a === undefined || b === undefined || b.atMs - a.atMs > BREAK_MS) continue;
    const [low, high] = [Math.min(a.celsius ?? 0, b.celsius ?? 0), Math.max(a.celsius ?? 0, b.celsius ?? 0)];
    const share = high <= limitC ? 0 : low >= limitC ? 1 : (high - limitC) / (high - low);
    seconds += share * secondsBetween(a.atMs, b.atMs);
  }
  return seconds;
}

function celsiusAt(ruling: readonly SampleEvent[], atMs: number): number | null {
  return ruling.findLast((reading) => reading.atMs <= atMs)?.celsius ?? null;
}
