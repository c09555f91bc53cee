/** The figures of a firing as rows of words: the page, the report and the export show the same. */
import type { FiringDetail } from './live-messages.ts';

export interface FigureRow {
  readonly label: string;
  readonly value: string;
}

export interface FigureWords {
  /** "661 °C", in the unit that the reader has chosen. */
  readonly celsius: (celsius: number) => string;
  /** A round temperature: "500 °C". */
  readonly mark: (celsius: number) => string;
  /** A difference: "5 °C" */
  readonly delta: (celsius: number) => string;
  /** "540 °C/h" */
  readonly rate: (rateCPerH: number) => string;
  /** "14:02" on the wall of the workshop. */
  readonly time: (atMs: number) => string;
}

/** Figures that are not known have no row. */
export function figureRows(detail: FiringDetail, words: FigureWords): FigureRow[] {
  const { figures, holds } = detail;
  const rows: FigureRow[] = [];
  const add = (label: string, value: string): void => void rows.push({ label, value });
  for (const peak of figures?.peaks ?? []) {
    const give = peak.uncertaintyC === null ? '' : `, give or take ${words.delta(peak.uncertaintyC)}`;
    add(`Peak, ${peak.sensor}`, `${words.celsius(peak.celsius)} at ${words.time(peak.atMs)}${give}`);
  }
  for (const hold of holds) {
    const clock = hold.clockMinutes === undefined ? '' : `, ${minutes(hold.clockMinutes)} by the clock`;
    add(
      `Hold, part ${hold.segment + 1} of the plan`,
      `${minutes(hold.inBandMinutes)} in the band${clock}; planned ${minutes(hold.plannedMinutes)}`,
    );
  }
  if (figures === null) return rows;
  for (const { celsius, minutes: time } of figures.above) add(`Above ${words.mark(celsius)}`, minutes(time));
  for (const band of figures.bands) {
    if (band.heatCPerH === null && band.coolCPerH === null) continue;
    const range =
      band.toC > 1000 ? `above ${words.mark(band.fromC)}` : `${words.mark(band.fromC)} to ${words.mark(band.toC)}`;
    const up = band.heatCPerH === null ? [] : [`up ${words.rate(band.heatCPerH)}`];
    const down = band.coolCPerH === null ? [] : [`down ${words.rate(band.coolCPerH)}`];
    add(`Steepest, ${range}`, [...up, ...down].join(', '));
  }
  if (figures.couldOpenAtMs !== null) add('Could be opened', words.time(figures.couldOpenAtMs));
  if (figures.openedAtMs !== null) {
    const at = figures.openedAtC === null ? '' : ` at ${words.celsius(figures.openedAtC)}`;
    add('Was opened', `${words.time(figures.openedAtMs)}${at}`);
  }
  add('Alerts that called', String(figures.calls.length));
  const seen = figures.calls.filter((call) => call.seenAtMs !== null);
  if (seen.length > 0) {
    const slowestS = Math.max(...seen.map((call) => ((call.seenAtMs ?? 0) - call.calledAtMs) / 1000));
    add(
      'Seen',
      `${seen.length} of ${figures.calls.length}, the slowest after ${minutes(Math.round(slowestS / 6) / 10)}`,
    );
  }
  add('Gaps', figures.gapMinutes === 0 ? 'none' : minutes(figures.gapMinutes));
  add('Readings', String(detail.readings));
  return rows;
}

function minutes(count: number): string {
  return `${Math.round(count * 10) / 10} min`;
}
