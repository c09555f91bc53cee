/** A kiln's model fitted to recorded runs of real plants, and how far off it then is on what it has not seen. */
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { ESTIMATED, type Estimate, fitKiln, type KilnFit } from '../../daemon/core/kiln-model/fit-kiln.ts';
import { HeatRecord } from '../../daemon/core/kiln-model/heat-record.ts';
import { KilnRun, restingState } from '../../daemon/core/kiln-model/kiln-model.ts';
import type { FitSetting } from '../../daemon/core/kiln-model/kiln-parameters.ts';
import { lookAhead, tuneWatch } from '../../daemon/core/kiln-model/look-ahead.ts';
import type { HeatFrom, RecordedFiring } from '../../daemon/core/kiln-model/recorded-firing.ts';
import { rulingSensor } from '../../daemon/core/plan/kiln.ts';
import { type DataSet, readDataSets } from './data-set.ts';
import { figure, rms, table } from './figures.ts';
import { straightLineC } from './rivals.ts';

interface Plant {
  readonly heat: FitSetting['heat'];
  readonly setting: FitSetting['setting'];
  /** The recorded input that is the heat, and its figure at full heat; null where nobody recorded it. */
  readonly input: readonly [name: string, full: number] | null;
  readonly sensor?: string;
  /** Runs fitted, and runs foreseen; where they are the same one, its first half is fitted and its second foreseen. */
  readonly fitted: readonly string[];
  readonly foreseen: readonly string[];
  /** Where the room was not measured, and the run did not begin cold. */
  readonly roomC?: number;
}

const OVEN = { heat: 'electric', setting: 'proportional', input: ['heater_percent', 100] } as const;
const UNKNOWN = { heat: 'electric', setting: 'proportional', input: null } as const;
const PRINTER = { heat: 'electric', setting: 'proportional' } as const;

const PLANTS: Readonly<Record<string, Plant>> = {
  'pizza oven': {
    ...OVEN,
    fitted: ['pizza-oven-step-30', 'pizza-oven-full-to-200-then-off'],
    foreseen: ['pizza-oven-step-50', 'pizza-oven-profile-3'],
  },
  'gas compartment': {
    heat: 'gas',
    setting: 'proportional',
    input: ['HRRburner_kW', 7500],
    fitted: ['gas-compartment-e119-test-1'],
    foreseen: ['gas-compartment-e119-test-2'],
  },
  'lamp plate': {
    heat: 'electric',
    setting: 'voltage',
    input: ['lamp_volts', 9],
    roomC: 20,
    ...halved('halogen-lamp-plate'),
  },
  'two heaters': { ...OVEN, input: ['heater1_percent', 100], sensor: 'T1', ...halved('tclab-two-heaters') },
  'printer bed': {
    ...PRINTER,
    input: ['bed_heater_fraction', 1],
    sensor: 'bed',
    ...halved('printer-bed-and-nozzle'),
  },
  'printer nozzle': {
    ...PRINTER,
    input: ['nozzle_heater_fraction', 1],
    sensor: 'nozzle',
    ...halved('printer-bed-and-nozzle'),
  },
  'relay oven': { ...UNKNOWN, ...halved('relay-oven-25-percent') },
  'furnace to 800': { ...UNKNOWN, ...halved('tga-ramp-hold-800') },
  'furnace to 650': { ...UNKNOWN, ...halved('tga-sample-vs-reference-650') },
  'furnace, hold 320': { ...UNKNOWN, ...halved('sta-hold-320-six-hours') },
};

function halved(name: string): Pick<Plant, 'fitted' | 'foreseen'> {
  return { fitted: [name], foreseen: [name] };
}

const AHEAD_S = [120, 300, 600] as const;
const SHORT_RUN_S = 1200;
const AHEAD_READINGS = [10, 30, 60] as const;
/** Places looked ahead from in one run, at most. */
const PLACES = 1000;
/** Readings needed before anyone looks ahead. */
const FIRST_PLACE = 10;
/** Noise that readings of unknown instruments are credited with. From memory. */
const READING_C = 0.3;

