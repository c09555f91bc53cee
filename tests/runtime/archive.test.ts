import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { derivedFiles } from '../../daemon/recorder/derived.ts';
import { fileRecordStore } from '../../daemon/recorder/file-recorder.ts';
import type { RecordStore } from '../../daemon/recorder/recorder.ts';
import { Archive } from '../../daemon/runtime/archive.ts';
import { recordInto } from '../support/recorded-scenario.ts';
import { quietElectric } from '../support/scenarios.ts';

it('a firing that was looked up in the instant in which it was begun is told whole once it is over', async () => {
  const dataDir = await mkdtemp(join(tmpdir(), 'spyhole-archive-'));
  const scenario = quietElectric();
  const store = fileRecordStore(dataDir, { nowMs: () => scenario.startedAtMs });
  try {
    const archive = new Archive(store, derivedFiles(dataDir), () => []);
    // The page asks each few seconds for the last firings: also between the record's first line and the firing's own place.
    const curious: RecordStore = {
      ...store,
      begin: async (beginning) => {
        const recorder = await store.begin(beginning);
        expect(await archive.rows()).toMatchObject([{ endedAtMs: null, readings: 0 }]);
        return recorder;
      },
    };
    const id = '20250512T080000Z-electric-kiln-0001';
    await recordInto(curious, scenario, { id });
    const told = await archive.detail(id);
    expect(told.endedAtMs).not.toBeNull();
    expect(told.readings).toBeGreaterThan(1000);
    expect(told.figures).not.toBeNull();
    expect((await archive.curve(id, 100)).sensors).not.toEqual({});
    expect(await archive.rows()).toMatchObject([{ id, endedAtMs: told.endedAtMs, readings: told.readings }]);
  } finally {
    await store.release();
    await rm(dataDir, { recursive: true });
  }
});
