/** `spyhole fit`: what recorded firings tell of a kiln, in plain words and as the kiln's own file. */
import { existsSync } from 'node:fs';
import { resolve } from 'node:path';
import { type FittedKiln, readFittedKiln, shortEstimate, writeFittedKiln } from '../config/fitted-kiln-file.ts';
import { ROOM_C } from '../config/schedule-file.ts';
import { ESTIMATED, type EstimatedName, fitKiln, type KilnFit } from '../core/kiln-model/fit-kiln.ts';
import { fitSentences, unknownSentences } from '../core/kiln-model/fit-words.ts';
import type { FitSetting } from '../core/kiln-model/kiln-parameters.ts';
import { PARAMETERS } from '../core/kiln-model/kiln-parameters.ts';
import { type KilnTraits, kilnTraits } from '../core/kiln-model/kiln-traits.ts';
import { seenFallC } from '../core/kiln-model/recorded-firing.ts';
import { ConfigError } from '../errors.ts';
import {
  type FiringSource,
  type FullHeat,
  forFit,
  fullHeat,
  type ReadFiring,
  readFiring,
} from '../runtime/firing-for-fit.ts';
import { SOFTWARE } from '../runtime/software.ts';

export interface FitOptions {
  readonly schedule?: readonly string[] | undefined;
  readonly readings?: readonly string[] | undefined;
  readonly inputs?: readonly string[] | undefined;
  readonly acts?: readonly string[] | undefined;
  readonly firing?: readonly string[] | undefined;
  readonly kiln?: string | undefined;
  /** Name of the recorded input that is the heat. */
  readonly heat?: string | undefined;
  /** Its figure, or the valve's mark, at full heat. */
  readonly full?: string | undefined;
  readonly out: string;
}

type Print = (line: string) => void;

/** @throws ConfigError for files that cannot be used, or readings that tell nothing */
export async function fitFirings(options: FitOptions, print: Print, nowMs: number): Promise<void> {
  const before = existsSync(options.out) ? readFittedKiln(options.out) : null;
  const sources = [...(before?.firings.map(sourceOf) ?? []), ...namedSources(options)];
  const firings: ReadFiring[] = [];
  for (const source of unlike(sources)) {
    firings.push(await readFiring(source, options.kiln, options.heat ?? before?.heatInput));
  }
  const kiln = firings.find((f) => f.kiln !== null)?.kiln ?? null;
  const heat = kiln?.heat ?? before?.heat ?? 'electric';
  refuseMixed(firings, heat, options.out);
  const full = fullHeat(firings, figure(options.full));
  const setting = settingOf(firings, heat);
  const recorded = firings.map((f) => forFit(f, heat, full, ROOM_C));
  const found = fitKiln(recorded, { heat, setting });
  if (found === null) {
    const what = 'holds fewer than 20 readings of the ruling sensor';
    throw new ConfigError('spyhole fit', [{ what, where: 'each firing', right: 'name a whole firing' }]);
  }
  const roomC = recorded.map((r) => r.roomC).sort((a, b) => a - b)[recorded.length >> 1] ?? ROOM_C;
  const topC = Math.max(...found.firings.map((f) => f.peakC));
  const name = kiln?.name ?? before?.kiln ?? 'Kiln';
  writeFittedKiln(options.out, fileOf({ name, found, firings, full, heat, setting, roomC, topC, nowMs }));
  const traits = kilnTraits(found, roomC, topC, Math.min(...recorded.map(seenFallC)));
  tell(found, name, heat, traits, print);
  print(`Written to ${options.out}.`);
}

function tell(found: KilnFit, name: string, heat: 'gas' | 'electric', traits: KilnTraits, print: Print): void {
  const count = found.firings.length;
  const known = Math.round(found.heatKnownRatio * 100);
  print(`${name}, from ${count === 1 ? 'one firing' : `${count} firings`}, the heat known in ${known} % of the time:`);
  for (const sentence of fitSentences(found, traits, heat)) print(sentence);
  for (const sentence of unknownSentences(found, traits, heat)) print(sentence);
  const each = found.firings.map((f) => `${f.name} ${f.errorC.toFixed(1)}`).join(', ');
  print(
    `Run through with nothing but its start and its heat, the model is ${found.errorC.toFixed(1)} °C off (${each}).`,
  );
}

interface Written {
  readonly name: string;
  readonly found: KilnFit;
  readonly firings: readonly ReadFiring[];
  readonly full: FullHeat;
  readonly heat: 'gas' | 'electric';
  readonly setting: FitSetting['setting'];
  readonly roomC: number;
  readonly topC: number;
  readonly nowMs: number;
}