export function benchFit(dir: string): string {
  const sets = new Map(readDataSets(dir).map((set) => [set.name, set]));
  const errorRows: string[][] = [];
  const numberRows: string[][] = [];
  for (const [name, plant] of Object.entries(PLANTS)) {
    if (![...plant.fitted, ...plant.foreseen].every((run) => sets.has(run))) continue;
    const halves = plant.fitted[0] === plant.foreseen[0];
    const recorded = (run: string): RecordedFiring => recordedRun(dir, sets.get(run) as DataSet, plant);
    const fitted = plant.fitted.map(recorded).map((run) => (halves ? firstHalf(run) : run));
    const beganMs = performance.now();
    const fit = fitKiln(fitted, plant);
    const tookS = (performance.now() - beganMs) / 1000;
    if (fit === null) continue;
    numberRows.push(numberRow(name, fit, tookS));
    for (const run of plant.foreseen) {
      const set = sets.get(run) as DataSet;
      errorRows.push(
        ...errorRowsOf(`${name}: ${run}${halves ? ', 2nd half' : ''}`, fit, fitted, recorded(run), set, halves),
      );
    }
  }
  return [
    table(
      'fit: the few numbers of each plant, with the bounds that should hold nine in ten; ? where the readings cannot tell',
      ['plant', 'off by °C', 'took s', 'heat known', ...ESTIMATED],
      numberRows,
    ),
    table(
      'fit: root mean square error in °C on what was not fitted, the heat ahead known or kept as it is',
      ['plant: run, ahead', 'looks', 'heat known', 'heat kept', 'as it is', 'straight line', 'best of ours / best'],
      errorRows,
    ),
  ].join('\n');
}

function recordedRun(dir: string, set: DataSet, plant: Plant): RecordedFiring {
  const sensor = plant.sensor ?? rulingSensor(set.kiln);
  const all = set.rows.flatMap((row) =>
    row.sensor === sensor && row.celsius !== null ? [{ atMs: row.atMs, celsius: row.celsius }] : [],
  );
  // Two runs begin with one reading that their sidecars call no temperature.
  const readings = all.slice(1).sort((a, b) => a.atMs - b.atMs);
  const columns = inputsOf(join(dir, `${set.name}.inputs.csv`));
  const [input, full] = plant.input ?? ['', 1];
  const room = columns
    .get('ambient_celsius')
    ?.map((h) => h.value)
    .sort((a, b) => a - b);
  const startC = readings[0]?.celsius ?? 20;
  return {
    name: set.name,
    readings,
    heat: (columns.get(input) ?? []).map(({ atMs, value }): HeatFrom => ({ atMs, ratio: Math.max(value, 0) / full })),
    leftOut: [],
    roomC: plant.roomC ?? room?.[room.length >> 1] ?? Math.min(startC, 25),
  };
}

function inputsOf(file: string): Map<string, { atMs: number; value: number }[]> {
  const columns = new Map<string, { atMs: number; value: number }[]>();
  if (!existsSync(file)) return columns;
  for (const line of readFileSync(file, 'utf8').split('\n').slice(1)) {
    const [time = '', input = '', value = ''] = line.split(',');
    if (value === '') continue;
    const column = columns.get(input) ?? [];
    column.push({ atMs: Date.parse(time), value: Number(value) });
    columns.set(input, column);
  }
  for (const column of columns.values()) column.sort((a, b) => a.atMs - b.atMs);
  return columns;
}

function firstHalf(run: RecordedFiring): RecordedFiring {
  return { ...run, readings: run.readings.slice(0, run.readings.length >> 1) };
}

function numberRow(name: string, fit: KilnFit, tookS: number): string[] {
  const said = ({ value, low, high, told }: Estimate): string =>
    told === 'unknown'
      ? '?'
      : told === 'at-least'
        ? `≥ ${figure(value)}`
        : `${figure(value)} (${figure(low)}–${figure(high)})`;
  return [
    name,
    figure(fit.errorC),
    figure(tookS),
    `${Math.round(100 * fit.heatKnownRatio)} %`,
    ...ESTIMATED.map((n) => said(fit.estimates[n])),
  ];
}

