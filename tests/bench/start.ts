/** From the start of the process to `listening`, and to the first reading on the page in a real browser. */
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { cpSync } from 'node:fs';
import { join } from 'node:path';
import { performance } from 'node:perf_hooks';
import { connectAsync } from 'mqtt';
import type { Browser } from 'playwright-core';
import { desktop, launchBrowser } from '../support/browser.ts';
import { mosquitto } from '../support/mosquitto.ts';
import type { Built } from './built.ts';
import { figure, median, table } from './figures.ts';
import { longFiring } from './long-firing.ts';
import { recordUnfinished } from './recorded-firing.ts';
import { spawnWatch, TOPIC, withFolder } from './spawned-watch.ts';

const RUNS = 7;
/** The board speaks this often, so that the wait for its next word is a small part of the figure. */
const SAYS_EVERY_MS = 100;

interface Run {
  readonly bareMs: number;
  readonly listeningMs: number;
  readonly pageMs: number;
}

export async function benchStart(built: Built): Promise<string> {
  const broker = await mosquitto();
  const board = await connectAsync(broker.url);
  const browser = await launchBrowser();
  try {
    return await withFolder(async (dir) => {
      const fired = join(dir, 'unfinished');
      const firing = longFiring(built, Date.now(), broker.url);
      const lines = await recordUnfinished(built, fired, firing);
      const lastText = firing.messages[firing.messages.length - 1]?.text ?? '';
      const empty: Run[] = [];
      const resumed: Run[] = [];
      for (let run = 0; run < RUNS; run++) {
        empty.push(await startOnce(browser, broker.url, join(dir, `empty-${run}`), () => board.publish(TOPIC, '21.5')));
        const copy = join(dir, `resumed-${run}`);
        cpSync(fired, copy, { recursive: true });
        resumed.push(await startOnce(browser, broker.url, copy, () => board.publish(TOPIC, lastText)));
      }
      return table(
        `start: medians of ${RUNS} runs, the board speaking ten times a second; milliseconds since the process began`,
        ['', 'listening', 'node -e 0', 'ratio', 'first reading on the page', 'goals'],
        [
          row('an empty data folder', empty, '1000, 3000'),
          row(`an unfinished firing of 12 h, ${firing.messages.length} readings, ${lines} lines`, resumed, '5000'),
        ],
      );
    });
  } finally {
    await browser.close();
    await board.endAsync(true);
    await broker.stop();
  }
}

function row(name: string, runs: readonly Run[], goals: string): string[] {
  const listening = median(runs.map((r) => r.listeningMs));
  const bare = median(runs.map((r) => r.bareMs));
  return [
    name,
    figure(listening),
    figure(bare),
    figure(listening / bare),
    figure(median(runs.map((r) => r.pageMs))),
    goals,
  ];
}

async function startOnce(browser: Browser, brokerUrl: string, dataDir: string, say: () => void): Promise<Run> {
  const bareMs = await timeBareNode();
  const saying = setInterval(say, SAYS_EVERY_MS);
  const watch = await spawnWatch({ brokerUrl }, dataDir);
  const context = await browser.newContext({ viewport: desktop });
  try {
    const page = await context.newPage();
    await page.goto(watch.url, { waitUntil: 'commit' });
    await page.locator('.temperature .digits').filter({ hasText: /\d/ }).waitFor();
    return { bareMs, listeningMs: watch.listeningMs, pageMs: performance.now() - watch.startedMs };
  } finally {
    clearInterval(saying);
    await context.close();
    await watch.stop();
  }
}

async function timeBareNode(): Promise<number> {
  const fromMs = performance.now();
  await once(spawn(process.execPath, ['-e', '0'], { stdio: 'ignore' }), 'exit');
  return performance.now() - fromMs;
}
