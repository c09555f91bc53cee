/** Resident memory of the real watch, fed by a real broker through an hour and through twelve, one reading a second. */
import { performance } from 'node:perf_hooks';
import { connectAsync } from 'mqtt';
import { mosquitto } from '../support/mosquitto.ts';
import type { Built } from './built.ts';
import { figure, table } from './figures.ts';
import { longFiring } from './long-firing.ts';
import { KILN_ID, spawnWatch, TOPIC, withFolder } from './spawned-watch.ts';

/** The firing's time runs so many times faster: twelve hours in under two and a half minutes. */
const SPEED = 300;
const LOOK_AT = [360, 3600, 4320, 43_200] as const;
const GOAL_MB = 120;

export async function benchMemory(built: Built): Promise<string> {
  const broker = await mosquitto();
  const { atStart, atReadings, told } = await withFolder((dir) => feed(built, broker.url, dir)).finally(() =>
    broker.stop(),
  );
  const rows = LOOK_AT.map((count) => {
    const mb = atReadings.get(count) ?? Number.NaN;
    return [`after ${count} readings`, `${figure(mb)} MB`, figure(mb / atStart)];
  });
  return table(
    `memory: resident (VmRSS) of the watch, one kiln, one page listening, ${told} readings taken at ${SPEED} times speed; goal under ${GOAL_MB} MB after an hour (3600)`,
    ['', 'resident', 'ratio'],
    [['as it listens', `${figure(atStart)} MB`, '1'], ...rows],
  );
}

interface Fed {
  readonly atStart: number;
  readonly atReadings: ReadonlyMap<number, number>;
  readonly told: number;
}

async function feed(built: Built, brokerUrl: string, dir: string): Promise<Fed> {
  const { messages, schedule } = longFiring(built, Date.UTC(2025, 4, 12, 20, 30));
  const watch = await spawnWatch({ brokerUrl, speed: SPEED }, dir);
  const board = await connectAsync(brokerUrl);
  const atReadings = new Map<number, number>();
  let heard = 0;
  const page = await watch.live((message) => {
    if (message.type !== 'reading' || message.line === null) return;
    heard++;
    if (LOOK_AT.some((count) => count === heard)) atReadings.set(heard, watch.residentMB());
  });
  try {
    const atStart = watch.residentMB();
    await watch.post('/api/firings', { kiln: KILN_ID, schedule, by: 'bench' });
    await untilListening(() => heard > 0);
    const fromMs = performance.now();
    for (let sent = 0; heard < Math.max(...LOOK_AT); ) {
      const dueCount = ((performance.now() - fromMs) / 1000) * SPEED;
      for (; sent < dueCount; sent++) {
        // What was said before it was heard is made up for by going on at the last value.
        board.publish(TOPIC, messages[Math.min(sent, messages.length - 1)]?.text ?? '');
      }
      await new Promise((resolve) => setTimeout(resolve, 5));
    }
    return { atStart, atReadings, told: heard };
  } finally {
    page.terminate();
    await board.endAsync(true);
    await watch.stop();
  }

  async function untilListening(isHeard: () => boolean): Promise<void> {
    while (!isHeard()) {
      board.publish(TOPIC, messages[0]?.text ?? '');
      await new Promise((resolve) => setTimeout(resolve, 50));
    }
  }
}
