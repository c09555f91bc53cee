/** A recorded run of a real heated plant: `NAME.csv` with `time,sensor,celsius`, and `NAME.json` that says what it is. */
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { KilnSetup } from '../../daemon/core/plan/kiln.ts';
import type { Schedule, Segment } from '../../daemon/core/plan/schedule.ts';
import { type CsvRow, readingsOfCsv } from '../../simulators/play-csv.ts';

interface Plan {
  readonly interpolation: 'linear' | 'step';
  readonly points: readonly (readonly [time: string, celsius: number])[];
}

interface Sidecar {
  readonly name: string;
  readonly what: string;
  readonly intervalSeconds: number;
  readonly spanSeconds: number;
  readonly sensors: Readonly<Record<string, { readonly missing: number }>>;
  readonly plan?: Readonly<Record<string, Plan>>;
  readonly events?: readonly { readonly kind: string }[];
}

export interface DataSet {
  readonly name: string;
  readonly rows: readonly CsvRow[];
  readonly intervalS: number;
  readonly spanS: number;
  readonly kiln: KilnSetup;
  readonly schedule: Schedule | null;
  /** Nothing is known to have gone wrong: a watch should have nothing to say. */
  readonly isHealthy: boolean;
}

/** What a person did, a plan's own end, or a mark on the curve is no fault. */
const HARMLESS = new Set(['operator-mark', 'peak', 'heat-off']);

/** @throws Error where the folder holds no set */
export function readDataSets(dir: string): DataSet[] {
  const names = (existsSync(dir) ? readdirSync(dir) : [])
    .filter((file) => file.endsWith('.json'))
    .map((file) => file.slice(0, -'.json'.length))
    .sort();
  if (names.length === 0) throw new Error(`${dir} holds no recorded set: it should hold NAME.csv and NAME.json.`);
  return names.map((name) => readDataSet(dir, name));
}

function readDataSet(dir: string, name: string): DataSet {
  const sidecar = JSON.parse(readFileSync(join(dir, `${name}.json`), 'utf8')) as Sidecar;
  const recorded = readingsOfCsv(readFileSync(join(dir, `${name}.csv`), 'utf8'));
  const [planned, plan] = Object.entries(sidecar.plan ?? {})[0] ?? [];
  const rows = planned !== undefined && isMean(planned) ? withMean(recorded, planned) : recorded;
  const sensors = [...new Set(rows.map((row) => row.sensor))].map((sensor) => ({
    name: sensor,
    letter: 'K',
    rules: sensor === planned,
  }));
  const kiln: KilnSetup = {
    id: 'recorded',
    name,
    heat: /\bgas\b/i.test(sidecar.what) ? 'gas' : 'electric',
    closure: 'door',
    sampleS: sidecar.intervalSeconds,
    sensors,
    decodings: { rows: { kind: 'channels', channels: Object.fromEntries(sensors.map((s) => [s.name, s.name])) } },
    utcOffsetMinutes: 0,
  };
  const hasMissing = Object.values(sidecar.sensors).some((sensor) => sensor.missing > 0);
  return {
    name,
    rows,
    intervalS: sidecar.intervalSeconds,
    spanS: sidecar.spanSeconds,
    kiln,
    schedule: plan === undefined ? null : scheduleOf(name, plan),
    isHealthy: !hasMissing && (sidecar.events ?? []).every((event) => HARMLESS.has(event.kind)),
  };
}

/** Some plans are for the mean of several couples, "mean of TC1..TC12": it becomes a sensor of its own. */
function isMean(planned: string): boolean {
  return planned.startsWith('mean of ');
}

function withMean(rows: readonly CsvRow[], planned: string): CsvRow[] {
  const [, letters = '', from = '', to = ''] = /^mean of (\D+)(\d+)\.\.\D+(\d+)$/.exec(planned) ?? [];
  const names = new Set(
    Array.from({ length: Number(to) - Number(from) + 1 }, (_, i) => `${letters}${Number(from) + i}`),
  );
  const byTime = new Map<number, CsvRow[]>();
  for (const row of rows) byTime.set(row.atMs, [...(byTime.get(row.atMs) ?? []), row]);
  return [...byTime].flatMap(([atMs, together]) => {
    const values = together.flatMap((row) => (names.has(row.sensor) && row.celsius !== null ? [row.celsius] : []));
    const celsius = values.length === 0 ? null : values.reduce((sum, c) => sum + c, 0) / values.length;
    return [...together, { atMs, sensor: planned, celsius }];
  });
}

/** A setpoint that jumps: a hundred degrees in a second. */
const AT_ONCE_C_PER_H = 360_000;

/** A controller's programme runs by the clock; a target that steps is as fast as the plant can, then held. */
function scheduleOf(name: string, { interpolation, points }: Plan): Schedule {
  const segments = points.slice(1).flatMap(([time, celsius], i): Segment[] => {
    const [fromTime = '', fromC = celsius] = points[i] ?? [];
    const hours = (Date.parse(time) - Date.parse(fromTime)) / 3_600_000;
    if (interpolation === 'step') return stepTo(fromC, points[i - 1]?.[1] ?? null, hours);
    const changeC = Math.abs(celsius - fromC);
    const isHold = changeC < 0.01;
    return [
      isHold ? { kind: 'hold', minutes: hours * 60 } : { kind: 'ramp', toC: celsius, rateCPerH: changeC / hours },
    ];
  });
  const [first] = segments;
  const [, startC = 0] = points[0] ?? [];
  // By the clock a plan that begins with a hold holds from the first reading on, however cold the plant still is.
  const begun: Segment[] = first?.kind === 'hold' ? [{ kind: 'ramp', toC: startC, rateCPerH: AT_ONCE_C_PER_H }] : [];
  return { name, segments: [...begun, ...segments], waits: interpolation === 'step' };
}

/** A target of 0 means that the heat is off. */
function stepTo(targetC: number, beforeC: number | null, hours: number): Segment[] {
  if (targetC === 0) return beforeC === null ? [] : [{ kind: 'ramp', toC: 30, rateCPerH: 'let-fall' }];
  const goesDown = beforeC !== null && targetC < beforeC;
  return [
    { kind: 'ramp', toC: targetC, rateCPerH: goesDown ? 'let-fall' : 'flat-out' },
    { kind: 'hold', minutes: hours * 60 },
  ];
}
