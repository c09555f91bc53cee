/**
 * The page on a slow phone: its size, its first picture of a long firing, what an update costs, hours in the background,
 * and whether many pages and one that has stopped reading delay anybody.
 */
import { once } from 'node:events';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { performance } from 'node:perf_hooks';
import { fileURLToPath } from 'node:url';
import { gzipSync } from 'node:zlib';
import type { Browser, CDPSession, Page } from 'playwright-core';
import { WebSocket } from 'ws';
import { systemClock } from '../../daemon/runtime/clock.ts';
import { startServer } from '../../daemon/server/http-server.ts';
import { launchBrowser, phone } from '../support/browser.ts';
import { figure, median, quantile, table } from './figures.ts';
import { HOURS, type PageDesk, pageDesk, SENSORS } from './page-desk.ts';

const webDir = fileURLToPath(new URL('../../dist/web', import.meta.url));
const SLOWED = 4;
const RUNS = 7;
const UPDATES = 60;
const HIDDEN_S = 8 * 3600;
const VIEWERS = 20;
const TOLD = 200;

export async function benchPage(): Promise<string> {
  const desk = pageDesk();
  const server = await startServer(desk, {
    host: '127.0.0.1',
    port: 0,
    hosts: [],
    webDir,
    log: () => undefined,
    clock: { ...systemClock(), nowMs: desk.nowMs },
  });
  const browser = await launchBrowser(['--js-flags=--expose-gc']);
  try {
    const first = await firstPictures(browser, server.url);
    const work = await firstWork(browser, server.url);
    const update = await updates(browser, server.url, desk, 1);
    const slowUpdate = await updates(browser, server.url, desk, SLOWED);
    const hidden = await hiddenFor(browser, server.url, desk);
    const many = await manyViewers(server.url, desk);
    return table(
      `page: ${HOURS} h, ${SENSORS.length} sensors, one reading a second; on a phone's view, the processor slowed ${SLOWED} times where it says so`,
      ['', 'figure', 'goal'],
      [
        ['all files of the page, gzipped, kB', figure(pageKB()), '300'],
        [
          `sentence and temperature, slowed, ms, median of ${RUNS}`,
          figure(median(first.map((one) => one.numberMs))),
          '–',
        ],
        [`first picture, slowed, ms, median of ${RUNS}`, figure(median(first.map((one) => one.drawnMs))), '1000'],
        [`first picture, slowed, ms, worst of ${RUNS}`, figure(Math.max(...first.map((one) => one.drawnMs))), '1000'],
        [`the page's own work until then, ms of the processor times ${SLOWED}, median of ${RUNS}`, figure(work), '–'],
        [`an update's work, ms of the processor, mean of ${UPDATES}`, figure(update), '16'],
        ['the same, slowed', figure(slowUpdate), '–'],
        [`heap after ${HIDDEN_S / 3600} h hidden, MB more`, figure(hidden.moreMB), '5'],
        ['correct after it is shown again, ms', figure(hidden.shownMs), '1000'],
        ['one page alone: told to heard, ms, p99', figure(many.aloneMs), '–'],
        [`${VIEWERS} pages and one that does not read: told to heard, ms, p99`, figure(many.amongMs), '–'],
      ],
    );
  } finally {
    await browser.close();
    await server.close();
  }
}

function pageKB(): number {
  const files = readdirSync(webDir, { recursive: true, encoding: 'utf8' }).filter((name) => /\.\w+$/.test(name));
  return files.reduce((sum, name) => sum + gzipSync(readFileSync(join(webDir, name))).length, 0) / 1000;
}

async function slowPage(
  browser: Browser,
  slowed = SLOWED,
): Promise<{ page: Page; devtools: CDPSession; close(): Promise<void> }> {
  const context = await browser.newContext({ viewport: phone });
  const page = await context.newPage();
  const devtools = await context.newCDPSession(page);
  await devtools.send('Emulation.setCPUThrottlingRate', { rate: slowed });
  return { page, devtools, close: () => context.close() };
}

interface FirstPicture {
  readonly numberMs: number;
  readonly drawnMs: number;
}

/** When the temperature stands, and when the whole curve has been drawn and the frame that shows it has begun. */
const untilDrawn = `{
  const look = () => {
    // Asked for each time: the element that is there as this begins is not the page's own yet.
    const said = document.documentElement.dataset;
    if (document.querySelector('.digits') !== null) said.number ??= String(performance.now());
    const isDrawn = document.querySelector('main:not(:has([aria-busy=true])) .curve canvas') !== null;
    if (isDrawn) requestAnimationFrame(() => { said.drawn = String(performance.now()); });
    else requestAnimationFrame(look);
  };
  requestAnimationFrame(look);
}`;

async function firstPictures(browser: Browser, url: string): Promise<FirstPicture[]> {
  const pictures: FirstPicture[] = [];
  for (let run = 0; run < RUNS; run++) {
    const { page, close } = await slowPage(browser);
    await page.addInitScript(untilDrawn);
    await page.goto(url, { waitUntil: 'commit' });
    // The driver does not look meanwhile: its looks would be the page's work.
    await pause(FIRST_PICTURE_MS);
    const html = page.locator('html[data-drawn]');
    await html.waitFor({ state: 'attached' });
    pictures.push({
      numberMs: Number(await html.getAttribute('data-number')),
      drawnMs: Number(await html.getAttribute('data-drawn')),
    });
    await close();
  }
  return pictures;
}

