/**
 * The corpus's firings as the scorer needs them: rows, plan, kiln and truth. Nobody in them hears an alert, so that they
 * are the same whatever core says, and are kept on the disk from one scoring to the next.
 */
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readdirSync, readFileSync, renameSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { AlertKind } from '../../daemon/core/events.ts';
import type { EdgeNews } from '../../daemon/core/inputs.ts';
import { type KilnSetup, rulingSensor } from '../../daemon/core/plan/kiln.ts';
import type { Schedule } from '../../daemon/core/plan/schedule.ts';
import { faults as catalogue } from '../../simulators/faults/catalogue.ts';
import type { FiringScenario, LiveFiring, ScenarioRow } from '../../simulators/firing-scenario.ts';
import { type Harm, harmWatch } from '../../simulators/harm.ts';
import { radiationWPerK } from '../../simulators/heat-balance.ts';
import type { CoupleSpec } from '../../simulators/thermocouple.ts';
import { errorWatch } from './alerts-error-watch.ts';
import type { Built } from './built.ts';

export type CorpusParts = Pick<Built, 'corpus' | 'scenario'>;

/** Seconds are true ones, since the firing began, whatever the instrument's clock says. */
export interface TrueFault {
  readonly kind: AlertKind;
  readonly onsetS: number;
  readonly harmS: number | null;
  readonly endsS: number | null;
  /** When a couple's error first was 15 °C, and the schedule's tolerance; null where it never was, or no couple is off. */
  readonly at15CS: number | null;
  readonly atToleranceS: number | null;
}

/** From when to when the glass was harmed in this way, whoever did it. */
export interface TrueHarm {
  readonly harm: Harm;
  readonly fromS: number;
  readonly untilS: number;
}

export interface FiringFacts {
  readonly number: number;
  /** Its name in the catalogue; null in a quiet firing. */
  readonly fault: string | null;
  readonly heat: 'gas' | 'electric';
  readonly sampleS: number;
  readonly couple: string;
  /** Of the ruling couple, at 600 °C. */
  readonly lagS: number;
  readonly hasLidSwitch: boolean;
  readonly toleranceC: number;
  readonly faults: readonly TrueFault[];
  readonly harms: readonly TrueHarm[];
}

export interface CorpusFiring extends FiringFacts {
  readonly kiln: KilnSetup;
  readonly schedule: Schedule;
  readonly rows: Rows;
  /** What befell the daemon's disk, and before which row. */
  readonly edges: readonly { readonly row: number; readonly atMs: number; readonly news: EdgeNews }[];
}

export interface Rows {
  readonly startedAtMs: number;
  readonly sensors: readonly string[];
  /** The instrument's stamp, after `startedAtMs`. */
  readonly stampMs: Int32Array;
  /** The true instant at which the row came. */
  readonly cameMs: Int32Array;
  /** Thousandths of a degree; `NO_VALUE` where there is none. */
  readonly milliC: Int32Array;
  /** Index into `sensors`, and `LID_OPEN`, `LID_CLOSED`. */
  readonly flags: Uint8Array;
}

export const NO_VALUE = -2147483648;
export const SENSOR_BITS = 0x0f;
export const LID_OPEN = 0x10;
export const LID_CLOSED = 0x20;

/** How many versions of the simulator are kept on the disk. */
const KEPT_VERSIONS = 3;
const dist = fileURLToPath(new URL('../../dist/', import.meta.url));
const CACHE = fileURLToPath(new URL('../../node_modules/.cache/spyhole-corpus/', import.meta.url));
/** What this file and its helper keep; another number makes old files useless. */
const FORMAT = 1;

/** Stands for all that makes a corpus firing: the built simulator and what it takes from core. */
export function corpusVersion(): string {
  const hash = createHash('sha256').update(`${FORMAT}`);
  const makers = ['simulators', 'daemon/core'].map((folder) => join(dist, folder));
  for (const file of importedFrom(join(dist, 'simulators/corpus.js'))) {
    // How a file is read says nothing of the firing in it.
    if (makers.some((folder) => file.startsWith(folder))) hash.update(readFileSync(file));
  }
  return hash.digest('hex').slice(0, 12);
}

