/** A plug pulled 500 times, a broker started anew 200 times: whether anything grows, and whether one chain only asks. */
import { readdirSync } from 'node:fs';
import { setTimeout as passed } from 'node:timers/promises';
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import { hurriedClock } from '../support/hurried-clock.ts';
import { BROKERS, possibleSources, type SourceKind } from '../support/source-benches.ts';
import { figure, table } from './figures.ts';

const UNPLUGS = 500;
/** Requirement C14. */
const RESTARTS = 200;
/** So that a wait of 30 s is one of 150 ms. */
const HURRY = 200;
/** Ten rounds of questions in a second of real time, which a busy machine keeps up with too. */
const EVERY_S = HURRY / 10;
/** How long messages are counted, real time. */
const COUNTED_MS = 3000;

interface Looked {
  readonly files: number;
  readonly resources: number;
  readonly listeners: number;
  readonly timers: number;
  readonly heapMB: number;
  readonly perS: number;
}

export const benchUnplugs = (): Promise<string> => compared('unplugs', UNPLUGS, possibleSources());

export const benchRestarts = (): Promise<string> => compared('restarts of the broker', RESTARTS, BROKERS);

async function compared(what: string, times: number, kinds: readonly SourceKind[]): Promise<string> {
  setFlagsFromString('--expose_gc');
  const rows: string[][] = [];
  for (const kind of kinds) {
    const [first, last] = await unplugged(kind, times);
    const both = (of: (looked: Looked) => number): string => `${figure(of(first))} → ${figure(of(last))}`;
    rows.push([
      kind.name,
      both((l) => l.files),
      both((l) => l.resources),
      both((l) => l.listeners),
      both((l) => l.timers),
      both((l) => l.heapMB),
      both((l) => l.perS),
    ]);
  }
  return table(
    `${what}: after the first and the last of ${times}, the instrument plugged in; on a clock ${HURRY} times as fast`,
    ['', 'open files', 'handles', 'listeners', 'timers', 'heap, MB', 'messages a second'],
    rows,
  );
}

async function unplugged(kind: SourceKind, times: number): Promise<[Looked, Looked]> {
  const bench = await kind.bench(EVERY_S);
  const clock = hurriedClock(HURRY);
  const input = bench.input(clock);
  let heardCount = 0;
  let wake: () => void = () => undefined;
  let state = '';
  // Nothing is kept of what is heard: the bench itself must not grow.
  input.start({
    heard() {
      heardCount += 1;
      wake();
    },
    status(status) {
      state = status.state;
      wake();
    },
  });
  const until = async (isSo: () => boolean): Promise<void> => {
    while (!isSo()) await new Promise<void>((resolve) => (wake = resolve));
  };
  async function look(): Promise<Looked> {
    const instrument = await bench.plugIn();
    const before = heardCount;
    await until(() => state === 'connected' && heardCount > before + 5);
    const from = heardCount;
    await passed(COUNTED_MS);
    const perS = ((heardCount - from) * 1000) / COUNTED_MS;
    const looked = { ...counts(), timers: clock.timerCount(), perS };
    await instrument.unplug();
    await until(() => state === 'lost');
    return looked;
  }
  try {
    const first = await look();
    for (let i = 2; i < times; i++) {
      const before = heardCount;
      const instrument = await bench.plugIn();
      await until(() => state === 'connected' && heardCount > before);
      await instrument.unplug();
      await until(() => state === 'lost');
    }
    return [first, await look()];
  } finally {
    await input.stop();
    await bench.end();
  }
}

function counts(): Omit<Looked, 'timers' | 'perS'> {
  runInNewContext('gc')();
  return {
    files: readdirSync('/proc/self/fd').length,
    resources: process.getActiveResourcesInfo().length,
    listeners: process.eventNames().reduce((sum, name) => sum + process.listenerCount(name), 0),
    heapMB: process.memoryUsage().heapUsed / 1e6,
  };
}
