/** What is drawn under and over the lines of the curve: bands, now, holds, acts of the hand, names at the lines' ends. */
import type { Chart, Plugin } from 'chart.js';
import { type CurveInk, sensorInk } from './curve-ink.ts';
import type { CurveView } from './curve-view.ts';
import { plannedAt } from './curve-view.ts';
import { hasStrip } from './deviation.ts';
import { drawStrip } from './deviation-strip.ts';
import { celsius, degrees, timeOfDay } from './format.ts';
import { actWords, handReadingC, isFollowed, type StandingAct } from './standing-acts.ts';
import { celsiusAt } from './trace.ts';
import { firings, watch } from './wording.ts';

export interface Drawn {
  readonly view: CurveView;
  readonly ink: CurveInk;
}

const FONT_PX = 13;
const LINE_PX = 16;
const MINUTE_MS = 60_000;

interface Spot {
  readonly x: number;
  readonly y: number;
}

interface Box {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

/** One sheet of paper to draw on: pixels for instants and degrees, and the places that words already took. */
interface Sheet extends Drawn {
  readonly context: CanvasRenderingContext2D;
  readonly area: Box;
  readonly taken: Box[];
  /** Points on the drawn lines, close together: words had better not lie on them. */
  readonly strokes: readonly Spot[];
  x(atMs: number): number;
  y(celsius: number): number;
}

/** `current` is read at each drawing, so that the chart need not be built anew as the firing goes on. */
export function curveDrawing(current: () => Drawn): Plugin<'line'> {
  return {
    id: 'firing',
    beforeDatasetsDraw: (chart) => onSheet(chart, current(), drawUnder),
    afterDatasetsDraw: (chart) => onSheet(chart, current(), drawOver),
    afterDraw: (chart) => {
      const { view, ink } = current();
      const { x } = chart.scales;
      if (x === undefined || !hasStrip(view)) return;
      const { left, right } = chart.chartArea;
      const place = { context: chart.ctx, left, right, bottom: chart.height };
      drawStrip({ ...place, x: (atMs) => x.getPixelForValue(atMs) }, view, ink);
    },
  };
}

/** Words are set only over the lines: under them nobody asks where the lines run. */
function onSheet(chart: Chart<'line'>, drawn: Drawn, draw: (sheet: Sheet) => void): void {
  const { x, y } = chart.scales;
  if (x === undefined || y === undefined) return;
  const context = chart.ctx;
  context.save();
  context.font = `${FONT_PX}px ${drawn.ink.font}`;
  context.textBaseline = 'middle';
  const place = {
    x: (atMs: number) => x.getPixelForValue(atMs),
    y: (value: number) => y.getPixelForValue(value),
  };
  const area = chart.chartArea;
  const strokes = draw === drawOver ? strokesOf(drawn.view, area, place) : [];
  draw({ ...drawn, ...place, context, area, taken: [], strokes });
  context.restore();
}

const STROKE_STEP_PX = 5;

function strokesOf(view: CurveView, area: Box, { x, y }: Pick<Sheet, 'x' | 'y'>): Spot[] {
  const spots: Spot[] = [];
  const follow = (points: readonly { readonly atMs: number; readonly celsius: number | null }[]): void => {
    let before: Spot | null = null;
    for (const { atMs, celsius: c } of points) {
      const here: Spot | null = c === null ? null : { x: x(atMs), y: y(c) };
      if (here !== null && before !== null) {
        const steps = Math.floor(Math.hypot(here.x - before.x, here.y - before.y) / STROKE_STEP_PX);
        if (steps === 0) continue;
        for (let k = 1; k <= Math.min(steps, 1000); k++) {
          const share = k / steps;
          spots.push({ x: before.x + (here.x - before.x) * share, y: before.y + (here.y - before.y) * share });
        }
      }
      before = here;
    }
  };
  for (const trace of view.traces) follow(trace.points);
  follow(view.plan);
  follow(view.forecast);
  if (view.expected?.from != null) follow([view.expected.from, view.expected]);
  if (view.nowMs !== null)
    for (let down = area.top; down < area.bottom; down += STROKE_STEP_PX) spots.push({ x: x(view.nowMs), y: down });
  return spots;
}

function drawUnder(sheet: Sheet): void {
  const { context, area } = sheet;
  context.beginPath();
  context.rect(area.left, area.top, area.right - area.left, area.bottom - area.top);
  context.clip();
  drawGaps(sheet);
  drawPlanBand(sheet);
  drawForecastBand(sheet);
}

function drawOver(sheet: Sheet): void {
  drawNow(sheet);
  drawEndNames(sheet);
  drawHolds(sheet);
  drawExpected(sheet);
  drawActs(sheet);
  drawAlerts(sheet);
  drawGapWords(sheet);
}

/** A closed shape between an upper and a lower edge. */
function fillBetween(
  { context, x, y }: Sheet,
  edge: readonly { readonly atMs: number; readonly lowC: number; readonly highC: number }[],
  fill: string | CanvasGradient,
): void {
  if (edge.length < 2) return;
  context.beginPath();
  for (const point of edge) context.lineTo(x(point.atMs), y(point.highC));
  for (const point of [...edge].reverse()) context.lineTo(x(point.atMs), y(point.lowC));
  context.closePath();
  context.fillStyle = fill;
  context.fill();
}

/** Where nothing was measured the paper is shaded from top to foot. */
function drawGaps({ context, view, ink, area, x }: Sheet): void {
  context.fillStyle = ink.rule;
  for (const gap of view.gaps) {
    const left = x(gap.fromMs);
    const width = Math.max(2, x(gap.atMs) - left);
    context.fillRect(left, area.top, width, area.bottom - area.top);
  }
}

/** The word for a gap stands at its head, where there is room. */
function drawGapWords(sheet: Sheet): void {
  const { view, ink, area, x } = sheet;
  const width = widthOf(sheet, firings.gap);
  for (const gap of view.gaps) {
    if (gap.atMs < view.fromMs || gap.fromMs > view.toMs) continue;
    const middle = (x(gap.fromMs) + x(gap.atMs)) / 2;
    writeWhereFree(sheet, firings.gap, [{ left: middle - width / 2, middle: area.top + 10 }], ink.quiet);
  }
}

function drawPlanBand(sheet: Sheet): void {
  const { plan, toleranceC } = sheet.view;
  const edge = plan.map(({ atMs, celsius: c }) => ({ atMs, lowC: c - toleranceC, highC: c + toleranceC }));
  sheet.context.globalAlpha = 1;
  fillBetween(sheet, edge, sheet.ink.band);
}

/** Fades with distance: what is far off is less sure. */
function drawForecastBand(sheet: Sheet): void {
  const { context, view, ink, x } = sheet;
  const first = view.forecast[0];
  const last = view.forecast.at(-1);
  if (first === undefined || last === undefined) return;
  const left = x(first.atMs);
  const right = Math.max(left + 1, x(last.atMs));
  const fade = context.createLinearGradient(left, 0, right, 0);
  const pen = sensorInk(ink, 0);
  fade.addColorStop(0, translucent(pen, 0.34));
  fade.addColorStop(1, translucent(pen, 0.06));
  fillBetween(sheet, view.forecast, fade);
  context.setLineDash([2, 4]);
  context.lineWidth = 2;
  context.lineCap = 'round';
  const line = context.createLinearGradient(left, 0, right, 0);
  line.addColorStop(0, translucent(pen, 1));
  line.addColorStop(1, translucent(pen, 0.45));
  context.strokeStyle = line;
  context.beginPath();
  for (const point of view.forecast) context.lineTo(x(point.atMs), sheet.y(point.celsius));
  context.stroke();
  context.setLineDash([]);
}

function translucent(hex: string, alpha: number): string {
  const n = Number.parseInt(hex.slice(1), 16);
  return `rgba(${(n >> 16) & 255}, ${(n >> 8) & 255}, ${n & 255}, ${alpha})`;
}

function drawNow(sheet: Sheet): void {
  const { context, view, ink, area, x } = sheet;
  if (view.nowMs === null) return;
  const at = Math.round(x(view.nowMs)) + 0.5;
  context.strokeStyle = ink.ink;
  context.lineWidth = 1;
  context.beginPath();
  context.moveTo(at, area.top - 4);
  context.lineTo(at, area.bottom);
  context.stroke();
  const word = view.isLive ? watch.now : watch.lastHeard;
  const text = `${word} ${timeOfDay(view.nowMs, view.utcOffsetMinutes)}`;
  const width = widthOf(sheet, text, true);
  const left = Math.min(Math.max(at - width / 2, area.left), area.right - width);
  write(sheet, text, left, area.top - 14, ink.ink, true);
}

/** Puts a word down and remembers its place. */
function write(sheet: Sheet, text: string, left: number, middle: number, ink: string, isBold = false): void {
  const { context, taken } = sheet;
  const box = boxOf(widthOf(sheet, text, isBold), left, middle);
  context.lineWidth = 4;
  context.lineJoin = 'round';
  context.strokeStyle = sheet.ink.paper;
  context.strokeText(text, left, middle);
  context.fillStyle = ink;
  context.fillText(text, left, middle);
  taken.push(box);
}

/** Sets the pen's letters as well: bold ones are wider. */
function widthOf({ context, ink }: Sheet, text: string, isBold = false): number {
  context.font = `${isBold ? '600 ' : ''}${FONT_PX}px ${ink.font}`;
  return context.measureText(text).width;
}

function boxOf(width: number, left: number, middle: number): Box {
  return { left: left - 3, right: left + width + 3, top: middle - LINE_PX / 2, bottom: middle + LINE_PX / 2 };
}

function isFree(sheet: Sheet, box: Box): boolean {
  const { area, taken } = sheet;
  if (box.left < area.left || box.right > area.right + 4 || box.top < area.top - 2 || box.bottom > area.bottom)
    return false;
  return taken.every((t) => box.right < t.left || box.left > t.right || box.bottom < t.top || box.top > t.bottom);
}

/** How much of the lines a word would lie on. */
function coveredSpots({ strokes }: Sheet, box: Box): number {
  return strokes.filter((s) => s.x > box.left && s.x < box.right && s.y > box.top && s.y < box.bottom).length;
}

/** Of the places the first that covers least of the lines; a word that finds none is left out rather than laid over another. */
function writeWhereFree(
  sheet: Sheet,
  text: string,
  places: readonly { readonly left: number; readonly middle: number }[],
  ink: string,
  isBold = false,
): { readonly left: number; readonly middle: number } | null {
  const width = widthOf(sheet, text, isBold);
  let best: { readonly left: number; readonly middle: number } | null = null;
  let leastSpots = Number.POSITIVE_INFINITY;
  for (const place of places) {
    const box = boxOf(width, place.left, place.middle);
    const spots = isFree(sheet, box) ? coveredSpots(sheet, box) : Number.POSITIVE_INFINITY;
    if (spots < leastSpots) [best, leastSpots] = [place, spots];
    if (leastSpots === 0) break;
  }
  if (best !== null) write(sheet, text, best.left, best.middle, ink, isBold);
  return best;
}

/** The name of each line beside its newest point, instead of a legend. */
function drawEndNames(sheet: Sheet): void {
  const { view, ink, x, y, context, area } = sheet;
  view.traces.forEach((trace, index) => {
    const end = trace.points.findLast((point) => point.celsius !== null && point.atMs <= view.toMs);
    if (end === undefined || end.celsius === null) return;
    const pen = sensorInk(ink, index);
    const at = x(end.atMs);
    const height = y(end.celsius);
    if (view.nowMs !== null && trace.isRuling && at >= area.left) {
      context.fillStyle = pen;
      context.beginPath();
      context.arc(at, height, 5, 0, 2 * Math.PI);
      context.fill();
    }
    const text = view.nowMs === null ? trace.name : `${trace.name} ${degrees(end.celsius)}`;
    const width = widthOf(sheet, text, index === 0);
    const below = [12, 20, 28].flatMap((down) => [
      { left: at + 10, middle: height + down },
      { left: at - width - 10, middle: height + down },
    ]);
    const above = [12, 20, 28].flatMap((up) => [
      { left: at - width - 10, middle: height - up },
      { left: at + 10, middle: height - up },
    ]);
    writeWhereFree(sheet, text, index === 0 ? [...above, ...below] : [...below, ...above], pen, index === 0);
  });
  drawPlanName(sheet);
}

function drawPlanName(sheet: Sheet): void {
  const { view, ink, x, y } = sheet;
  const width = widthOf(sheet, watch.plan);
  const places = [0.97, 0.85, 0.7, 0.5, 0.3, 0.15].flatMap((share) => {
    const atMs = view.fromMs + (view.toMs - view.fromMs) * share;
    const planned = plannedAt(view.plan, atMs);
    if (planned === null) return [];
    return [-14, 14].map((away) => ({ left: x(atMs) - width, middle: y(planned) + away }));
  });
  writeWhereFree(sheet, watch.plan, places, ink.plan);
}

function drawHolds(sheet: Sheet): void {
  const { view, ink, x, y } = sheet;
  for (const hold of view.holds) {
    const planned = String(Math.round(hold.plannedMinutes));
    const minutes = hold.doneMinutes === null ? `${planned} min` : `${hold.doneMinutes} of ${planned} min`;
    const text = `${degrees(hold.celsius)}, ${minutes}`;
    const middleX = (x(hold.fromMs) + x(hold.toMs)) / 2;
    const width = widthOf(sheet, text, hold.doneMinutes !== null);
    const foot = y(hold.celsius - view.toleranceC);
    const top = y(hold.celsius + view.toleranceC);
    // Under the level stretch there is room: the line comes from below and goes below only at its ends.
    const places = [14, 22, 30, 46].flatMap((away) => [
      { left: middleX - width / 2, middle: foot + away },
      { left: middleX + 6, middle: foot + away },
      { left: middleX - width - 6, middle: foot + away },
      { left: middleX + 6, middle: top - away },
      { left: middleX - width / 2, middle: top - away },
      { left: middleX - width - 6, middle: top - away },
    ]);
    writeWhereFree(sheet, text, places, hold.doneMinutes === null ? ink.quiet : ink.ink, hold.doneMinutes !== null);
  }
}

/** Where it is heading if nothing is done: where a warning says so, and else only where that is off the plan. */
function drawExpected(sheet: Sheet): void {
  const { view, ink, x, y, context } = sheet;
  const { expected } = view;
  if (expected === null || expected.atMs < view.fromMs || expected.atMs > view.toMs) return;
  if (expected.from === null) {
    const planned = plannedAt(view.plan, expected.atMs);
    if (planned === null || expected.celsius <= planned + view.toleranceC) return;
  }
  const text = watch.ifNothingIsDone(celsius(expected.celsius), timeOfDay(expected.atMs, view.utcOffsetMinutes));
  const width = widthOf(sheet, text);
  const at = x(expected.atMs);
  const height = y(expected.celsius);
  context.fillStyle = ink.paper;
  context.strokeStyle = sensorInk(ink, 0);
  context.lineWidth = 2;
  context.setLineDash([]);
  if (expected.from !== null) {
    context.beginPath();
    context.moveTo(x(expected.from.atMs), y(expected.from.celsius));
    context.lineTo(at, height);
    context.stroke();
  }
  context.beginPath();
  context.arc(at, height, 5, 0, 2 * Math.PI);
  context.fill();
  context.stroke();
  const places = [-18, -34, 20, 36].flatMap((away) => [
    { left: Math.min(at - width / 2, sheet.area.right - width), middle: height + away },
    { left: at - width - 8, middle: height + away },
    { left: at + 8, middle: height + away },
  ]);
  writeWhereFree(sheet, text, places, ink.ink);
}

/** So many acts can be told in words without hiding the curve; of more, only what was done seldom. */
const WORDED_ACTS = 10;
const WORDED_EACH = 2;
/** How far from its stroke a word may stand: in a firing's first minutes the curve itself fills what is near. */
const ACT_WORDS_AWAY_PX = [18, 34, 50, 66, 84, 102, 120, 138, 156];

/** A short upright stroke on the line, its word beside it; what another instrument showed stands where it showed it. */
function drawActs(sheet: Sheet): void {
  const { view, ink, x, y, context, area } = sheet;
  const ruling = view.traces[0]?.points ?? [];
  const shown = view.acts.filter((act) => act.atMs >= view.fromMs && act.atMs <= view.toMs);
  const times = new Map<string, number>();
  for (const act of shown) times.set(act.what, (times.get(act.what) ?? 0) + 1);
  // Of a valve turned twenty times the strokes are enough; its marks stand in the list.
  const told = shown.filter((act) => !isFollowed(shown, act));
  const isWorded = (act: StandingAct): boolean =>
    told.includes(act) && (told.length <= WORDED_ACTS || (times.get(act.what) ?? 0) <= WORDED_EACH);
  for (const act of shown) {
    const at = x(act.atMs);
    const byHandC = handReadingC(act);
    const measured = byHandC ?? act.celsius ?? celsiusAt(ruling, act.atMs, 10 * MINUTE_MS);
    const height = Math.min(area.bottom - 8, measured === null ? area.bottom - 8 : y(measured));
    context.setLineDash([]);
    context.strokeStyle = ink.ink;
    context.lineWidth = 2;
    context.lineCap = 'round';
    context.beginPath();
    if (byHandC === null) {
      context.moveTo(at, height - 7);
      context.lineTo(at, height + 7);
    } else {
      for (const turn of [0, 1, 2, 3]) {
        context.lineTo(at + 6 * Math.sin((turn * Math.PI) / 2), height - 6 * Math.cos((turn * Math.PI) / 2));
      }
      context.closePath();
    }
    context.stroke();
    if (!isWorded(act)) continue;
    const text = byHandC === null ? actWords(act) : watch.byHand(celsius(byHandC));
    const width = widthOf(sheet, text);
    const places = ACT_WORDS_AWAY_PX.flatMap((away) => [
      { left: at + 6, middle: height + away },
      { left: at - width - 6, middle: height - away },
      { left: at - width / 2, middle: height - away },
      { left: at - width - 6, middle: height + away },
      { left: at + 6, middle: height - away },
      { left: at - 3, middle: height - away },
    ]);
    const place = writeWhereFree(sheet, text, places, ink.ink);
    if (place === null) continue;
    context.strokeStyle = ink.quiet;
    context.lineWidth = 1;
    context.beginPath();
    context.moveTo(at, place.middle > height ? height + 8 : height - 8);
    context.lineTo(at, place.middle > height ? place.middle - 8 : place.middle + 8);
    context.stroke();
  }
}

/** On the foot of the curve, in ink: colour belongs to what wants a person now, and that stands above. */
function drawAlerts(sheet: Sheet): void {
  const { view, ink, x, context, area } = sheet;
  for (const alert of view.alerts) {
    if (alert.atMs < view.fromMs || alert.atMs > view.toMs) continue;
    const at = x(alert.atMs);
    const foot = area.bottom - 3;
    context.setLineDash([]);
    context.strokeStyle = ink.ink;
    context.lineWidth = 1.5;
    context.beginPath();
    if (alert.priority === 'soon') {
      context.moveTo(at, foot - 11);
      context.lineTo(at + 6.5, foot);
      context.lineTo(at - 6.5, foot);
    } else if (alert.priority === 'now') {
      const corners = [...Array(8).keys()].map((k) => ((k + 0.5) * Math.PI) / 4);
      for (const turn of corners) context.lineTo(at + 6.5 * Math.cos(turn), foot - 6 + 6.5 * Math.sin(turn));
    } else context.arc(at, foot - 6, 5.5, 0, 2 * Math.PI);
    context.closePath();
    context.stroke();
    const text = alert.word;
    const width = widthOf(sheet, text);
    const beside = [
      { left: at + 10, middle: foot - 6 },
      { left: at - width - 10, middle: foot - 6 },
    ];
    writeWhereFree(sheet, text, beside, ink.quiet);
  }
}
