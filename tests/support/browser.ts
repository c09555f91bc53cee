/** Debian's Chromium on the real page: opened on a server, its errors and its requests written down. */
import { existsSync, readdirSync, statSync } from 'node:fs';
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

const root = fileURLToPath(new URL('../..', import.meta.url));
const built = join(root, 'dist/web');
/** What the page is made of. */
const sources = ['web', 'daemon/wire', 'daemon/core', 'package-lock.json'];

/** Whether `npm run build` came after the last change of what the page is made of. */
function isBuildFresh(): boolean {
  const last = join(built, 'service-worker.js');
  if (!existsSync(last)) return false;
  const builtAtMs = statSync(last).mtimeMs;
  const files = sources.flatMap((source) => {
    const place = join(root, source);
    return statSync(place).isDirectory()
      ? readdirSync(place, { recursive: true, encoding: 'utf8' }).map((name) => join(place, name))
      : [place];
  });
  return files.every((file) => statSync(file).mtimeMs < builtAtMs);
}

/** The page as it was built, where that is newer than its source; else built into a folder of its own. A test never sees an old one. */
export async function buildPage(): Promise<{ readonly webDir: string; remove(): Promise<void> }> {
  if (isBuildFresh()) return { webDir: built, remove: async () => undefined };
  const webDir = await mkdtemp(join(tmpdir(), 'spyhole-page-'));
  await build({
    configFile: join(root, 'web/vite.config.ts'),
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

/** Shows the same page in another size and light, drawn anew. */
export async function turnTo(page: Page, view: View): Promise<void> {
  await page.setViewportSize({ width: view.width, height: view.height });
  await page.emulateMedia({ colorScheme: view.isDark === true ? 'dark' : 'light' });
  await page.evaluate('new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(drawn)))');
}

/** What the accessibility checker has against the page as it stands. */
export async function faultsByAxe(page: Page): Promise<string[]> {
  if ((await page.evaluate('typeof axe')) === 'undefined') {
    await page.evaluate(await readFile(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8'));
  }
  return page.evaluate(
    `axe.run(document).then((found) => found.violations.map((v) => v.id + ': ' + v.nodes.map((n) => n.target).join(', ')))`,
  );
}
