/** Resident memory of the real watch, fed by a real broker with one reading for each second of its own time. */
import { performance } from 'node:perf_hooks';
import { connectAsync } from 'mqtt';
import { mosquitto } from '../support/mosquitto.ts';
import type { Built } from './built.ts';
import { figure, table } from './figures.ts';
import { longFiring } from './long-firing.ts';
import { KILN_ID, spawnWatch, TOPIC, withFolder } from './spawned-watch.ts';

interface Pace {
  readonly name: string;
  /** The firing's time runs so many times faster; 1 is real time. */
  readonly speed: number;
  readonly readings: number;
}

/**
 * The faster it is fed, the larger the engine lets its young objects' space grow, and it is seldom at rest to tidy up:
 * these figures lie above those of a kiln in real time, which `memory-hour` measures.
 */
const HURRIED: readonly Pace[] = [
  { name: 'an hour', speed: 60, readings: 3600 },
  { name: 'twelve hours', speed: 300, readings: 43_200 },
];
const REAL: readonly Pace[] = [{ name: 'an hour', speed: 1, readings: 3600 }];
const GOAL_MB = 120;

interface Looked {
  readonly atStartMB: number;
  readonly atTenthMB: number;
  readonly atEndMB: number;
}

export function benchMemory(built: Built): Promise<string> {
  return measure(built, HURRIED);
}

/** The same in real time: it takes the hour. */
export function benchMemoryHour(built: Built): Promise<string> {
  return measure(built, REAL);
}

async function measure(built: Built, paces: readonly Pace[]): Promise<string> {
  const rows: string[][] = [];
  for (const pace of paces) {
    const broker = await mosquitto();
    const looked = await withFolder((dir) => feed(built, broker.url, dir, pace)).finally(() => broker.stop());
    const { atStartMB, atTenthMB, atEndMB } = looked;
    const name = `${pace.name}, ${pace.readings} readings at ${pace.speed} times speed`;
    rows.push([name, figure(atStartMB), figure(atTenthMB), figure(atEndMB), figure(atEndMB / atStartMB)]);
  }
  return table(
    `memory: resident (VmRSS, in MB) of the watch, one kiln, one page listening; goal under ${GOAL_MB} after an hour`,
    ['', 'as it listens', 'at a tenth', 'at the end', 'end / start'],
    rows,
  );
}

async function feed(built: Built, brokerUrl: string, dir: string, { speed, readings }: Pace): Promise<Looked> {
  const { messages, schedule } = longFiring(built, Date.UTC(2025, 4, 12, 20, 30));
  const watch = await spawnWatch(speed === 1 ? { brokerUrl } : { brokerUrl, speed }, dir);
  const board = await connectAsync(brokerUrl);
  let atTenthMB = Number.NaN;
  let heard = 0;
  const page = await watch.live((message) => {
    if (message.type !== 'reading' || message.line === null) return;
    heard++;
    if (heard === readings / 10) atTenthMB = watch.residentMB();
  });
  try {
    const atStartMB = watch.residentMB();
    await watch.post('/api/firings', { kiln: KILN_ID, schedule, by: 'bench' });
    const fromMs = performance.now();
    for (let sent = 0; heard < readings; ) {
      const dueCount = ((performance.now() - fromMs) / 1000) * speed;
      // What is said before the watch listens is made up for at the end, where the last value goes on.
      for (; sent < dueCount; sent++) {
        board.publish(TOPIC, messages[Math.min(sent, messages.length - 1)]?.text ?? '');
      }
      await new Promise((resolve) => setTimeout(resolve, 5));
    }
    return { atStartMB, atTenthMB, atEndMB: watch.residentMB() };
  } finally {
    page.terminate();
    await board.endAsync(true);
    await watch.stop();
  }
}