function fileOf({ name, found, firings, full, heat, setting, roomC, topC, nowMs }: Written): FittedKiln {
  const input = firings.find((f) => f.setting !== null)?.setting?.input;
  const fullSetting = input === undefined ? full.mark : full.setting;
  const numbers = Object.fromEntries(ESTIMATED.map((n) => [n, shortEstimate(found.estimates[n])]));
  return {
    kiln: name,
    software: SOFTWARE,
    fittedAt: new Date(nowMs).toISOString(),
    heat,
    setting,
    ...(input !== undefined && { heatInput: input }),
    ...(fullSetting > 0 && { fullSetting }),
    roomC: rounded(roomC, 1),
    topC: rounded(topC, 1),
    heatKnownRatio: rounded(found.heatKnownRatio, 3),
    fitErrorC: rounded(found.errorC, 3),
    firings: found.firings.map((f, i) => ({
      name: f.name,
      startedAt: new Date(firings[i]?.readings[0]?.atMs ?? 0).toISOString(),
      peakC: rounded(f.peakC, 1),
      errorC: rounded(f.errorC, 3),
      ...firings[i]?.source,
    })),
    numbers: numbers as Record<EstimatedName, FittedKiln['numbers'][EstimatedName]>,
    fit: {
      parameters: [...PARAMETERS],
      logs: found.logs.map((log) => rounded(log, 6)),
      logCovariance: found.covariance.map((row) => row.map((value) => Number(value.toPrecision(6)))),
    },
  };
}

function rounded(value: number, decimals: number): number {
  return Number(value.toFixed(decimals));
}

/** A valve's marks are not quite proportional to heat, and a voltage's heat grows about with its square. */
function settingOf(firings: readonly ReadFiring[], heat: 'gas' | 'electric'): FitSetting['setting'] {
  const input = firings.find((f) => f.setting !== null)?.setting?.input;
  if (input !== undefined) return /volt/i.test(input) ? 'voltage' : 'proportional';
  return heat === 'gas' ? 'valve' : 'proportional';
}

function refuseMixed(firings: readonly ReadFiring[], heat: 'gas' | 'electric', out: string): void {
  const other = firings.find((f) => f.kiln !== null && f.kiln.heat !== heat);
  if (other !== undefined) {
    const what = `is fired by ${other.kiln?.heat}, the others by ${heat}`;
    throw new ConfigError(out, [{ what, where: `the firing "${other.name}"`, right: 'fit one kiln at a time' }]);
  }
  const inputs = new Set(firings.flatMap((f) => (f.setting === null ? [] : [f.setting.input])));
  if (inputs.size <= 1) return;
  const what = `the heat is ${[...inputs].join(' in one firing and ')} in another`;
  throw new ConfigError(out, [
    { what, where: 'the inputs', right: 'fit firings together whose heat was recorded alike' },
  ]);
}

function figure(text: string | undefined): number | undefined {
  if (text === undefined) return undefined;
  const value = Number(text);
  if (value > 0 && Number.isFinite(value)) return value;
  const fault = {
    what: `found ${JSON.stringify(text)}`,
    where: '--full',
    right: 'write the setting at full heat, a number above 0',
  };
  throw new ConfigError('the command line', [fault]);
}

function sourceOf(firing: FittedKiln['firings'][number]): FiringSource {
  if (firing.firing !== undefined) return { firing: firing.firing };
  const { schedule = '', readings = '', inputs, acts } = firing;
  return { schedule, readings, ...(inputs !== undefined && { inputs }), ...(acts !== undefined && { acts }) };
}

function namedSources(options: FitOptions): FiringSource[] {
  const { readings = [], schedule = [], inputs = [], acts = [], firing = [] } = options;
  if (readings.length === 0 && firing.length === 0) {
    const fault = {
      what: 'there is nothing to fit',
      where: 'the options',
      right: 'give --schedule and --readings, or --firing',
    };
    throw new ConfigError('spyhole fit', [fault]);
  }
  const lists = { schedule, inputs, acts };
  for (const [name, list] of Object.entries(lists)) {
    const isOptional = name !== 'schedule' && list.length === 0;
    // One schedule serves all.
    const isShared = name === 'schedule' && list.length === 1;
    if (isOptional || isShared || list.length === readings.length) continue;
    const what = `found ${list.length} for ${readings.length} --readings`;
    const right =
      name === 'schedule'
        ? 'give one for each --readings, or one for all'
        : 'give one for each --readings, in the same order, with - for none';
    throw new ConfigError('the command line', [{ what, where: `--${name}`, right }]);
  }
  const nth = (list: readonly string[], i: number): string | undefined => (list[i] === '-' ? undefined : list[i]);
  const files = readings.map((file, i): FiringSource => {
    const input = nth(inputs, i);
    const act = nth(acts, i);
    return {
      schedule: resolve(schedule[i] ?? schedule[0] ?? ''),
      readings: resolve(file),
      ...(input !== undefined && { inputs: resolve(input) }),
      ...(act !== undefined && { acts: resolve(act) }),
    };
  });
  return [...files, ...firing.map((folder) => ({ firing: resolve(folder) }))];
}

/** A firing that is named again counts once, as it is named last. */
function unlike(sources: readonly FiringSource[]): FiringSource[] {
  const byPlace = new Map(sources.map((s) => ['firing' in s ? s.firing : s.readings, s] as const));
  return [...byPlace.values()];
}
