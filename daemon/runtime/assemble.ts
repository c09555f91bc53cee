/** Configuration -> a running watch. The only file that knows all the parts. */
import { randomBytes } from 'node:crypto';
import { fileURLToPath } from 'node:url';
import type { Config, KilnConfig } from '../config/load.ts';
import { readShelf, shippedSchedulesDir } from '../config/shelf.ts';
import { chronicle, newChronicle } from '../core/report/chronicle.ts';
import { DaemonError } from '../errors.ts';
import { brokerLink } from '../inputs/broker-link.ts';
import { startSmallBroker } from '../inputs/small-broker.ts';
import { type MqttOut, mqttOut } from '../notifier/mqtt-out.ts';
import { timeAuthority } from '../notifier/time-authority.ts';
import { derivedFiles } from '../recorder/derived.ts';
import { type FileRecordStore, fileRecordStore } from '../recorder/file-recorder.ts';
import { newFiringId } from '../recorder/firing-id.ts';
import type { Unfinished } from '../recorder/recorder.ts';
import { startServer } from '../server/http-server.ts';
import { Archive } from './archive.ts';
import { type Clock, simulatedClock, systemClock } from './clock.ts';
import { CORE } from './core-fingerprint.ts';
import { DiskRoom } from './disk-room.ts';
import { FiringLoop, type RunningFiring } from './firing-loop.ts';
import type { Log } from './log.ts';
import { OutsideTime } from './outside-time.ts';
import { RecordKeeper } from './record-keeper.ts';
import { type Opening, openingEntry, readEvents, readOpening, resumedEntry } from './record-lines.ts';
import { Setup } from './setup.ts';
import { SOFTWARE } from './software.ts';
import { reliveUnfinished } from './unsaid.ts';
import { WatchedKilns } from './watched-kilns.ts';
import { WorkshopDesk } from './workshop-desk.ts';

export interface WatchParts {
  readonly config: Config;
  readonly dataDir: string;
  readonly log: Log;
  /** A clock of the caller's own, for a demonstration that changes its pace; else one is made. */
  readonly clock?: Clock;
  /** The pace of that clock; null for real time. */
  readonly speed?: () => number;
  /** Where the serial ports that are plugged in are listed. */
  readonly byIdDir?: string;
  /** The page's own folder; else the one that was built with the daemon. */
  readonly webDir?: string;
}

export interface RunningWatch {
  readonly url: string;
  readonly desk: WorkshopDesk;
  readonly clock: Clock;
  stop(): Promise<void>;
}

/** The wall clock is looked at this often; a step larger than this many seconds is a line in the record. */
const CLOCK_LOOK_MS = 10_000;
const CLOCK_STEP_S = 1;

