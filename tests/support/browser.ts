/** Debian's Chromium on the real page: opened on a server, its errors and its requests written down. */
import { existsSync } from 'node:fs';
import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { type Browser, chromium, type Page } from 'playwright-core';
import { build } from 'vite';

const executablePath = '/usr/bin/chromium';

export const hasChromium: boolean = existsSync(executablePath);

export interface View {
  readonly width: number;
  readonly height: number;
  readonly isDark?: boolean;
}

export const phone: View = { width: 390, height: 844 };
export const smallPhone: View = { width: 360, height: 640 };
export const tablet: View = { width: 1024, height: 768 };
export const desktop: View = { width: 1280, height: 800 };

export interface OpenedPage {
  readonly page: Page;
  /** What the browser's console and uncaught errors said. */
  readonly complaints: string[];
  /** Every address that was asked for. */
  readonly requests: string[];
  close(): Promise<void>;
}

/** Builds the page into a folder of its own, so that a test never looks at an old build. */
export async function buildPage(): Promise<{ readonly webDir: string; remove(): Promise<void> }> {
  const webDir = await mkdtemp(join(tmpdir(), 'spyhole-page-'));
  await build({
    configFile: fileURLToPath(new URL('../../web/vite.config.ts', import.meta.url)),
    logLevel: 'error',
    build: { outDir: webDir, emptyOutDir: true },
  });
  return { webDir, remove: () => rm(webDir, { recursive: true, force: true }) };
}

/** @param more flags of Chromium, for a test of its own */
export function launchBrowser(more: readonly string[] = []): Promise<Browser> {
  return chromium.launch({
    executablePath,
    args: [
      '--no-sandbox',
      '--disable-gpu',
      '--disable-dev-shm-usage',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-default-apps',
      '--no-first-run',
      ...more,
    ],
  });
}

export async function openPage(browser: Browser, url: string, view: View): Promise<OpenedPage> {
  const context = await browser.newContext({
    viewport: { width: view.width, height: view.height },
    colorScheme: view.isDark === true ? 'dark' : 'light',
    reducedMotion: 'reduce',
    deviceScaleFactor: 1,
  });
  const page = await context.newPage();
  const complaints: string[] = [];
  const requests: string[] = [];
  page.on('console', (message) => {
    if (message.type() === 'error' || message.type() === 'warning') complaints.push(message.text());
  });
  page.on('pageerror', (error) => complaints.push(String(error)));
  page.on('request', (request) => requests.push(request.url()));
  page.on('websocket', (socket) => requests.push(socket.url()));
  await page.goto(url);
  return { page, complaints, requests, close: () => context.close() };
}

/** What the accessibility checker has against the page as it stands. */
export async function faultsByAxe(page: Page): Promise<string[]> {
  const source = await readFile(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
  await page.evaluate(source);
  return page.evaluate(
    `axe.run(document).then((found) => found.violations.map((v) => v.id + ': ' + v.nodes.map((n) => n.target).join(', ')))`,
  );
}
