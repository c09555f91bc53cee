/** One kiln's firing loop with a real record in a folder of its own, on a clock that the test moves. */
import { randomBytes } from 'node:crypto';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { FiringEvent } from '../../daemon/core/events.ts';
import type { KilnSetup } from '../../daemon/core/plan/kiln.ts';
import type { Schedule } from '../../daemon/core/plan/schedule.ts';
import type { Disk } from '../../daemon/recorder/disk.ts';
import { fileRecordStore } from '../../daemon/recorder/file-recorder.ts';
import { newFiringId } from '../../daemon/recorder/firing-id.ts';
import { FiringLoop } from '../../daemon/runtime/firing-loop.ts';
import { openingEntry } from '../../daemon/runtime/record-lines.ts';
import { type ManualClock, manualClock } from './manual-clock.ts';

export interface Told {
  readonly event: FiringEvent;
  readonly firing: string | null;
  readonly line: number | null;
}

export interface LoopBench {
  readonly loop: FiringLoop;
  readonly clock: ManualClock;
  readonly dataDir: string;
  readonly told: readonly Told[];
  readonly log: readonly string[];
  /** Lets a second pass for each temperature and gives it to the loop. Resolves once all that came of it is told. */
  feed(...celsius: readonly number[]): Promise<void>;
  /** The instrument's text as it is, after a second. Resolves once it is told. */
  say(text: string): Promise<void>;
  /** Lets so many seconds pass in which nothing is heard. Resolves once the loop has looked at them. */
  wait(seconds: number): Promise<void>;
  end(): Promise<void>;
}

export const benchKiln: KilnSetup = {
  id: 'small-gas',
  name: 'Small gas kiln',
  heat: 'gas',
  closure: 'door',
  sensors: [{ name: 'middle', letter: 'K' }],
  decodings: { 'serial-1': { kind: 'columns', columns: ['middle'] } },
  utcOffsetMinutes: 0,
};

export async function loopBench(disk?: Disk): Promise<LoopBench> {
  const dataDir = await mkdtemp(join(tmpdir(), 'spyhole-loop-'));
  const clock = manualClock();
  const store = fileRecordStore(dataDir, { nowMs: clock.nowMs, ...(disk !== undefined && { disk }) });
  const told: Told[] = [];
  const log: string[] = [];
  const loop = new FiringLoop({
    kiln: benchKiln,
    clock,
    log: (sentence) => void log.push(sentence),
    listener: {
      said(event, firing, line) {
        told.push({ event, firing, line });
      },
      changed: () => undefined,
      closed: () => undefined,
      troubled: () => undefined,
    },
    openRecord: (opening) => {
      const id = newFiringId(opening.startedAtMs, opening.kiln.id, randomBytes(2).toString('hex'));
      return store.begin({ id, kiln: opening.kiln, schedule: opening.schedule, open: openingEntry(opening) });
    },
    software: 'spyhole under test',
    utcOffsetMinutes: () => benchKiln.utcOffsetMinutes,
    simulated: false,
  });
  loop.start();
  return {
    loop,
    clock,
    dataDir,
    told,
    log,
    async say(text) {
      clock.pass(1000);
      loop.heard('serial-1', { text });
      await loop.settled();
    },
    async feed(...celsius) {
      for (const one of celsius) {
        clock.pass(1000);
        loop.heard('serial-1', { text: String(one) });
      }
      await loop.settled();
    },
    async wait(seconds) {
      clock.pass(seconds * 1000);
      await loop.settled();
    },
    async end() {
      await loop.stop();
      await store.release();
      await rm(dataDir, { recursive: true, force: true });
    },
  };
}

/** A climb or a fall at `cPerMin` (above 0), one reading a second. */
export function climb(fromC: number, toC: number, cPerMin: number): number[] {
  const seconds = Math.round((Math.abs(toC - fromC) / cPerMin) * 60);
  return Array.from({ length: seconds + 1 }, (_, i) => Math.round((fromC + ((toC - fromC) * i) / seconds) * 100) / 100);
}

export const mattPlan: Schedule = {
  name: 'Matt',
  toleranceC: 6,
  segments: [
    { kind: 'ramp', toC: 660, rateCPerH: 600 },
    { kind: 'hold', minutes: 10 },
    { kind: 'ramp', toC: 50, rateCPerH: 'let-fall' },
  ],
};