/** @throws DaemonError with one sentence where the watch cannot begin: the port is taken, the data folder is in use */
export async function startWatch(parts: WatchParts): Promise<RunningWatch> {
  const { config, log, dataDir } = parts;
  const clock = parts.clock ?? (config.clock === undefined ? systemClock() : simulatedClock(config.clock.speed));
  const speed = parts.speed ?? (() => simulatedSpeed(kilns.all, config.clock?.speed ?? 1));
  const shelf = readShelf(
    config.schedules === undefined ? [shippedSchedulesDir()] : [shippedSchedulesDir(), config.schedules],
  );
  for (const trouble of shelf.troubles) log(trouble);
  const broker = config.smallBroker === undefined ? null : await startSmallBroker(config.smallBroker);

  let out: MqttOut | null = null;
  const store = fileRecordStore(dataDir, {
    nowMs: clock.nowMs,
    sealsFolder: config.sealsFolder,
    sealed: (origin, line) => out?.seal(origin, line),
  });
  const troubles: string[] = [];
  const unfinished = await openStore(store, troubles, log);
  clock.notBefore(unfinished.reduce((latest, u) => Math.max(latest, u.lines[u.lines.length - 1]?.t ?? 0), 0));

  const loops = new Map<string, FiringLoop>();
  const outside =
    config.timeAuthority === undefined
      ? null
      : new OutsideTime({ store, ask: timeAuthority(config.timeAuthority), clock, log });
  const room = new DiskRoom(
    dataDir,
    config.kilns.map(({ kiln }) => kiln),
  );
  const stopRoomLook = await room.watch(clock, log);
  const archive = new Archive(store, derivedFiles(dataDir), () =>
    [...loops.values()].flatMap((loop) => loop.running ?? []),
  );
  const keeper: RecordKeeper = new RecordKeeper({
    store,
    archive,
    dataDir,
    nowMs: clock.nowMs,
    isOn: (id) => [...loops.values()].some((loop) => loop.running?.id === id),
    noteNow: (id, by, text, photo) => desk.deed(id, by, { deed: 'note', text, photo }),
    cramped: () => room.refusal,
    stampAwaited: async (id) => (await outside?.awaited(id)) ?? null,
    broken: () => store.broken(),
  });
  const desk: WorkshopDesk = new WorkshopDesk({
    clock,
    speed,
    shelf,
    archive,
    keeper,
    loops,
    utcOffsetMinutes: () => utcOffsetMinutes(clock.nowMs()),
    fitted: new Map(config.kilns.flatMap(({ kiln, fitted }) => (fitted === undefined ? [] : [[kiln.id, fitted]]))),
    troubles: () => [...troubles, ...[room.sentence, out?.trouble ?? null].filter((trouble) => trouble !== null)],
    room,
  });
  const kilns: WatchedKilns = new WatchedKilns({
    clock,
    loops,
    utcOffsetMinutes: () => utcOffsetMinutes(clock.nowMs()),
    openLoop: ({ kiln: description, inputs }) =>
      new FiringLoop({
        kiln: { ...description, utcOffsetMinutes: utcOffsetMinutes(clock.nowMs()) },
        clock,
        log,
        listener: desk.listenerFor(description.id),
        openRecord: (opening) => openRecord(store, opening),
        software: SOFTWARE,
        simulated: inputs.every((input) => input.simulated === true),
        utcOffsetMinutes,
      }),
  });
  for (const kiln of config.kilns) kilns.prepare(kiln);
  await resumeFirings(unfinished, loops, clock, log, troubles);

  const setup = new Setup({
    file: config.file,
    clock,
    log,
    env: process.env,
    byIdDir: parts.byIdDir,
    kilns,
    told: {
      set({ kiln }) {
        desk.kilnSet(kiln.id);
        room.count(kilns.all.map((one) => one.kiln));
      },
      gone(id) {
        desk.kilnGone(id);
        room.count(kilns.all.map((one) => one.kiln));
      },
    },
  });
  const server = await startServer(desk, {
    records: keeper,
    setup,
    ...config.listen,
    hosts: config.hosts,
    webDir: parts.webDir ?? fileURLToPath(new URL('../../web', import.meta.url)),
    log,
    clock,
  }).catch(async (error: unknown) => {
    stopRoomLook();
    await setup.stop();
    for (const loop of loops.values()) await loop.stop();
    await store.release();
    await broker?.close();
    throw error;
  });
  const { mqttOut: told } = config;
  if (told !== undefined) {
    out = mqttOut({ desk, log, speak: (listener, will) => brokerLink(told, clock, Math.random, listener, will) });
  }
  for (const { kiln } of config.kilns) kilns.start(kiln.id);
  outside?.start();
  const stopClockLook = watchWallClock(clock, loops, log);
  return {
    url: server.url,
    desk,
    clock,
    stop: async () => {
      stopClockLook();
      stopRoomLook();
      await setup.stop();
      await kilns.stopListening();
      // The page's door first: a deed that is let in is also written.
      await server.close();
      for (const loop of loops.values()) await loop.stop();
      await outside?.stop();
      // Last, so that it tells of all that was said; the broker itself may be ours.
      await out?.stop();
      await store.release();
      await broker?.close();
    },
  };
}

