/** Lays damaged copies of a data folder before the checker, one after the other. */
import { mkdir, mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { realDisk } from '../../daemon/recorder/disk.ts';
import { openKeys } from '../../daemon/recorder/key-ring.ts';
import { type Changes, damages, type Files, makeWholeFolder } from './damaged-records.ts';

export interface DamageTrial {
  /** The code and the sentences for each kind of damage, how often each. */
  readonly codes: ReadonlyMap<string, ReadonlyMap<number, number>>;
  /** Damages that were accepted, with what was said of them. */
  readonly accepted: readonly string[];
  readonly tried: number;
}

type Verify = typeof import('../../daemon/commands/verify.ts').verify;

/** Each copy is checked whole, with the known key and the ledger that stands beside it. */
export async function tryDamages(verify: Verify, count: number, seed: number): Promise<DamageTrial> {
  const dataDir = await mkdtemp(join(tmpdir(), 'spyhole-damage-'));
  try {
    const { whole, older } = await makeWholeFolder(dataDir);
    const { signer } = await openKeys(realDisk, dataDir, 0);
    const check = async (): Promise<{ code: number; said: string }> => {
      const said: string[] = [];
      const code = await verify('--all', dataDir, (line) => said.push(line), undefined, { key: signer.fingerprint });
      return { code, said: said.join('\n') };
    };
    const before = await check();
    if (before.code !== 0) throw new Error(`The folder was not whole before it was damaged: ${before.said}`);
    const codes = new Map<string, Map<number, number>>();
    const accepted: string[] = [];
    let tried = 0;
    for (const { kind, changes } of damages(whole, older, seed)) {
      await lay(dataDir, changes);
      const { code, said } = await check();
      const ofKind = codes.get(kind) ?? new Map<number, number>();
      ofKind.set(code, (ofKind.get(code) ?? 0) + 1);
      codes.set(kind, ofKind);
      if (code !== 1 && code !== 3) accepted.push(`${kind}: code ${code}: ${said}`);
      await lay(dataDir, restored(whole, changes));
      tried += 1;
      if (tried === count) break;
    }
    return { codes, accepted, tried };
  } finally {
    await rm(dataDir, { recursive: true });
  }
}

function restored(whole: Files, changes: Changes): Changes {
  return new Map([...changes.keys()].map((path) => [path, whole.get(path) ?? null]));
}

async function lay(dataDir: string, changes: Changes): Promise<void> {
  for (const [path, bytes] of changes) {
    const file = join(dataDir, path);
    if (bytes === null) {
      await rm(file, { force: true });
      continue;
    }
    await mkdir(dirname(file), { recursive: true });
    await writeFile(file, bytes);
  }
}
