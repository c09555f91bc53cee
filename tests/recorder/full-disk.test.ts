import { execFileSync } from 'node:child_process';
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { verify } from '../../daemon/commands/verify.ts';
import { RecordError } from '../../daemon/errors.ts';
import { fileRecordStore } from '../../daemon/recorder/file-recorder.ts';
import { checkChain } from '../../daemon/recorder/hash-chain.ts';

const isRoot = process.getuid?.() === 0;
const mustRun = isRoot && process.env.CI === 'true';
const dataDir = await mkdtemp(`${tmpdir()}/spyhole-full-`);
const isMounted = isRoot && mountSmallDisk();

/** False where the machine does not let even root mount (some containers). */
function mountSmallDisk(): boolean {
  try {
    execFileSync('mount', ['-t', 'tmpfs', '-o', 'size=68k', 'tmpfs', dataDir], { stdio: 'pipe' });
    return true;
  } catch {
    return false;
  }
}

beforeAll(() => {
  if (mustRun) expect(isMounted, 'root could not mount a small tmpfs').toBe(true);
});

afterAll(async () => {
  if (isMounted) execFileSync('umount', ['-l', dataDir]);
  await rm(dataDir, { recursive: true });
});

const reason = isRoot ? 'this machine does not let root mount a tmpfs' : 'only root may mount a small disk';

describe.skipIf(!isMounted && !mustRun)(`a disk of 68 kB (skipped where ${reason})`, () => {
  it('fills up, refuses in one sentence, and takes the firing up again when there is room', async () => {
    const firings = fileRecordStore(dataDir);
    await writeFile(`${dataDir}/photo.jpg`, Buffer.alloc(30_000));
    const recorder = await firings.begin({
      id: 'full',
      kiln: { name: 'Gas' },
      schedule: null,
      open: { type: 'open', t: 0 },
    });
    let acknowledged = 0;
    let refusal: unknown;
    while (refusal === undefined && acknowledged < 10_000) {
      try {
        await recorder.append([{ type: 'raw', t: acknowledged, text: 'x'.repeat(300) }]);
        acknowledged += 1;
      } catch (error) {
        refusal = error;
      }
    }
    expect(refusal).toBeInstanceOf(RecordError);
    expect(refusal).toMatchObject({
      code: 'disk-full',
      message: 'The record of firing full cannot be written: the disk is full; free some space on it.',
    });
    const kept = await readFile(`${dataDir}/firings/full/record.jsonl`);
    expect(checkChain(kept)).toMatchObject({ verdict: 'INCOMPLETE', lines: 1 + acknowledged });
    expect(kept.at(-1)).toBe(0x0a);
    await expect(recorder.append([{ type: 'raw', t: 1, text: 'x'.repeat(9_000) }])).rejects.toMatchObject({
      code: 'disk-full',
    });

    await rm(`${dataDir}/photo.jpg`);
    expect(await recorder.append([{ type: 'gap', t: 2, missing: 2 }])).toBe(acknowledged + 2);
    await recorder.close({ type: 'close', t: 3 });
    await firings.release();
    const said: string[] = [];
    expect(await verify('--all', dataDir, (line) => said.push(line)), said.join('\n')).toBe(0);
  });

  it('that is full at the start says so, without a half-made firing staying behind', async () => {
    const firings = fileRecordStore(dataDir);
    await firings.unfinished();
    await writeFile(`${dataDir}/photo.jpg`, Buffer.alloc(200_000)).catch(() => undefined);
    const next = { id: 'next', kiln: {}, schedule: null, open: { type: 'open', t: 0 } };
    await expect(firings.begin(next)).rejects.toMatchObject({ code: 'disk-full' });
    expect(await firings.ids()).toEqual(['full']);
    await rm(`${dataDir}/photo.jpg`);
    await (await firings.begin(next)).close({ type: 'close', t: 1 });
    await firings.release();
  });
});
