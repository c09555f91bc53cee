/** Core on recorded runs of real plants: what it would have said, and how far off its forecast was beside plain ways. */
import type { FiringEvent } from '../../daemon/core/events.ts';
import { rulingSensor } from '../../daemon/core/plan/kiln.ts';
import type { FiringState } from '../../daemon/core/state.ts';
import type { Built } from './built.ts';
import { type DataSet, readDataSets } from './data-set.ts';
import { figure, rms, table } from './figures.ts';
import { damped, fitHolt, type Origin, straightLineC, type Timed } from './rivals.ts';

const AHEAD_S = [120, 300, 600] as const;
/** A run shorter than this has no ten minutes to look ahead. */
const SHORT_RUN_S = 1200;
/** What speaks this often may be a plant much faster than a kiln: there it is so many readings as well. */
const OFTEN_S = 2;
const AHEAD_READINGS = [10, 30, 60] as const;
/** Places looked ahead from, at most, evenly spread over the run. */
const ORIGINS = 3000;

interface Promise90 {
  readonly celsius: number;
  readonly lowC: number;
  readonly highC: number;
}

interface Looked {
  /** Good readings of the ruling sensor. */
  readonly readings: readonly Timed[];
  /** Beside each of them what core then foresaw, one for each horizon; null while it foresaw nothing. */
  readonly promises: readonly (readonly (Promise90 | null)[])[];
  readonly state: FiringState;
  readonly alerts: Readonly<Record<string, number>>;
}

export function benchForecast(built: Built, dir: string): string {
  const errorRows: string[][] = [];
  const alertRows: string[][] = [];
  for (const set of readDataSets(dir)) {
    const byReadings = AHEAD_READINGS.map((count) => ({ name: `${count} readings`, aheadS: count * set.intervalS }));
    const byMinutes = AHEAD_S.map((aheadS) => ({ name: `${aheadS / 60} min`, aheadS }));
    const isShort = set.spanS < SHORT_RUN_S;
    const horizons = [...(isShort || set.intervalS <= OFTEN_S ? byReadings : []), ...(isShort ? [] : byMinutes)];
    const looked = look(
      built,
      set,
      horizons.map((h) => h.aheadS),
    );
    alertRows.push(alertRow(set, looked));
    for (const some of [byReadings, byMinutes]) {
      const columns = horizons.flatMap((h, i) => (some.includes(h) ? [i] : []));
      if (columns.length > 0) errorRows.push(...errorRowsOf(set, looked, some, columns));
    }
  }
  return [
    table(
      'alerts: what core would have said of each run, by the plan that came with it',
      ['run', 'plan', 'readings', 'rejected', 'healthy', 'alerts'],
      alertRows,
    ),
    table(
      'forecast: root mean square error in °C (share of readings within the band that should hold 90 %); the damped trend was fitted to the same run',
      ['run, ahead', 'looks', 'core', 'in band', 'as it is', 'straight line', 'damped trend', 'core / best'],
      errorRows,
    ),
  ].join('\n');
}

/** Takes every row through core as a replay does. */
function look(built: Built, set: DataSet, horizonsS: readonly number[]): Looked {
  const { passTime, step } = built.step;
  const ruling = rulingSensor(set.kiln);
  const readings: Timed[] = [];
  const promises: (readonly (Promise90 | null)[])[] = [];
  const calledIds = new Map<string, string>();
  let state = built.state.beginFiring(set.kiln, set.schedule, set.rows[0]?.atMs ?? 0);
  for (const { atMs, sensor, celsius } of set.rows) {
    const passed = passTime(state, atMs);
    const text = celsius === null ? '' : String(celsius);
    const stepped = step(passed.state, { kind: 'raw', atMs, input: 'rows', channel: sensor, text });
    state = stepped.state;
    for (const event of [...passed.events, ...stepped.events]) noteAlert(event, calledIds);
    const heard = stepped.events.find((e) => e.type === 'reading');
    if (heard?.type !== 'reading' || heard.sensor !== ruling || heard.quality !== 'good' || heard.celsius === null) {
      continue;
    }
    readings.push({ atMs, celsius: heard.celsius });
    promises.push(horizonsS.map((aheadS) => promiseAt(built, state, aheadS)));
  }
  const alerts: Record<string, number> = {};
  for (const kind of calledIds.values()) alerts[kind] = (alerts[kind] ?? 0) + 1;
  return { readings, promises, state, alerts };
}