const FIRST_PICTURE_MS = 2000;

/**
 * The main thread's whole work until the first picture. On a machine that is busy elsewhere the time by the clock says little,
 * and a processor slowed by the driver counts its own waiting as work: so it is measured at full speed and multiplied.
 */
async function firstWork(browser: Browser, url: string): Promise<number> {
  const works: number[] = [];
  for (let run = 0; run < RUNS; run++) {
    const { page, devtools, close } = await slowPage(browser, 1);
    await devtools.send('Performance.enable', { timeDomain: 'threadTicks' });
    await page.addInitScript(untilDrawn);
    await page.goto(url, { waitUntil: 'commit' });
    await pause(FIRST_PICTURE_MS);
    await page.locator('html[data-drawn]').waitFor({ state: 'attached' });
    works.push((await taskS(devtools)) * 1000 * SLOWED);
    await close();
  }
  return median(works);
}

async function taskS(devtools: CDPSession): Promise<number> {
  const { metrics } = await devtools.send('Performance.getMetrics');
  return metrics.find(({ name }) => name === 'TaskDuration')?.value ?? Number.NaN;
}

/** The main thread's whole work for one second's messages, in ms: hearing, thinking, laying out and drawing. */
async function updates(browser: Browser, url: string, desk: PageDesk, slowed: number): Promise<number> {
  const { page, devtools, close } = await slowPage(browser, slowed);
  await devtools.send('Performance.enable', { timeDomain: 'threadTicks' });
  await page.goto(url);
  await page.locator('main:not(:has([aria-busy=true])) .curve canvas').waitFor();
  await pause(1500);
  const idle = await taskS(devtools);
  await pause(UPDATES * EACH_MS);
  const before = await taskS(devtools);
  for (let i = 0; i < UPDATES; i++) {
    desk.second();
    await pause(EACH_MS);
  }
  const after = await taskS(devtools);
  await close();
  // What the page does by itself in the same time, its look each second, is no part of an update.
  return ((after - before - (before - idle)) / UPDATES) * 1000;
}

/** Longer than the page gathers messages before it draws. */
const EACH_MS = 250;

const pause = (ms: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, ms));

async function hiddenFor(browser: Browser, url: string, desk: PageDesk) {
  const context = await browser.newContext({ viewport: phone });
  const page = await context.newPage();
  const devtools = await context.newCDPSession(page);
  await devtools.send('Performance.enable');
  await page.addInitScript(`{
    let state = 'visible';
    Object.defineProperty(document, 'visibilityState', { get: () => state });
    window.hideOrShow = (next) => { state = next; document.dispatchEvent(new Event('visibilitychange')); };
  }`);
  await page.goto(url);
  await page.locator('main:not(:has([aria-busy=true])) .curve canvas').waitFor();
  const usedMB = async (): Promise<number> => {
    await devtools.send('HeapProfiler.collectGarbage');
    const { metrics } = await devtools.send('Performance.getMetrics');
    return (metrics.find(({ name }) => name === 'JSHeapUsedSize')?.value ?? Number.NaN) / 1e6;
  };
  await page.evaluate(`hideOrShow('hidden')`);
  const beforeMB = await usedMB();
  for (let s = 0; s < HIDDEN_S; s++) {
    desk.second();
    if (s % 50 === 0) await pause(5);
  }
  await pause(2000);
  const moreMB = (await usedMB()) - beforeMB;
  const shows = String(Math.round(desk.celsius()));
  const fromMs = performance.now();
  await page.evaluate(`hideOrShow('visible')`);
  await page.locator('.digits', { hasText: shows }).waitFor();
  await page.locator('main:not(:has([aria-busy=true])) .curve canvas').waitFor();
  const shownMs = performance.now() - fromMs;
  await context.close();
  return { moreMB, shownMs };
}

async function manyViewers(url: string, desk: PageDesk): Promise<{ aloneMs: number; amongMs: number }> {
  const live = url.replace('http', 'ws');
  const open = async (): Promise<WebSocket> => {
    const socket = new WebSocket(`${live}/live`, { headers: { origin: url } });
    await once(socket, 'message');
    return socket;
  };
  const listener = await open();
  const measure = async (): Promise<number> => {
    const times: number[] = [];
    for (let i = 0; i < TOLD; i++) {
      const heard = once(listener, 'message');
      const fromMs = performance.now();
      desk.second();
      await heard;
      times.push(performance.now() - fromMs);
      await pause(10);
    }
    return quantile(times, 0.99);
  };
  const aloneMs = await measure();
  const others = await Promise.all(Array.from({ length: VIEWERS }, open));
  const stalled = await open();
  stalled.pause();
  const amongMs = await measure();
  for (const socket of [listener, stalled, ...others]) socket.terminate();
  return { aloneMs, amongMs };
}
