/** Under the curve: how far off the plan, on a scale of its own, so that three degrees can be seen beside six hundred. */
import { type CurveInk, sensorInk } from './curve-ink.ts';
import { type CurveView, plannedAt } from './curve-view.ts';
import { deviations, type Off, stripReachC } from './deviation.ts';
import { shownDifference } from './unit.ts';
import { watch } from './wording.ts';

/** Height of the strip with what parts it from the axis above. */
export const STRIP_PX = 78;
const GAP_PX = 22;
const FONT_PX = 12;

interface Place {
  readonly context: CanvasRenderingContext2D;
  readonly left: number;
  readonly right: number;
  readonly bottom: number;
  x(atMs: number): number;
}

export function drawStrip({ context, left, right, bottom, x }: Place, view: CurveView, ink: CurveInk): void {
  const top = bottom - STRIP_PX + GAP_PX;
  const foot = bottom - 4;
  const middle = (top + foot) / 2;
  const offs = deviations(view);
  const reachC = stripReachC(offs, view.toleranceC);
  const y = (deltaC: number): number => middle - (deltaC / reachC) * ((foot - top) / 2);
  context.save();
  context.fillStyle = ink.band;
  context.fillRect(left, y(view.toleranceC), right - left, y(-view.toleranceC) - y(view.toleranceC));
  context.strokeStyle = ink.plan;
  context.lineWidth = 1;
  context.setLineDash([6, 4]);
  context.beginPath();
  context.moveTo(left, Math.round(middle) + 0.5);
  context.lineTo(right, Math.round(middle) + 0.5);
  context.stroke();
  context.setLineDash([]);
  context.font = `${FONT_PX}px ${ink.font}`;
  context.textBaseline = 'middle';
  context.fillStyle = ink.quiet;
  context.textAlign = 'right';
  for (const deltaC of [view.toleranceC, -view.toleranceC]) {
    context.fillText(signed(deltaC), left - 6, y(deltaC));
  }
  context.textAlign = 'left';
  context.beginPath();
  context.rect(left, top, right - left, foot - top);
  context.clip();
  drawLine(context, offs, x, y, sensorInk(ink, 0), 2);
  drawAhead(context, view, x, y, sensorInk(ink, 0));
  if (view.nowMs !== null) {
    const at = Math.round(x(view.nowMs)) + 0.5;
    context.strokeStyle = ink.ink;
    context.lineWidth = 1;
    context.beginPath();
    context.moveTo(at, top);
    context.lineTo(at, foot);
    context.stroke();
  }
  context.restore();
  context.save();
  context.font = `${FONT_PX}px ${ink.font}`;
  context.textBaseline = 'middle';
  context.fillStyle = ink.quiet;
  context.fillText(watch.offPlan, left + 2, top - 7);
  context.restore();
}

function drawLine(
  context: CanvasRenderingContext2D,
  offs: readonly Off[],
  x: (atMs: number) => number,
  y: (deltaC: number) => number,
  pen: string,
  width: number,
): void {
  context.strokeStyle = pen;
  context.lineWidth = width;
  context.lineJoin = 'round';
  context.beginPath();
  let isDown = false;
  for (const { atMs, deltaC } of offs) {
    if (deltaC === null) isDown = false;
    else if (isDown) context.lineTo(x(atMs), y(deltaC));
    else {
      context.moveTo(x(atMs), y(deltaC));
      isDown = true;
    }
  }
  context.stroke();
}

/** Where it is heading, against the plan ahead. */
function drawAhead(
  context: CanvasRenderingContext2D,
  view: CurveView,
  x: (atMs: number) => number,
  y: (deltaC: number) => number,
  pen: string,
): void {
  const offs = view.forecast.map(({ atMs, celsius }): Off => {
    const planned = plannedAt(view.plan, atMs);
    return { atMs, deltaC: planned === null ? null : celsius - planned };
  });
  context.setLineDash([2, 4]);
  drawLine(context, offs, x, y, pen, 1.5);
  context.setLineDash([]);
}

/** "+6", "−6", in this screen's degrees. */
function signed(deltaC: number): string {
  const whole = Math.round(shownDifference(Math.abs(deltaC)));
  return deltaC < 0 ? `−${whole}` : `+${whole}`;
}
