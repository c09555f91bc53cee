/** Kinds of instruments as they are usually wired, to begin a kiln's `input` from: data under `profiles/interfaces`. */
import { existsSync, readdirSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { z } from 'zod';
import { ConfigError } from '../errors.ts';
import { schemaFaults, strict } from './faults.ts';
import type { InputShape } from './input-schema.ts';
import { inputSchema } from './input-schema.ts';
import { parseKiln } from './kiln-file.ts';
import { words } from './schedule-schema.ts';
import { readYamlFile } from './yaml-file.ts';

export interface InterfaceProfile {
  /** The file's name without its ending. */
  readonly key: string;
  readonly name: string;
  /** Which instruments it is for. */
  readonly for: string;
  /** Stand-ins for the kiln's own sensors, named in `input`. */
  readonly sensors: readonly string[];
  /** As it is written in a kiln's entry, with what differs from one workshop to the next to be put in. */
  readonly input: unknown;
  readonly kind: InputShape['kind'];
  /** The keys of `input` that the person must look at. */
  readonly ask: readonly string[];
  readonly source: string;
  readonly notes?: string | undefined;
}

const KEYS = 'write a list of the keys in input that differ from one workshop to the next';
const SENSORS = 'write a list of sensor names, as input has them';

const profileSchema = strict(
  {
    name: words('what kind of instrument it is', 100),
    for: words('which instruments it is for', 300),
    sensors: z.array(words('a sensor name', 40), { error: SENSORS }).min(1, { error: SENSORS }),
    input: inputSchema,
    ask: z.array(words('a key', 40), { error: KEYS }),
    source: words('where this is known from', 300),
    notes: words('what helps to set it up', 1000).optional(),
  },
  'write name, for, sensors, input, ask and source',
);

/** In the order of their names. @throws ConfigError naming every fault of the first file that has one */
export function readInterfaceProfiles(dir = shippedInterfacesDir()): readonly InterfaceProfile[] {
  return readdirSync(dir)
    .filter((name) => name.endsWith('.yaml'))
    .sort()
    .map((name) => readProfile(join(dir, name), name.slice(0, -'.yaml'.length)));
}

function readProfile(path: string, key: string): InterfaceProfile {
  const source = readYamlFile(path);
  const faults = schemaFaults(profileSchema, source);
  if (faults.length > 0) throw new ConfigError(source.file, faults);
  const { input, ...profile } = profileSchema.parse(source.value);
  const asWritten = (source.value as { input: unknown }).input;
  // What a schema cannot say of an input, a kiln with these sensors says.
  const sensors = profile.sensors.map((name) => ({ name, letter: 'K' }));
  const kiln = { id: 'any', name: 'Any kiln', heat: 'electric', closure: 'lid', sensors, input: asWritten };
  parseKiln(kiln, source.file, { withInput: true });
  return { ...profile, key, input: asWritten, kind: input.kind };
}

/** Found from the source as well as from the built code, which lies one folder deeper. */
function shippedInterfacesDir(): string {
  let dir = dirname(fileURLToPath(import.meta.url));
  for (;;) {
    const candidate = join(dir, 'profiles', 'interfaces');
    if (existsSync(candidate)) return candidate;
    const parent = dirname(dir);
    if (parent === dir) throw new ConfigError('profiles/interfaces', [LOST]);
    dir = parent;
  }
}

const LOST = {
  what: 'is not there',
  where: 'the folder',
  right: 'install Spyhole anew: it comes along with the kinds of instruments',
};
