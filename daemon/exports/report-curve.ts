/** The curve of a firing over its plan, drawn on paper. */
import type { FiringReport } from './firing-report.ts';
import { wallTime } from './firing-report.ts';

type Paper = PDFKit.PDFDocument;

interface Box {
  readonly left: number;
  readonly top: number;
  readonly width: number;
  readonly height: number;
}

const INK = '#222222';
const QUIET = '#666666';
const RULE = '#dddddd';
const PLAN = '#888888';
/** Told apart by their dashes as well: a report may be printed without colour. */
const SENSORS: readonly (readonly [colour: string, dash: number])[] = [
  ['#0b5cad', 0],
  ['#8a4b08', 4],
  ['#2f6f3e', 2],
  ['#6a3d8f', 6],
];

export function drawCurve(paper: Paper, report: FiringReport, box: Box): void {
  const { curve, detail, utcOffsetMinutes } = report;
  const celsius = [
    ...Object.values(curve.sensors).flatMap((stretches) => stretches.flatMap((s) => s.map(([, c]) => c))),
    ...curve.plan.map((point) => point.celsius),
  ];
  const mostC = Math.max(100, ...celsius);
  const stepC = [20, 50, 100, 200].find((step) => mostC / step <= 8) ?? 500;
  const topC = Math.ceil((mostC * 1.03) / stepC) * stepC;
  const toMs = Math.max(curve.toMs, curve.fromMs + 600_000);
  const x = (atMs: number): number => box.left + ((atMs - curve.fromMs) / (toMs - curve.fromMs)) * box.width;
  const y = (c: number): number => box.top + box.height - (Math.max(c, 0) / topC) * box.height;

  paper.save().lineWidth(0.5).fontSize(7).fillColor(QUIET);
  for (let c = 0; c <= topC; c += stepC) {
    paper
      .strokeColor(RULE)
      .moveTo(box.left, y(c))
      .lineTo(box.left + box.width, y(c))
      .stroke();
    paper.text(`${c} °C`, box.left - 40, y(c) - 4, { width: 34, align: 'right', lineBreak: false });
  }
  for (const atMs of hours(curve.fromMs, toMs, utcOffsetMinutes)) {
    paper
      .strokeColor(RULE)
      .moveTo(x(atMs), box.top)
      .lineTo(x(atMs), box.top + box.height)
      .stroke();
    const label = wallTime(atMs, utcOffsetMinutes).slice(11);
    paper.text(label, x(atMs) - 20, box.top + box.height + 4, { width: 40, align: 'center', lineBreak: false });
  }
  for (const gap of curve.gaps) {
    paper
      .rect(x(gap.fromMs), box.top, Math.max(x(gap.atMs) - x(gap.fromMs), 0.5), box.height)
      .fillOpacity(0.35)
      .fill(RULE)
      .fillOpacity(1);
  }
  line(
    paper,
    curve.plan.map((point) => [x(point.atMs), y(point.celsius)]),
    PLAN,
    0.8,
    3,
  );
  for (const [index, [, stretches]] of Object.entries(curve.sensors).entries()) {
    const [colour, dash] = SENSORS[index % SENSORS.length] ?? ['#000000', 0];
    for (const stretch of stretches)
      line(
        paper,
        stretch.map(([atMs, c]) => [x(atMs), y(c)]),
        colour,
        1.1,
        dash,
      );
  }
  for (const alert of curve.alerts) {
    if (alert.sinceMs < curve.fromMs || alert.sinceMs > toMs) continue;
    const at = x(alert.sinceMs);
    paper.polygon([at - 3, box.top], [at + 3, box.top], [at, box.top + 6]).fill(INK);
  }
  legend(paper, Object.keys(curve.sensors), detail.scheduleName !== null, box);
  paper.restore();
}

function line(
  paper: Paper,
  points: readonly (readonly [number, number])[],
  colour: string,
  width: number,
  dash: number,
): void {
  const [first, ...rest] = points;
  if (first === undefined) return;
  paper.save().lineWidth(width).strokeColor(colour);
  if (dash > 0) paper.dash(dash, { space: 2 });
  paper.moveTo(first[0], first[1]);
  for (const [px, py] of rest) paper.lineTo(px, py);
  paper.stroke().restore();
}

function legend(paper: Paper, sensors: readonly string[], hasPlan: boolean, box: Box): void {
  let left = box.left;
  const top = box.top + box.height + 18;
  const entry = (name: string, colour: string, dash: number): void => {
    line(
      paper,
      [
        [left, top + 4],
        [left + 22, top + 4],
      ],
      colour,
      1.2,
      dash,
    );
    paper.fillColor(INK).text(name, left + 26, top, { lineBreak: false });
    left += 40 + paper.widthOfString(name);
  };
  for (const [index, name] of sensors.entries()) {
    const [colour, dash] = SENSORS[index % SENSORS.length] ?? ['#000000', 0];
    entry(name, colour, dash);
  }
  if (hasPlan) entry('plan', PLAN, 3);
  paper.text('▼ alert', left, top, { lineBreak: false });
}

/** Full hours of the wall's clock, at most a dozen of them. */
function hours(fromMs: number, toMs: number, utcOffsetMinutes: number): number[] {
  const hourMs = 3_600_000;
  const stepMs =
    [1, 2, 3, 6, 12, 24].map((h) => h * hourMs).find((step) => (toMs - fromMs) / step <= 12) ?? 48 * hourMs;
  const shiftMs = utcOffsetMinutes * 60_000;
  const found: number[] = [];
  for (let at = Math.ceil((fromMs + shiftMs) / stepMs) * stepMs - shiftMs; at <= toMs; at += stepMs) found.push(at);
  return found;
}
