/** Fires a scenario into files: the readings, the plan, the kiln, and the truth that no product code may read. */
import { closeSync, openSync, writeFileSync, writeSync } from 'node:fs';
import { ConfigError } from '../daemon/errors.ts';
import { csvHeader, csvLine } from './firing-csv.ts';
import { type FiringScenario, liveFiring } from './firing-scenario.ts';

/** A fault as the truth file tells it; times are ISO 8601, UTC. */
export interface ToldFault {
  readonly class: string;
  readonly onset: string;
  readonly harm: string | null;
  readonly ends: string;
}

export interface Written {
  readonly files: readonly string[];
  readonly rows: number;
  readonly faults: readonly ToldFault[];
}

/** Simulated milliseconds between two writes: memory stays small however long the firing. */
const CHUNK_MS = 10 * 60_000;

const iso = (atMs: number): string => new Date(atMs).toISOString();

/**
 * Writes X.csv, X.schedule.json, X.kiln.json, X.truth.json and X.acts.csv, what the painter did. `glassC` of the truth has one value for each row of the
 * CSV, in its order.
 * @throws ConfigError where the files cannot be written
 */
export function writeFiring(scenario: FiringScenario, out: string): Written {
  const stem = out.endsWith('.csv') ? out.slice(0, -4) : out;
  const files = ['.csv', '.schedule.json', '.kiln.json', '.truth.json', '.acts.csv'].map((end) => `${stem}${end}`);
  try {
    return write(scenario, files);
  } catch (error) {
    if (!(error instanceof Error && 'code' in error)) throw error;
    const fault = {
      what: `cannot be written (${String(error.code)})`,
      where: 'the file',
      right: 'name a folder that is there and may be written to',
    };
    throw new ConfigError(out, [fault]);
  }
}

function write(scenario: FiringScenario, files: readonly string[]): Written {
  const [csvFile = '', scheduleFile = '', kilnFile = '', truthFile = '', actsFile = ''] = files;
  const firing = liveFiring(scenario);
  const csv = openSync(csvFile, 'w');
  const truth = openSync(truthFile, 'w');
  let rows = 0;
  const acts: string[] = [];
  let faults: ToldFault[] = [];
  try {
    writeSync(csv, csvHeader(scenario.lidSwitch));
    writeSync(truth, '{"glassC":[');
    while (!firing.ended()) {
      const news = firing.step(firing.atMs() + CHUNK_MS);
      writeSync(csv, news.rows.map(csvLine).join(''));
      const glass = news.rows.map((row) => String(Math.round(row.glassC * 1000) / 1000)).join(',');
      writeSync(truth, rows > 0 && glass !== '' ? `,${glass}` : glass);
      rows += news.rows.length;
      acts.push(...news.acts.map((act) => `${iso(act.atMs)},${act.what},${act.value}\n`));
    }
    const endMs = firing.atMs();
    faults = firing.truth().map((fault) => ({
      class: fault.class,
      onset: iso(fault.onsetMs),
      harm: fault.harmMs === null ? null : iso(fault.harmMs),
      ends: iso(fault.endsMs ?? endMs),
    }));
    writeSync(truth, `],"faults":${JSON.stringify(faults)}}\n`);
  } finally {
    closeSync(csv);
    closeSync(truth);
  }
  const { decodings: _decodings, utcOffsetMinutes: _offset, ...kiln } = scenario.kiln;
  writeFileSync(scheduleFile, `${JSON.stringify(scenario.schedule, null, 2)}\n`);
  writeFileSync(actsFile, `time,what,value\n${acts.join('')}`);
  writeFileSync(kilnFile, `${JSON.stringify(kiln, null, 2)}\n`);
  return { files, rows, faults };
}
