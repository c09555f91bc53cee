/** The kiln's own file: the few numbers that were fitted to its firings, from which firings, and how sure they are. */
import { writeFileSync } from 'node:fs';
import { stringify } from 'yaml';
import { z } from 'zod';
import { ESTIMATED, type Estimate, type EstimatedName } from '../core/kiln-model/fit-kiln.ts';
import { modelOf, PARAMETERS } from '../core/kiln-model/kiln-parameters.ts';
import type { UnsureModel } from '../core/kiln-model/spread.ts';
import { ConfigError } from '../errors.ts';
import { schemaFaults, strict } from './faults.ts';
import { above0, temperature, words } from './schedule-schema.ts';
import { readYamlFile } from './yaml-file.ts';

const AGAIN = 'run spyhole fit again rather than changing it by hand';
const number = z.number({ error: AGAIN });
const time = z.iso.datetime({ error: 'write the time as ISO 8601 in UTC' });

const estimate = strict(
  { value: number, low: number, high: number, told: z.enum(['told', 'at-least', 'unknown'], { error: AGAIN }) },
  'write {value, low, high, told}',
);

const path = words('a path', 1000);
const firing = strict(
  {
    name: words('its name', 200),
    startedAt: time,
    peakC: temperature('its peak'),
    errorC: number,
    firing: path.optional(),
    schedule: path.optional(),
    readings: path.optional(),
    inputs: path.optional(),
    acts: path.optional(),
  },
  'write name, startedAt, peakC, errorC and where it lies',
);

const row = z.array(number, { error: AGAIN }).length(PARAMETERS.length, { error: AGAIN });

const fittedSchema = strict(
  {
    kiln: words('the kiln’s name', 100),
    software: words('the version that fitted it', 100),
    fittedAt: time,
    heat: z.enum(['gas', 'electric'], { error: 'write gas or electric' }),
    setting: z.enum(['proportional', 'valve', 'voltage'], { error: 'write proportional, valve or voltage' }),
    /** The recorded setting's name and its figure at full heat; left out where none was recorded. */
    heatInput: words('the input’s name', 100).optional(),
    fullSetting: above0('the setting at full heat').optional(),
    roomC: temperature('the room’s temperature'),
    topC: temperature('the hottest of its firings'),
    heatKnownRatio: number.min(0, { error: AGAIN }).max(1, { error: AGAIN }),
    fitErrorC: number,
    firings: z.array(firing, { error: 'write a list of the firings' }).min(1, { error: 'write a list of the firings' }),
    /** For people. */
    numbers: strict(
      Object.fromEntries(ESTIMATED.map((name) => [name, estimate])) as Record<EstimatedName, typeof estimate>,
      `write ${ESTIMATED.join(', ')}`,
    ),
    /** For the program: what the numbers are worked out of. */
    fit: strict(
      {
        parameters: z.array(z.enum(PARAMETERS, { error: AGAIN }), { error: AGAIN }),
        logs: row,
        logCovariance: z.array(row, { error: AGAIN }).length(PARAMETERS.length, { error: AGAIN }),
      },
      'write {parameters, logs, logCovariance}',
    ),
  },
  'write the file that spyhole fit --out makes',
);

export interface FittedKiln extends z.infer<typeof fittedSchema> {}

/** @throws ConfigError naming every fault */
export function readFittedKiln(file: string): FittedKiln {
  const source = readYamlFile(file);
  const faults = schemaFaults(fittedSchema, source);
  if (faults.length > 0) throw new ConfigError(file, faults);
  const fitted = fittedSchema.parse(source.value);
  if (fitted.fit.parameters.join() !== PARAMETERS.join()) {
    const what = `its parameters are ${fitted.fit.parameters.join(', ')}`;
    throw new ConfigError(file, [{ what, where: 'fit.parameters', right: AGAIN }]);
  }
  return fitted;
}

/** @throws ConfigError where it cannot be written */
export function writeFittedKiln(file: string, fitted: FittedKiln): void {
  const head =
    '# What spyhole fit found of this kiln. Add firings by running it again; numbers are nine in ten within low and high.\n';
  try {
    writeFileSync(file, head + stringify(fitted, { lineWidth: 0 }));
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code ?? String(error);
    throw new ConfigError(file, [
      { what: `cannot be written (${code})`, where: 'the file', right: 'name a file that this user may write' },
    ]);
  }
}

export function unsureModelOf(fitted: FittedKiln): UnsureModel {
  const { logs, logCovariance } = fitted.fit;
  return { model: modelOf(logs, fitted.heat), logs, covariance: logCovariance, errorC: fitted.fitErrorC };
}

/** Four digits that count: more would pretend. */
export function shortEstimate({ value, low, high, told }: Estimate): Estimate {
  const short = (n: number): number => Number(n.toPrecision(4));
  return { value: short(value), low: short(low), high: short(high), told };
}
