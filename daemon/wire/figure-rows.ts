/** The figures of a firing as rows of words: the page, the report and the export show the same. */
import type { FiringDetail } from './live-messages.ts';

export interface FigureRow {
  readonly label: string;
  readonly value: string;
  /** The same as plain numbers, rounded alike, for a table that is reckoned with. */
  readonly numbers: FigureNumbers;
}

export interface FigureNumbers {
  readonly celsius?: number;
  readonly uncertaintyC?: number;
  readonly minutes?: number;
  readonly clockMinutes?: number;
  readonly plannedMinutes?: number;
  readonly heatCPerH?: number;
  readonly coolCPerH?: number;
  readonly count?: number;
  readonly atMs?: number;
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
  const add = (label: string, value: string, numbers: FigureNumbers): void => void rows.push({ label, value, numbers });
  for (const peak of figures?.peaks ?? []) {
    const give = peak.uncertaintyC === null ? '' : `, give or take ${words.delta(peak.uncertaintyC)}`;
    add(`Peak, ${peak.sensor}`, `${words.celsius(peak.celsius)} at ${words.time(peak.atMs)}${give}`, {
      celsius: tenth(peak.celsius),
      ...(peak.uncertaintyC !== null && { uncertaintyC: tenth(peak.uncertaintyC) }),
      atMs: peak.atMs,
    });
  }
  for (const hold of holds) {
    const clock = hold.clockMinutes === undefined ? '' : `, ${minutes(hold.clockMinutes)} by the clock`;
    add(
      `Hold, part ${hold.segment + 1} of the plan`,
      `${minutes(hold.inBandMinutes)} in the band${clock}; planned ${minutes(hold.plannedMinutes)}`,
      {
        minutes: tenth(hold.inBandMinutes),
        ...(hold.clockMinutes !== undefined && { clockMinutes: tenth(hold.clockMinutes) }),
        plannedMinutes: tenth(hold.plannedMinutes),
      },
    );
  }
  if (figures === null) return rows;
  for (const { celsius, minutes: time } of figures.above) {
    add(`Above ${words.mark(celsius)}`, minutes(time), { minutes: tenth(time) });
  }
  for (const band of figures.bands) {
    if (band.heatCPerH === null && band.coolCPerH === null) continue;
    const range =
      band.toC > 1000 ? `above ${words.mark(band.fromC)}` : `${words.mark(band.fromC)} to ${words.mark(band.toC)}`;
    const up = band.heatCPerH === null ? [] : [`up ${words.rate(band.heatCPerH)}`];
    const down = band.coolCPerH === null ? [] : [`down ${words.rate(band.coolCPerH)}`];
    add(`Steepest, ${range}`, [...up, ...down].join(', '), {
      ...(band.heatCPerH !== null && { heatCPerH: band.heatCPerH }),
      ...(band.coolCPerH !== null && { coolCPerH: band.coolCPerH }),
    });
  }
  if (figures.couldOpenAtMs !== null) {
    add('Could be opened', words.time(figures.couldOpenAtMs), { atMs: figures.couldOpenAtMs });
  }
  if (figures.openedAtMs !== null) {
    const at = figures.openedAtC === null ? '' : ` at ${words.celsius(figures.openedAtC)}`;
    add('Was opened', `${words.time(figures.openedAtMs)}${at}`, {
      ...(figures.openedAtC !== null && { celsius: tenth(figures.openedAtC) }),
      atMs: figures.openedAtMs,
    });
  }
  add('Alerts that called', String(figures.calls.length), { count: figures.calls.length });
  const seen = figures.calls.filter((call) => call.seenAtMs !== null);
  if (seen.length > 0) {
    const slowestS = Math.max(...seen.map((call) => ((call.seenAtMs ?? 0) - call.calledAtMs) / 1000));
    add('Seen', `${seen.length} of ${figures.calls.length}, the slowest after ${minutes(slowestS / 60)}`, {
      minutes: tenth(slowestS / 60),
      count: seen.length,
    });
  }
  add('Gaps', figures.gapMinutes === 0 ? 'none' : minutes(figures.gapMinutes), { minutes: tenth(figures.gapMinutes) });
  add('Readings', String(detail.readings), { count: detail.readings });
  return rows;
}

function minutes(count: number): string {
  return `${tenth(count)} min`;
}

function tenth(value: number): number {
  return Math.round(value * 10) / 10;
}
