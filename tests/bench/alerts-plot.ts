/** One picture of a scored set: how long before its deadline each fault was told, and on time against false. */
import { falsePerHundredH, isOnTime, onTimePercent, type ScoredSet, scoredOf } from './alerts-sums.ts';

const ROW_PX = 26;
const LEFT_PX = 150;
const LEADS_PX = 620;
const GAP_PX = 90;
const SCATTER_PX = 300;
const TOP_PX = 50;
/** Leads beyond these stand at the edge. */
const MOST_MIN = 30;
const LEAST_MIN = -15;

/** The figures that simpler ways reach on another corpus, and the goal. */
const BESIDE = [
  { name: 'thresholds', falsePer100H: 2.2, percent: 44 },
  { name: 'with a straight line', falsePer100H: 99, percent: 70 },
  { name: 'a careful filter', falsePer100H: 2.5, percent: 82 },
  { name: 'goal', falsePer100H: 1, percent: 92 },
] as const;

export function plot(sets: readonly ScoredSet[]): string {
  const [first] = sets;
  if (first === undefined) return '';
  const kinds = [...new Set(scoredOf(first).map((s) => s.fault.kind))].sort();
  const heightPx = TOP_PX + Math.max(kinds.length * ROW_PX, 300) + 50;
  const widthPx = LEFT_PX + LEADS_PX + GAP_PX + SCATTER_PX + 30;
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" width="${widthPx}" height="${heightPx}" font-family="sans-serif" font-size="12">`,
    `<rect width="100%" height="100%" fill="white"/>`,
    leads(first, kinds),
    scatter(sets, heightPx - 50),
    '</svg>',
    '',
  ].join('\n');
}

const leadX = (minutes: number): number =>
  LEFT_PX + ((Math.min(MOST_MIN, Math.max(LEAST_MIN, minutes)) - LEAST_MIN) / (MOST_MIN - LEAST_MIN)) * LEADS_PX;

/** A dot for each fault that had to be told: right of the line in time, left of it late, a cross where it was missed. */
function leads(set: ScoredSet, kinds: readonly string[]): string {
  const bottomPx = TOP_PX + kinds.length * ROW_PX;
  const ticks = [-15, -10, -5, 0, 5, 10, 15, 20, 25, 30].map(
    (m) =>
      `<line x1="${leadX(m)}" x2="${leadX(m)}" y1="${TOP_PX}" y2="${bottomPx}" stroke="${m === 0 ? 'black' : '#ddd'}"/>` +
      text(leadX(m), bottomPx + 16, String(m), 'middle'),
  );
  const rows = kinds.map((kind, row) => {
    const y = TOP_PX + (row + 0.5) * ROW_PX;
    const of = scoredOf(set).filter((s) => s.fault.kind === kind && !s.fault.isMild);
    const dots = of.map(({ fault }, i) => {
      // A little up and down, so that dots do not hide each other.
      const dotY = y + (((i * 5) % 7) - 3) * 2.6;
      if (fault.rightS === null) return text(leadX(LEAST_MIN) - 8 + (i % 3) * 5, dotY + 4, '×', 'middle', '#b00');
      const x = leadX((fault.deadlineS - fault.rightS) / 60);
      return `<circle cx="${x.toFixed(1)}" cy="${dotY.toFixed(1)}" r="2.5" fill="${isOnTime(fault) ? '#2a6' : '#d60'}" fill-opacity="0.7"/>`;
    });
    return text(LEFT_PX - 24, y + 4, `${kind} (${of.length})`, 'end') + dots.join('');
  });
  const title = `${set.name}: minutes from the first right alert to the deadline; × never told`;
  return [text(LEFT_PX, TOP_PX - 20, title), ...ticks, ...rows].join('\n');
}

/** On time against false alerts; the scale of false alerts is logarithmic. */
function scatter(sets: readonly ScoredSet[], bottomPx: number): string {
  const left = LEFT_PX + LEADS_PX + GAP_PX;
  const x = (per100H: number): number => left + ((Math.log10(Math.max(0.1, per100H)) + 1) / 3) * SCATTER_PX;
  const y = (percent: number): number => bottomPx - (percent / 100) * (bottomPx - TOP_PX);
  const dot = (name: string, per100H: number, percent: number, colour: string): string =>
    `<circle cx="${x(per100H).toFixed(1)}" cy="${y(percent).toFixed(1)}" r="4" fill="${colour}"/>` +
    (per100H > 10
      ? text(x(per100H) - 7, y(percent) + 4, name, 'end', colour)
      : text(x(per100H) + 7, y(percent) + 4, name, 'start', colour));
  return [
    text(left, TOP_PX - 20, 'on time % against false alerts per 100 h'),
    `<path d="M${left} ${TOP_PX}V${bottomPx}H${left + SCATTER_PX}" fill="none" stroke="black"/>`,
    ...[0.1, 1, 10, 100].map((f) => text(x(f), bottomPx + 16, String(f), 'middle')),
    ...[0, 25, 50, 75, 100].map((p) => text(left - 6, y(p) + 4, String(p), 'end')),
    ...BESIDE.map((b) => dot(b.name, b.falsePer100H, b.percent, b.name === 'goal' ? '#2a6' : '#999')),
    ...sets.map((set) => dot(set.name, falsePerHundredH(set.results), onTimePercent(set), '#06c')),
  ].join('\n');
}

function text(x: number, y: number, words: string, anchor = 'start', colour = 'black'): string {
  return `<text x="${x.toFixed(1)}" y="${y.toFixed(1)}" text-anchor="${anchor}" fill="${colour}">${words}</text>`;
}