function importedFrom(entry: string): string[] {
  const files = new Set([entry]);
  for (const file of files) {
    for (const [, path = ''] of readFileSync(file, 'utf8').matchAll(/from ["'](\.[^"']+)["']/g)) {
      files.add(join(dirname(file), path));
    }
  }
  return [...files].sort();
}

/** Takes it from the disk, or fires it and keeps it. */
export function corpusFiring(built: CorpusParts, number: number, version: string): CorpusFiring {
  const folder = join(CACHE, version);
  const file = join(folder, `${number}.firing`);
  if (existsSync(file)) return fromKept(readFileSync(file));
  const firing = fireForScoring(built, number);
  mkdirSync(folder, { recursive: true });
  writeFileSync(`${file}.${process.pid}`, kept(firing));
  renameSync(`${file}.${process.pid}`, file);
  return firing;
}

/** Forgets what other versions of the simulator left, but for the latest few. */
export function forgetOldVersions(): void {
  if (!existsSync(CACHE)) return;
  const folders = readdirSync(CACHE).map((name) => join(CACHE, name));
  const byAge = folders.sort((a, b) => statSync(b).mtimeMs - statSync(a).mtimeMs);
  for (const folder of byAge.slice(KEPT_VERSIONS)) rmSync(folder, { recursive: true, force: true });
}

export function fireForScoring(built: CorpusParts, number: number): CorpusFiring {
  const scenario = built.corpus.corpusScenario(number);
  const fault = built.corpus.corpusFault(number);
  const firing = built.scenario.liveFiring(scenario);
  const toleranceC = scenario.schedule.toleranceC ?? scenario.kiln.toleranceC ?? 6;
  const { startedAtMs } = scenario;
  const rows: (ScenarioRow & { readonly cameMs: number })[] = [];
  const edges: { row: number; atMs: number; news: EdgeNews }[] = [];
  const errors = errorWatch();
  const harms = harmsOf(scenario, toleranceC);
  const ruling = rulingSensor(scenario.kiln);
  const isMeant = (sensor: string): boolean =>
    effectsOf(fault).some((e) => e.on === 'couple' && (e.others === true) === (sensor !== ruling));
  while (!firing.ended()) {
    const nowMs = firing.atMs() - startedAtMs;
    const news = firing.step(firing.atMs());
    for (const { atMs, news: edge } of news.edges) edges.push({ row: rows.length, atMs, news: edge });
    for (const row of news.rows) {
      const stampMs = row.atMs - startedAtMs;
      // Within the second the stamp says it better, as long as the instrument's clock is right.
      const cameMs = nowMs - stampMs >= 0 && nowMs - stampMs < 1000 ? stampMs : nowMs;
      rows.push({ ...row, cameMs });
      if (isMeant(row.sensor) && row.celsius !== null) {
        errors.see(cameMs / 1000, row.sensor, row.celsius - firing.soundC(row.sensor));
      }
    }
    harms.watch(nowMs / 1000, firing);
  }
  const sensors = scenario.kiln.sensors.map((s) => s.name);
  const s = (atMs: number): number => (atMs - startedAtMs) / 1000;
  const couple = scenario.couples.find((c) => c.sensor === ruling);
  return {
    number,
    fault,
    heat: scenario.plant.heat,
    sampleS: scenario.instrument.sampleS,
    couple: built.corpus.corpusData(number).couples.find((c) => c.sensor === ruling)?.is ?? 'unknown',
    lagS: couple === undefined ? Number.NaN : lagAt600S(couple),
    hasLidSwitch: scenario.lidSwitch,
    toleranceC,
    faults: firing.truth().map((f) => ({
      kind: f.class,
      onsetS: s(f.onsetMs),
      harmS: f.harmMs === null ? null : s(f.harmMs),
      endsS: f.endsMs === null ? null : s(f.endsMs),
      at15CS: errors.reached(15, s(f.onsetMs)),
      atToleranceS: errors.reached(toleranceC, s(f.onsetMs)),
    })),
    harms: harms.all(),
    kiln: scenario.kiln,
    schedule: scenario.schedule,
    edges,
    rows: {
      startedAtMs,
      sensors,
      stampMs: Int32Array.from(rows, (row) => row.atMs - startedAtMs),
      cameMs: Int32Array.from(rows, (row) => row.cameMs),
      milliC: Int32Array.from(rows, (row) => (row.celsius === null ? NO_VALUE : Math.round(row.celsius * 1000))),
      flags: Uint8Array.from(rows, (row) => sensors.indexOf(row.sensor) | lidFlag(row.lid)),
    },
  };
}

