/** The built program in `dist`, as `npm ci` leaves it: the bench measures this, never the source. */
import { existsSync, readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';

const root = fileURLToPath(new URL('../../', import.meta.url));
const dist = join(root, 'dist');

/** The command line's entry. */
export const spyholeJs = join(dist, 'daemon/main.js');

type NativeImport = (url: string) => Promise<unknown>;

export interface Built {
  readonly state: typeof import('../../daemon/core/state.ts');
  readonly step: typeof import('../../daemon/core/step.ts');
  readonly kilnFile: typeof import('../../daemon/config/kiln-file.ts');
  readonly recorder: typeof import('../../daemon/recorder/file-recorder.ts');
  readonly firingId: typeof import('../../daemon/recorder/firing-id.ts');
  readonly verify: typeof import('../../daemon/commands/verify.ts');
  readonly examine: typeof import('../../daemon/runtime/examine.ts');
  readonly archive: typeof import('../../daemon/runtime/archive.ts');
  readonly derived: typeof import('../../daemon/recorder/derived.ts');
  readonly recordLines: typeof import('../../daemon/runtime/record-lines.ts');
  readonly prospect: typeof import('../../daemon/core/forecast/prospect.ts');
  readonly scenario: typeof import('../../simulators/firing-scenario.ts');
  readonly electricKiln: typeof import('../../simulators/electric-kiln.ts');
  readonly scenarioFile: typeof import('../../simulators/scenario-file.ts');
  readonly corpus: typeof import('../../simulators/corpus.ts');
  readonly operator: typeof import('../../simulators/operator.ts');
  readonly its90: typeof import('../../daemon/core/thermometry/its90.ts');
  readonly its90Coefficients: typeof import('../../daemon/core/thermometry/its90-coefficients.ts');
  readonly coldJunction: typeof import('../../daemon/core/thermometry/cold-junction.ts');
  readonly measurement: typeof import('../../daemon/core/thermometry/measurement.ts');
  readonly converter: typeof import('../../daemon/core/thermometry/converter.ts');
}

const PARTS: Readonly<Record<keyof Built, string>> = {
  state: 'daemon/core/state.js',
  step: 'daemon/core/step.js',
  kilnFile: 'daemon/config/kiln-file.js',
  recorder: 'daemon/recorder/file-recorder.js',
  firingId: 'daemon/recorder/firing-id.js',
  verify: 'daemon/commands/verify.js',
  examine: 'daemon/runtime/examine.js',
  archive: 'daemon/runtime/archive.js',
  derived: 'daemon/recorder/derived.js',
  recordLines: 'daemon/runtime/record-lines.js',
  prospect: 'daemon/core/forecast/prospect.js',
  scenario: 'simulators/firing-scenario.js',
  electricKiln: 'simulators/electric-kiln.js',
  scenarioFile: 'simulators/scenario-file.js',
  corpus: 'simulators/corpus.js',
  operator: 'simulators/operator.js',
  its90: 'daemon/core/thermometry/its90.js',
  its90Coefficients: 'daemon/core/thermometry/its90-coefficients.js',
  coldJunction: 'daemon/core/thermometry/cold-junction.js',
  measurement: 'daemon/core/thermometry/measurement.js',
  converter: 'daemon/core/thermometry/converter.js',
};

/** @param load Node's own `import`, which vite cannot hand through */
export async function loadBuilt(load: NativeImport): Promise<Built> {
  if (!existsSync(spyholeJs)) throw new Error('There is no built program: run "npm run build".');
  const parts = await Promise.all(
    Object.entries(PARTS).map(async ([name, path]) => [name, await load(pathToFileURL(join(dist, path)).href)]),
  );
  return Object.fromEntries(parts) as Built;
}

/** A sentence where the source is newer than what was built from it, or null. */
export function whyStale(): string | null {
  const builtMs = statSync(spyholeJs).mtimeMs;
  const isStale = ['daemon', 'simulators', 'web'].some((part) => newestMs(join(root, part)) > builtMs);
  return isStale ? 'The source is newer than the built program: run "npm run build" to measure what you see.' : null;
}

function newestMs(dir: string): number {
  const files = readdirSync(dir, { recursive: true, withFileTypes: true }).filter((entry) => entry.isFile());
  return Math.max(...files.map((file) => statSync(join(file.parentPath, file.name)).mtimeMs));
}