/** Null as soon as one source is real: then nothing on the page may say SIMULATED. */
function simulatedSpeed(kilns: readonly KilnConfig[], speed: number): number | null {
  const isSimulated = kilns.every(({ inputs }) => inputs.every((input) => input.simulated === true));
  return isSimulated && kilns.length > 0 ? speed : null;
}

/** A broken record or a refusing disk is told and the watch goes on; a folder that another watch uses is the end. */
async function openStore(store: FileRecordStore, troubles: string[], log: Log): Promise<readonly Unfinished[]> {
  try {
    const unfinished = await store.unfinished();
    for (const { sentence } of store.broken()) troubles.push(sentence);
    return unfinished;
  } catch (error) {
    if (!(error instanceof DaemonError) || error.code === 'data-in-use') throw error;
    troubles.push(error.message);
    return [];
  } finally {
    for (const trouble of troubles) log(trouble);
  }
}

function openRecord(store: FileRecordStore, opening: Opening): ReturnType<FileRecordStore['begin']> {
  const id = newFiringId(opening.startedAtMs, opening.kiln.id, randomBytes(2).toString('hex'));
  return store.begin({
    id,
    kiln: opening.kiln,
    schedule: opening.schedule,
    open: openingEntry({ ...opening, core: CORE }),
  });
}

/** The same firing at the same place on its plan: its inputs are lived again, then the gap is marked. */
async function resumeFirings(
  unfinished: readonly Unfinished[],
  loops: ReadonlyMap<string, FiringLoop>,
  clock: Clock,
  log: Log,
  troubles: string[],
): Promise<void> {
  // Newest first: an older one of the same kiln was left behind and cannot go on beside it.
  for (const { recorder, lines, tornBytes } of unfinished.toReversed()) {
    const opening = readOpening(lines[0]);
    const loop = opening === undefined ? undefined : loops.get(opening.kiln.id);
    const last = lines[lines.length - 1];
    if (opening === undefined || loop === undefined || last === undefined || loop.running !== null) {
      const why = `Firing ${recorder.firingId} has no end in its record and cannot go on: its kiln is not in the configuration, or fires anew.`;
      troubles.push(why);
      log(why);
      await recorder.leave();
      continue;
    }
    const story = newChronicle(opening.startedAtMs, opening.schedule);
    for (const line of lines) for (const event of readEvents(line)) chronicle(story, event);
    const { state, unsaid } = reliveUnfinished(opening, lines);
    const running: RunningFiring = { id: recorder.firingId, recorder, story, opening, state };
    const awayS = Math.max(Math.round((clock.nowMs() - last.t) / 1000), 0);
    const torn = tornBytes > 0 ? ` ${tornBytes} bytes of a torn last line were set aside.` : '';
    const writer = { software: SOFTWARE, node: process.version, core: CORE };
    // Where the disk refuses, the loop meets the same refusal and tells of it.
    await recorder.append([resumedEntry(clock.nowMs(), writer, lines)]).catch(() => undefined);
    log(`${opening.kiln.name}: firing ${running.id} goes on after ${awayS} s away.${torn}`);
    loop.resume(running, awayS, unsaid);
    // The page opens once the return is on the disk: what it then shows can be acted on.
    await loop.settled();
  }
}

/** Durations never come from the wall clock; that it was set is worth a line all the same. */
function watchWallClock(clock: Clock, loops: ReadonlyMap<string, FiringLoop>, log: Log): () => void {
  const wallStepS = 'wallStepS' in clock ? (clock as ReturnType<typeof systemClock>).wallStepS : () => 0;
  let knownS = wallStepS();
  return clock.every(CLOCK_LOOK_MS, () => {
    for (const loop of loops.values()) loop.keepTimeOfDay();
    const stepS = wallStepS();
    if (Math.abs(stepS - knownS) <= CLOCK_STEP_S) return;
    const byS = Math.round(stepS - knownS);
    knownS = stepS;
    log(`The machine's clock was set by ${byS} s; the firing's time goes on undisturbed.`);
    for (const loop of loops.values()) loop.clockSet(byS);
  });
}

function utcOffsetMinutes(atMs: number): number {
  return -new Date(atMs).getTimezoneOffset();
}
