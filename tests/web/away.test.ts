/**
 * The page opened while the daemon is away, frozen, or behind a network that is gone: NOT LIVE and never a figure of before.
 * In Debian's Chromium, with its service worker: on this machine, over TLS behind a proxy, and over plain http, which has none.
 */
import { appendFileSync, cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import { faultsByAxe, hasChromium, openPage, phone, tablet } from '../support/browser.ts';
import { needs } from '../support/debian.ts';
import { freePort } from '../support/mosquitto.ts';
import { pageSuite } from '../support/page-suite.ts';
import { startScriptedProcess } from '../support/scripted-process.ts';
import { serveScripted } from '../support/serve-scripted.ts';
import { certificateFor, tlsProxy } from '../support/tls-proxy.ts';

const mustRun = process.env.CI === 'true';
const canRun = (hasChromium || mustRun) && needs('openssl');
const name = 'kiln.example';
const certificate = canRun ? certificateFor(name) : null;
const suite = pageSuite([
  `--host-resolver-rules=MAP ${name} 127.0.0.1`,
  `--ignore-certificate-errors-spki-list=${certificate?.keyHash}`,
]);
const { closing } = suite;

/** The page is in the hands of its service worker: what is opened from now on goes through it. */
async function inKeeping(page: Page): Promise<void> {
  await page.evaluate(`new Promise((resolve) => {
    if (navigator.serviceWorker.controller !== null) resolve();
    navigator.serviceWorker.addEventListener('controllerchange', resolve);
  })`);
}

/** Everything that can be read, and everything that the browser keeps for the page. */
async function keptAndSaid(page: Page): Promise<{ said: string; caches: string[] }> {
  return { said: (await page.locator('main').textContent()) ?? '', caches: await page.evaluate('caches.keys()') };
}

async function whatHinders(page: Page): Promise<string[]> {
  const devtools = await page.context().newCDPSession(page);
  const { installabilityErrors } = await devtools.send('Page.getInstallabilityErrors');
  return installabilityErrors.map(({ errorId }) => errorId);
}

describe.skipIf(!canRun)('opened while the daemon is away', () => {
  test('the page says NOT LIVE, shows no figure of before, keeps none, and comes back by itself', async () => {
    const port = await freePort();
    const serve = () => serveScripted(port, 'holding', { kilns: 1, webDir: suite.webDir });
    const before = await serve();
    const { page, complaints, close } = await openPage(suite.browser, `${before.url}/`, phone);
    closing.push(close);
    await page.locator('.temperature[data-live="live"] .digits').waitFor();
    await inKeeping(page);
    await before.close();

    await page.reload();
    await page.locator('h1', { hasText: /^NOT LIVE$/ }).waitFor();
    expect(await page.title()).toBe('NOT LIVE');
    await page.getByText(/Last tried at \d\d:\d\d:\d\d/).waitFor();
    const { said, caches } = await keptAndSaid(page);
    expect(said.replace(/\d\d:\d\d:\d\d/, '')).not.toMatch(/\d/);
    expect(caches).toEqual([]);
    expect(await faultsByAxe(page)).toEqual([]);
    expect(complaints.filter((one) => /content security/i.test(one))).toEqual([]);

    const after = await serve();
    closing.push(() => after.close());
    await page.locator('.temperature[data-live="live"] .digits').waitFor();
  });

  test('the sign at a door says that it must not be opened', async () => {
    const served = await serveScripted(0, 'idle', { kilns: 1, webDir: suite.webDir });
    const { page, close } = await openPage(suite.browser, `${served.url}/door/gas`, { width: 800, height: 480 });
    closing.push(close);
    await page.locator('h1', { hasText: 'Safe to unload' }).waitFor();
    await inKeeping(page);
    await served.close();
    await page.reload();
    await page.locator('h1', { hasText: 'NOT LIVE. Do not open' }).waitFor();
    expect(await page.locator('main').textContent()).not.toContain('Safe');
    expect(await page.evaluate('document.documentElement.scrollHeight')).toBeLessThanOrEqual(480);
  });

  test('a newer page takes the place of an older one at once: what is shown always came from the daemon', async () => {
    const newer = mkdtempSync(join(tmpdir(), 'spyhole-newer-'));
    closing.push(async () => rmSync(newer, { recursive: true, force: true }));
    cpSync(suite.webDir, newer, { recursive: true });
    const index = join(newer, 'index.html');
    writeFileSync(index, readFileSync(index, 'utf8').replace('<html lang="en">', '<html lang="en" data-page="newer">'));
    appendFileSync(join(newer, 'service-worker.js'), '\n// newer\n');

    const port = await freePort();
    const old = await serveScripted(port, 'holding', { kilns: 1, webDir: suite.webDir });
    const { page, close } = await openPage(suite.browser, `${old.url}/`, phone);
    closing.push(close);
    await inKeeping(page);
    await page.evaluate(`navigator.serviceWorker.addEventListener('controllerchange',
      () => { document.documentElement.dataset.keeper = 'changed'; })`);
    await old.close();
    const served = await serveScripted(port, 'holding', { kilns: 1, webDir: newer });
    closing.push(() => served.close());
    await page.evaluate('navigator.serviceWorker.ready.then((kept) => kept.update())');
    await page.locator('html[data-keeper=changed]').waitFor();
    await page.reload();
    await page.locator('html[data-page=newer]').waitFor();
    await page.locator('.digits').waitFor();
    expect(await page.evaluate('navigator.serviceWorker.ready.then((kept) => kept.waiting)')).toBeNull();
    expect((await keptAndSaid(page)).caches).toEqual([]);
  });
});

describe.skipIf(!canRun)('a daemon that is frozen in the middle', () => {
  // Ten seconds are what requirement D10 grants; the page is given no more.
  const granted = { timeout: 10_000 };

  test('is told by itself on Watch, at the door and to whoever opens the page; all are live when it comes back', async () => {
    const frozen = await startScriptedProcess(suite.webDir, 'idle');
    closing.push(() => frozen.end());
    const open = async (path: string): Promise<Page> => {
      const { page, close } = await openPage(suite.browser, `${frozen.url}${path}`, tablet);
      closing.push(close);
      return page;
    };
    const [page, sign, opened] = [await open('/'), await open('/door/gas'), await open('/')];
    await page.locator('.digits').waitFor();
    await sign.locator('h1', { hasText: 'Safe to unload' }).waitFor();
    await inKeeping(opened);
    frozen.freeze();
    const reload = opened.reload();
    await Promise.all([
      page.locator('.cover', { hasText: 'NOT LIVE' }).waitFor(granted),
      sign.locator('h1', { hasText: 'NOT LIVE. Do not open' }).waitFor(granted),
      opened.locator('h1', { hasText: /^NOT LIVE$/ }).waitFor(granted),
    ]);
    await reload;
    expect(await page.locator('.digits').count()).toBe(0);
    expect(await page.title()).toMatch(/^NOT LIVE/);
    expect(await page.locator('h1').textContent()).toContain('Not live');
    await sign.getByText('ask whoever keeps the watch').waitFor();
    expect(await sign.locator('.sign-foot').textContent()).toMatch(/^last heard \d\d:\d\d/);
    frozen.thaw();
    await sign.locator('h1', { hasText: 'Safe to unload' }).waitFor();
    for (const one of [page, opened]) {
      await one.locator('.temperature[data-live="live"] .digits').waitFor();
      expect(await one.title()).not.toContain('NOT LIVE');
    }
  });
});

describe.skipIf(!canRun)('among the apps of a phone', () => {
  test('it can be put over TLS, behind a proxy; when the daemon is away it says NOT LIVE in place of the proxy’s words', async () => {
    if (certificate === null) throw new Error('no certificate');
    const port = await freePort();
    const proxy = await tlsProxy(certificate, port);
    closing.push(() => proxy.close());
    const hosts = [`${name}:${proxy.port}`];
    const served = await serveScripted(port, 'holding', { kilns: 1, hosts, webDir: suite.webDir });
    const { page, close } = await openPage(suite.browser, `https://${name}:${proxy.port}/#/screen`, phone);
    closing.push(close);
    await page.getByRole('heading', { name: 'Among the apps' }).waitFor();
    await inKeeping(page);
    // The driver's windows are private ones; nothing else stands in the way.
    expect(await whatHinders(page)).toEqual(['in-incognito']);
    await page.getByRole('link', { name: 'Watch' }).click();
    await page.locator('.temperature[data-live="live"] .digits').waitFor();
    await served.close();
    await page.reload();
    await page.locator('h1', { hasText: /^NOT LIVE$/ }).waitFor();
  });

  test('it cannot be put over plain http, as the page itself says; there the browser shows its own error', async () => {
    const served = await serveScripted(0, 'holding', { kilns: 1, hosts: [name], webDir: suite.webDir });
    const { page, close } = await openPage(suite.browser, `http://${name}:${served.port}/#/screen`, phone);
    closing.push(close);
    await page
      .getByText(/cannot be put among the apps, and opened without the network it shows the browser’s own/)
      .waitFor();
    expect(await page.getByRole('heading', { name: 'Among the apps' }).count()).toBe(0);
    expect(await page.evaluate(`'serviceWorker' in navigator`)).toBe(false);
    expect(await whatHinders(page)).toContain('not-from-secure-origin');
    await served.close();
    await expect(page.reload()).rejects.toThrow(/ERR_CONNECTION_REFUSED/);
  });
});