function errorRowsOf(
  title: string,
  fit: KilnFit,
  fitted: readonly RecordedFiring[],
  run: RecordedFiring,
  set: DataSet,
  halves: boolean,
): string[][] {
  const isShort = set.spanS < SHORT_RUN_S;
  const horizonsS = isShort ? AHEAD_READINGS.map((count) => count * set.intervalS) : [...AHEAD_S];
  const noise = tuneWatch(fit.model, fitted, horizonsS, READING_C);
  const { readings } = run;
  const from = halves ? readings.length >> 1 : FIRST_PLACE;
  const stride = Math.max(Math.ceil((readings.length - from) / PLACES), 1);
  const places = readings.map((_, i) => i).filter((i) => i >= from && (i - from) % stride === 0);
  const foreseen = lookAhead(fit.model, noise, run, horizonsS, places);
  const rows = horizonsS.flatMap((aheadS, h): string[][] => {
    const errors = { known: [] as number[], kept: [] as number[], asItIs: [] as number[], line: [] as number[] };
    for (const { at, heatKnownC, heatKeptC } of foreseen) {
      const now = readings[at];
      const truth = now === undefined ? null : betweenC(readings, at, now.atMs + aheadS * 1000);
      const lineC = straightLineC(readings, at, aheadS);
      if (now === undefined || truth === null || lineC === null) continue;
      if (heatKnownC !== null) errors.known.push((heatKnownC[h] ?? 0) - truth);
      errors.kept.push((heatKeptC[h] ?? 0) - truth);
      errors.asItIs.push(now.celsius - truth);
      errors.line.push(lineC - truth);
    }
    if (errors.kept.length === 0) return [];
    const known = errors.known.length === errors.kept.length ? rms(errors.known) : Number.NaN;
    const kept = rms(errors.kept);
    const rival = Math.min(rms(errors.asItIs), rms(errors.line));
    const ahead = isShort ? `${AHEAD_READINGS[h]} readings` : `${aheadS / 60} min`;
    const ours = Number.isNaN(known) ? kept : known;
    const figures = [known, kept, rms(errors.asItIs), rms(errors.line), ours / rival];
    return [[`${title}, ${ahead}`, String(errors.kept.length), ...figures.map(figure)]];
  });
  return [...rows, ...openLoopRow(title, fit, run, from, halves)];
}

/** From the first reading looked from, or from a cold start, to the end, with nothing but the heat. */
function openLoopRow(title: string, fit: KilnFit, run: RecordedFiring, from: number, halves: boolean): string[][] {
  const { readings } = run;
  const [first] = readings;
  if (first === undefined || run.heat.length === 0) return [];
  const heat = new HeatRecord(fit.model, run.heat);
  const model = new KilnRun(fit.model, run.roomC, restingState(first.celsius));
  const errors: number[] = [];
  let before = first;
  for (const [i, reading] of readings.entries()) {
    const passedS = (reading.atMs - before.atMs) / 1000;
    if (passedS <= 0) continue;
    model.step(passedS, heat.meanCPerH(before.atMs, reading.atMs) ?? 0);
    before = reading;
    if (i >= (halves ? from : 0)) errors.push(model.shownC - reading.celsius);
  }
  return [[`${title}, whole, heat alone`, String(errors.length), figure(rms(errors)), '–', '–', '–', '–']];
}

/** By a straight line between the readings that came; null after the last one. */
function betweenC(readings: RecordedFiring['readings'], from: number, atMs: number): number | null {
  let low = from;
  let high = readings.length - 1;
  if ((readings[high]?.atMs ?? 0) < atMs) return null;
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((readings[middle]?.atMs ?? 0) < atMs) low = middle + 1;
    else high = middle;
  }
  const b = readings[low];
  const a = readings[low - 1];
  if (a === undefined || b === undefined || b.atMs === a.atMs) return b?.celsius ?? null;
  return a.celsius + ((b.celsius - a.celsius) * (atMs - a.atMs)) / (b.atMs - a.atMs);
}