function noteAlert(event: FiringEvent, calledIds: Map<string, string>): void {
  if (event.type === 'alert') calledIds.set(event.id, event.alert);
}

function promiseAt(built: Built, state: FiringState, aheadS: number): Promise90 | null {
  const { prospect } = state.foresight;
  if (prospect === null) return null;
  const sinceS = (state.nowMs - prospect.atMs) / 1000;
  const { aheadC, aheadBandC } = built.prospect;
  return { celsius: aheadC(prospect.expected, aheadS + sinceS), ...aheadBandC(prospect.expected, aheadS + sinceS) };
}

function alertRow(set: DataSet, { readings, state, alerts }: Looked): string[] {
  const said = Object.entries(alerts).map(([kind, count]) => `${kind} ${count}`);
  const end = state.ended ? `ended by itself after ${readings.length}; ` : '';
  return [
    set.name,
    set.schedule === null ? 'none' : 'its own',
    String(state.readingCount),
    String(state.rejectedCount),
    set.isHealthy ? 'yes' : 'no',
    `${end}${said.length === 0 ? 'none' : said.join(', ')}`,
  ];
}

interface Horizon {
  readonly name: string;
  readonly aheadS: number;
}

/** @param columns where in `looked.promises` these horizons stand */
function errorRowsOf(
  set: DataSet,
  { readings, promises: all }: Looked,
  horizons: readonly Horizon[],
  columns: readonly number[],
): string[][] {
  const horizonsS = horizons.map((h) => h.aheadS);
  const promises = all.map((one) => columns.map((c) => one[c] ?? null));
  const origins = originsOf(readings, promises, set.intervalS, horizonsS);
  const holt = damped(readings, set.intervalS, fitHolt(readings, set.intervalS, origins, horizonsS));
  return horizons.flatMap(({ name, aheadS }, h) => {
    const errors = { core: [] as number[], asItIs: [] as number[], line: [] as number[], holt: [] as number[] };
    let withinCount = 0;
    for (const { at, truthC } of origins) {
      const truth = truthC[h];
      const promise = promises[at]?.[h];
      const lineC = straightLineC(readings, at, aheadS);
      if (truth == null || promise == null || lineC === null) continue;
      errors.core.push(promise.celsius - truth);
      errors.asItIs.push((readings[at]?.celsius ?? Number.NaN) - truth);
      errors.line.push(lineC - truth);
      errors.holt.push(holt(at, aheadS) - truth);
      if (truth >= promise.lowC && truth <= promise.highC) withinCount++;
    }
    const count = errors.core.length;
    if (count === 0) return [];
    const coreC = rms(errors.core);
    const bestC = Math.min(rms(errors.asItIs), rms(errors.line), rms(errors.holt));
    return [
      [
        `${set.name}, ${name}`,
        String(count),
        figure(coreC),
        `${Math.round((100 * withinCount) / count)} %`,
        figure(rms(errors.asItIs)),
        figure(rms(errors.line)),
        figure(rms(errors.holt)),
        figure(coreC / bestC),
      ],
    ];
  });
}

/** Places from which core foresaw something, with the truth by straight lines between the readings that came. */
function originsOf(
  readings: readonly Timed[],
  promises: Looked['promises'],
  intervalS: number,
  horizonsS: readonly number[],
): Origin[] {
  const stride = Math.max(Math.ceil(readings.length / ORIGINS), 1);
  const ahead = horizonsS.map(() => 0);
  const origins: Origin[] = [];
  for (let at = 0; at < readings.length; at += stride) {
    const now = readings[at];
    if (now === undefined || promises[at]?.[0] == null) continue;
    const truthC = horizonsS.map((aheadS, h) => {
      const atMs = now.atMs + aheadS * 1000;
      let after = Math.max(ahead[h] ?? 0, at);
      while (after < readings.length && (readings[after]?.atMs ?? 0) < atMs) after++;
      ahead[h] = after;
      return betweenC(readings[after - 1], readings[after], atMs, intervalS);
    });
    origins.push({ at, truthC });
  }
  return origins;
}

function betweenC(a: Timed | undefined, b: Timed | undefined, atMs: number, intervalS: number): number | null {
  if (a === undefined || b === undefined || b.atMs - a.atMs > 5000 * intervalS) return null;
  return b.atMs === a.atMs ? b.celsius : a.celsius + ((b.celsius - a.celsius) * (atMs - a.atMs)) / (b.atMs - a.atMs);
}