/** What a wall and a tip see of each other, and still gas beside it; as `thermocouple.ts` has them. */
const AT_600_WPERM2K = radiationWPerK(0.8, 600, 600);
const STILL_WPERM2K = 5;

/** Sheath and bead together. */
function lagAt600S({ lagS, lagAtWPerM2K, beadLagS, gasRatio }: CoupleSpec): number {
  const exchange = AT_600_WPERM2K + (gasRatio ?? 1) * STILL_WPERM2K;
  return (lagAtWPerM2K === undefined ? lagS : (lagS * lagAtWPerM2K) / exchange) + (beadLagS ?? 0);
}

const lidFlag = (lid: 'open' | 'closed' | undefined): number =>
  lid === undefined ? 0 : lid === 'open' ? LID_OPEN : LID_CLOSED;

export function effectsOf(fault: string | null) {
  return fault === null ? [] : (catalogue[fault]?.effects ?? []);
}

/** What the glass suffered, second by second, as stretches. */
function harmsOf(scenario: FiringScenario, toleranceC: number) {
  const glass = harmWatch(scenario.schedule, toleranceC);
  const stretches: { harm: Harm; fromS: number; untilS: number }[] = [];
  const open = new Map<Harm, { harm: Harm; fromS: number; untilS: number }>();
  return {
    watch(atS: number, firing: LiveFiring): void {
      for (const harm of glass.watch(firing.plant.celsius('glass') - scenario.glassHabitC)) {
        const last = open.get(harm);
        if (last !== undefined && atS - last.untilS <= 60) {
          last.untilS = atS;
          continue;
        }
        const stretch = { harm, fromS: atS, untilS: atS };
        open.set(harm, stretch);
        stretches.push(stretch);
      }
    },
    all: (): readonly TrueHarm[] => stretches,
  };
}

/** A line of JSON, then the columns of the rows, one after the other. */
export function kept(firing: CorpusFiring): Uint8Array {
  const { rows, ...rest } = firing;
  const { stampMs, cameMs, milliC, flags, ...about } = rows;
  const text = JSON.stringify({ ...rest, rows: { ...about, count: flags.length } });
  const head = Buffer.from(text + ' '.repeat((4 - ((Buffer.byteLength(text) + 1) % 4)) % 4));
  const columns = [stampMs, cameMs, milliC, flags].map((c) => Buffer.from(c.buffer, c.byteOffset, c.byteLength));
  return Buffer.concat([head, Buffer.from('\n'), ...columns]);
}

export function fromKept(bytes: Uint8Array): CorpusFiring {
  const headEnd = bytes.indexOf(10);
  const { rows, ...rest } = JSON.parse(Buffer.from(bytes.subarray(0, headEnd)).toString()) as Omit<
    CorpusFiring,
    'rows'
  > & {
    rows: Omit<Rows, 'stampMs' | 'cameMs' | 'milliC' | 'flags'> & { count: number };
  };
  const { count, ...about } = rows;
  // A copy starts at an even place, as the columns need it.
  const body = new Uint8Array(bytes.subarray(headEnd + 1)).buffer;
  return {
    ...rest,
    rows: {
      ...about,
      stampMs: new Int32Array(body, 0, count),
      cameMs: new Int32Array(body, 4 * count, count),
      milliC: new Int32Array(body, 8 * count, count),
      flags: new Uint8Array(body, 12 * count, count),
    },
  };
}
