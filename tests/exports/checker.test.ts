/** The checker that goes with an export and `spyhole verify` look at the same damaged records: they must be of one mind. */
import { execFile } from 'node:child_process';
import { mkdir, mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { promisify } from 'node:util';
import { describe, expect, test } from 'vitest';
import { verify } from '../../daemon/commands/verify.ts';
import { CHECKER } from '../../daemon/exports/checker.ts';
import { realDisk } from '../../daemon/recorder/disk.ts';
import { openKeys } from '../../daemon/recorder/key-ring.ts';
import { type Changes, damages, makeWholeFolder } from '../support/damaged-records.ts';
import { needs, pathOf } from '../support/debian.ts';

const run = promisify(execFile);
const SEED = 20261128;
const COPIES = Number(process.env.COPIES ?? 24);

describe.runIf(needs('python3', 'openssl'))('the checker of an export', () => {
  test(`judges ${COPIES} damaged records as verify does, and accepts none (seed ${SEED})`, async () => {
    const dir = await mkdtemp(join(tmpdir(), 'spyhole-checker-'));
    const { whole, older } = await makeWholeFolder(join(dir, 'data'));
    const { signer } = await openKeys(realDisk, join(dir, 'data'), 0);
    const folder = join(dir, 'out');
    /** What an outsider has: the record and its seals, without the ledger. */
    async function judge(firing: string, changes: Changes): Promise<readonly [byVerify: number, byChecker: number]> {
      await rm(folder, { recursive: true, force: true });
      await mkdir(folder);
      for (const name of ['record.jsonl', 'checkpoints.jsonl']) {
        const path = `${firing}/${name}`;
        const bytes = changes.has(path) ? changes.get(path) : whole.get(path);
        if (bytes != null) await writeFile(join(folder, name), bytes);
      }
      await writeFile(join(folder, 'check_record.py'), CHECKER);
      const byVerify = await verify(folder, dir, () => undefined, undefined, { key: signer.fingerprint });
      return [byVerify, await checked(folder, signer.fingerprint)];
    }
    for (const firing of ['firings/a', 'firings/b', 'firings/c']) {
      expect(await judge(firing, new Map()), firing).toEqual([0, 0]);
    }
    const unlike: string[] = [];
    let tried = 0;
    for (const { kind, changes } of damages(whole, older, SEED)) {
      const firing = [...changes.keys()].map(dirname).find((path) => path.startsWith('firings/'));
      // The simulated firing is only slower to judge. What is gone as a whole is a matter for the ledger.
      if (firing === undefined || firing === 'firings/b' || changes.get(`${firing}/record.jsonl`) === null) continue;
      // Another firing's record that is whole in itself is one that an outsider cannot know of.
      if (kind === 'a firing laid in the place of another') continue;
      const [byVerify, byChecker] = await judge(firing, changes);
      if (byVerify !== byChecker || byVerify === 0) unlike.push(`${kind} (${tried}): ${byVerify}, ${byChecker}`);
      tried += 1;
      if (tried === COPIES) break;
    }
    expect(unlike).toEqual([]);
    await rm(dir, { recursive: true });
  }, 300_000);
});

/** The checker's exit code. It must never end with a stack trace, whatever it reads. */
async function checked(folder: string, key: string): Promise<number> {
  try {
    await run(pathOf('python3'), ['check_record.py', key], { cwd: folder });
    return 0;
  } catch (error) {
    const { code, stderr } = error as { code: number; stderr: string };
    expect(stderr).toBe('');
    return code;
  }
}
