/**
 * A simulated kiln fired before the real daemon and the real page, from the cold kiln to the closed record. Hours pass in
 * seconds where nothing is to be looked at; while the test looks or presses, one second of the firing is one of the wall's.
 */
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Call } from '../../daemon/core/events.ts';
import type { Schedule } from '../../daemon/core/plan/schedule.ts';
import { derivedFiles } from '../../daemon/recorder/derived.ts';
import { fileRecordStore } from '../../daemon/recorder/file-recorder.ts';
import { newFiringId } from '../../daemon/recorder/firing-id.ts';
import { Archive } from '../../daemon/runtime/archive.ts';
import { FiringLoop } from '../../daemon/runtime/firing-loop.ts';
import { openingEntry } from '../../daemon/runtime/record-lines.ts';
import { WorkshopDesk } from '../../daemon/runtime/workshop-desk.ts';
import { startServer } from '../../daemon/server/http-server.ts';
import type { KilnNow } from '../../daemon/wire/live-messages.ts';
import { type FiringScenario, liveFiring } from '../../simulators/firing-scenario.ts';
import type { OperatorAct } from '../../simulators/operator-hand.ts';
import { manualClock } from './manual-clock.ts';

export interface SimulatedJob {
  readonly url: string;
  readonly port: number;
  readonly dataDir: string;
  readonly schedule: Schedule;
  now(): KilnNow;
  call(words: RegExp): Call | undefined;
  /** Fires on until `isThere`; what the simulated painter does meanwhile goes to `painter`. Fails where it never comes. */
  runUntil(isThere: (now: KilnNow) => boolean): Promise<void>;
  /** What the simulated painter has done since this was last asked: not logged yet. */
  done(): readonly OperatorAct[];
  /** The painter hears it, and may come. */
  tell: ReturnType<typeof liveFiring>['told'];
  close(): Promise<void>;
}

/** The kiln's own acts between two looks are logged for the painter, but for those that the test presses itself. */
const STEPS_A_WRITE = 12;

export async function simulatedJob(
  scenario: FiringScenario,
  options: { readonly webDir: string; readonly host?: string; readonly hosts?: readonly string[] },
): Promise<SimulatedJob> {
  const dataDir = await mkdtemp(join(tmpdir(), 'spyhole-job-'));
  const clock = manualClock(scenario.startedAtMs);
  const store = fileRecordStore(dataDir, { nowMs: clock.nowMs });
  const loops = new Map<string, FiringLoop>();
  const archive = new Archive(store, derivedFiles(dataDir), () => [...loops.values()].flatMap((l) => l.running ?? []));
  const { kiln, schedule, instrument } = scenario;
  const desk = new WorkshopDesk({
    clock,
    speed: () => 1,
    shelf: { schedules: [{ key: 'the-plan', schedule }], troubles: [] },
    archive,
    loops,
    fitted: new Map(),
    utcOffsetMinutes: () => kiln.utcOffsetMinutes,
    troubles: () => [],
  });
  const loop = new FiringLoop({
    kiln,
    clock,
    log: () => undefined,
    listener: desk.listenerFor(kiln.id),
    openRecord: (opening) => {
      const id = newFiringId(opening.startedAtMs, kiln.id, '0001');
      return store.begin({ id, kiln: opening.kiln, schedule: opening.schedule, open: openingEntry(opening) });
    },
    software: 'spyhole under test',
    utcOffsetMinutes: () => kiln.utcOffsetMinutes,
    simulated: true,
  });
  loops.set(kiln.id, loop);
  loop.start();
  const server = await startServer(desk, {
    host: options.host ?? '127.0.0.1',
    port: 0,
    hosts: options.hosts ?? [],
    webDir: options.webDir,
    log: () => undefined,
    clock,
  });
  const firing = liveFiring(scenario);
  const acts: OperatorAct[] = [];
  let lid: string | undefined;
  let isRunning = false;

  /** Up to here the kiln has been fired: the clock runs ahead of it by less than one sample. */
  let firedToMs = clock.nowMs();

  /** One sample of the instrument. */
  function stepOnce(): void {
    const toMs = firedToMs + instrument.sampleS * 1000;
    const news = firing.step(toMs);
    firedToMs = toMs;
    acts.push(...news.acts);
    clock.pass(Math.max(toMs - clock.nowMs(), 0));
    for (const row of news.rows) {
      if (row.lid !== undefined && row.lid !== lid) loop.heard('rows', { channel: 'lid', text: row.lid });
      lid = row.lid ?? lid;
      loop.heard('rows', { channel: row.sensor, text: row.celsius === null ? '' : String(row.celsius) });
    }
  }

  // While the test looks, the kiln goes on by the wall's clock and no faster, so that the page finds it alive and a
  // machine that is busy elsewhere does not let an overshoot come while a button is being pressed.
  const timer = setInterval(() => {
    if (isRunning) return;
    clock.pass(1000);
    if (clock.nowMs() - firedToMs >= instrument.sampleS * 1000) stepOnce();
  }, 1000);

  function now(): KilnNow {
    const [first] = desk.snapshot(true).kilns;
    if (first === undefined) throw new Error('the desk has no kiln');
    return first;
  }

  return {
    url: server.url,
    port: server.port,
    dataDir,
    schedule,
    now,
    call: (words) => now().position?.calls.find((one) => words.test(one.do)),
    async runUntil(isThere) {
      isRunning = true;
      try {
        while (!isThere(now())) {
          if (firing.ended() && now().firing === null) throw new Error(`It never came: ${now().sentence}`);
          for (let i = 0; i < STEPS_A_WRITE; i++) stepOnce();
          await loop.settled();
        }
      } finally {
        isRunning = false;
      }
    },
    done: () => acts.splice(0),
    tell: firing.told,
    async close() {
      clearInterval(timer);
      await server.close();
      await loop.stop();
      await store.release();
      await rm(dataDir, { recursive: true, force: true });
    },
  };
}
