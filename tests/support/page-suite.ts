/** The built page and a browser for one file of tests, and what each test opened closed again after it. */
import type { Browser } from 'playwright-core';
import { afterAll, afterEach, beforeAll } from 'vitest';
import { buildPage, hasChromium, launchBrowser } from './browser.ts';

export interface PageSuite {
  readonly browser: Browser;
  readonly webDir: string;
  /** Closed after the test, the last first. */
  readonly closing: (() => Promise<void>)[];
}

/** @param flags of Chromium, for this file's own purpose */
export function pageSuite(flags: readonly string[] = []): PageSuite {
  // Both are there once the first test runs; where there is no Chromium, no test does.
  let browser: Browser;
  let webDir: string;
  const closing: (() => Promise<void>)[] = [];
  let removeBuild: (() => Promise<void>) | undefined;
  beforeAll(async () => {
    if (!hasChromium) return;
    const built = await buildPage();
    webDir = built.webDir;
    removeBuild = built.remove;
    browser = await launchBrowser(flags);
  });
  afterEach(async () => {
    while (closing.length > 0) await closing.pop()?.();
  });
  afterAll(async () => {
    await browser?.close();
    await removeBuild?.();
  });
  return {
    get browser() {
      return browser;
    },
    get webDir() {
      return webDir;
    },
    closing,
  };
}
