/** Six kilns on one page, and the page without any colour: the real page in Debian's Chromium. */
import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import { desktop, hasChromium, openPage, phone, type View } from '../support/browser.ts';
import { pageSuite } from '../support/page-suite.ts';
import type { Moment } from '../support/scripted-desk.ts';
import { serveScripted } from '../support/serve-scripted.ts';

const atMs = Date.UTC(2026, 10, 18, 12, 58);
const mustRun = process.env.CI === 'true';
const suite = pageSuite();
const { closing } = suite;

async function showSchool(moment: Moment, view: View) {
  const served = await serveScripted(0, moment, { kilns: 'school', still: true, atMs, webDir: suite.webDir });
  closing.push(() => served.close());
  const { page, close } = await openPage(suite.browser, served.url, view);
  closing.push(close);
  await page.locator('.kilns button', { hasText: 'Kiln 1' }).click();
  await page.locator('.kilns button[aria-pressed=true]', { hasText: 'Kiln 1' }).waitFor();
  await page.locator('main:not(:has([aria-busy=true]))').waitFor();
  return { page, served };
}

/** As somebody sees it who tells no colour from another. */
async function withoutColour(page: Page): Promise<void> {
  const devtools = await page.context().newCDPSession(page);
  await devtools.send('Emulation.setEmulatedVisionDeficiency', { type: 'achromatopsia' });
}

interface Print {
  readonly isGrey: boolean;
  /** The sign's own ink in 12 columns of 12, row by row: `#` where it differs from the paper. */
  readonly shape: string;
  /** Between the lightest and the darkest point. */
  readonly contrast: number;
}

/** What of an element is left in a picture of it, `wide` pixels from its left edge. */
async function printOf(page: Page, selector: string, wide: number): Promise<Print> {
  const picture = (await page.locator(selector).first().screenshot()).toString('base64');
  const scales = await suite.browser.newPage();
  try {
    return await scales.evaluate(`(async () => {
      const image = new Image();
      image.src = 'data:image/png;base64,${picture}';
      await image.decode();
      const width = Math.min(${wide}, image.width);
      const canvas = document.createElement('canvas');
      canvas.width = width; canvas.height = image.height;
      const pen = canvas.getContext('2d');
      pen.drawImage(image, 0, 0);
      const { data } = pen.getImageData(0, 0, width, image.height);
      const light = (x, y) => data[4 * (y * width + x)];
      let isGrey = true, least = 255, most = 0;
      for (let i = 0; i < data.length; i += 4) {
        if (Math.max(data[i], data[i + 1], data[i + 2]) - Math.min(data[i], data[i + 1], data[i + 2]) > 3) isGrey = false;
        least = Math.min(least, data[i]); most = Math.max(most, data[i]);
      }
      const paper = light(0, 0);
      let shape = '';
      for (let row = 0; row < 12; row++) for (let column = 0; column < 12; column++) {
        let sum = 0, count = 0;
        for (let y = Math.floor(row * image.height / 12); y < Math.floor((row + 1) * image.height / 12); y++)
          for (let x = Math.floor(column * width / 12); x < Math.floor((column + 1) * width / 12); x++) {
            sum += Math.abs(light(x, y) - paper); count++;
          }
        shape += sum / count > 35 ? '#' : '.';
      }
      const linear = (v) => v <= 10 ? v / 255 / 12.92 : ((v / 255 + 0.055) / 1.055) ** 2.4;
      return { isGrey, shape, contrast: (linear(most) + 0.05) / (linear(least) + 0.05) };
    })()`);
  } finally {
    await scales.close();
  }
}

function cellsApart(a: string, b: string): number {
  return [...a].filter((cell, i) => cell !== b[i]).length;
}

describe.skipIf(!hasChromium && !mustRun)('a school with six kilns', () => {
  test.each([
    ['a desk', desktop],
    ['a phone', phone],
  ])('on %s the one in trouble is named at once, with what it is, while another kiln is looked at', async (_, view) => {
    const { page } = await showSchool('lid-open', view);
    const calls = page.locator('.kilns button.kiln-calls');
    expect(await calls.count()).toBe(1);
    expect(await calls.locator('.kiln-name').textContent()).toBe('Kiln 4');
    expect(await calls.locator('.kiln-word').textContent()).toBe('Nowopen while hot');
    expect(await page.locator('.kilns .badge').count()).toBe(1);
    // From three metres: the first line is as large as on any other day, and says it too.
    expect(await page.locator('h1').textContent()).toMatch(/^Kiln 4 is open at 310/);
    expect(await page.title()).toMatch(/^Kiln 4 is open/);
    expect(await page.locator('.whose').textContent()).toBe('Kiln 1');
    const box = await calls.boundingBox();
    expect((box?.y ?? 9999) + (box?.height ?? 0)).toBeLessThan(view.height / 2);
  });

  test('once somebody has seen it the page is about the chosen kiln again, and the strip still says what is open', async () => {
    const { page } = await showSchool('lid-open', desktop);
    await page.locator('.seen').click();
    await page.locator('h1', { hasText: 'Kiln 1' }).waitFor();
    // It names its kiln once.
    expect(await page.locator('.alert-message').textContent()).toMatch(/^Kiln 4 is open at 310/);
    expect(await page.locator('.kiln-calls').count()).toBe(0);
    expect(await page.locator('.kilns button', { hasText: 'Kiln 4' }).locator('.kiln-word').textContent()).toMatch(
      /^open while hot, seen by /,
    );
    expect(await page.locator('.whose').count()).toBe(0);
  });

  test('when all six are well nothing in the strip stands out', async () => {
    const { page } = await showSchool('climbing', desktop);
    expect(await page.locator('.kilns button').count()).toBe(6);
    expect(await page.locator('.kilns .badge, .kiln-calls').count()).toBe(0);
    expect(await page.locator('h1').textContent()).toMatch(/^Kiln 1: hold at 660/);
  });
});

describe.skipIf(!hasChromium && !mustRun)('the page without colour', () => {
  test('now, soon and note are told apart by shape and by word', async () => {
    const { page, served } = await showSchool('lid-open', desktop);
    const [open] = served.desk.snapshot(true).kilns.flatMap(({ alerts }) => alerts);
    if (open === undefined) throw new Error('the lid of kiln 4 is not open');
    served.desk.push({ ...open, id: 'b', kiln: 'kiln-2', alert: 'overshoot', priority: 'soon' });
    served.desk.push({ ...open, id: 'c', kiln: 'kiln-5', alert: 'running-late', priority: 'note' });
    await page.locator('.alerts .badge-note').waitFor();
    await withoutColour(page);
    const prints = new Map<string, Print>();
    for (const priority of ['now', 'soon', 'note'])
      prints.set(priority, await printOf(page, `.alerts .badge-${priority}`, 24));
    for (const [priority, { isGrey, contrast }] of prints) {
      expect({ priority, isGrey }).toEqual({ priority, isGrey: true });
      expect({ priority, isStrong: contrast >= 3 }).toEqual({ priority, isStrong: true });
    }
    const shapes = [...prints.values()].map(({ shape }) => shape);
    for (const [i, one] of shapes.entries())
      for (const other of shapes.slice(i + 1)) expect(cellsApart(one, other)).toBeGreaterThan(20);
    expect(await page.locator('.alerts .badge').allTextContents()).toEqual(['Now', 'Soon', 'Note']);
  });

  test('a kiln that calls looks other than one that is well, and one that is not heard is covered by words', async () => {
    const { page } = await showSchool('lid-open', desktop);
    await withoutColour(page);
    const wide = 200;
    const [calling, well] = [
      await printOf(page, '.kilns button:nth-child(4)', wide),
      await printOf(page, '.kilns button:nth-child(5)', wide),
    ];
    expect([calling.isGrey, well.isGrey]).toEqual([true, true]);
    expect(cellsApart(calling.shape, well.shape)).toBeGreaterThan(20);
    const silent = await showSchool('silent', desktop);
    await withoutColour(silent.page);
    const fifth = silent.page.locator('.kilns button:nth-child(5)');
    expect(await fifth.locator('.kiln-figure').textContent()).toBe('NOT LIVE');
    expect(await fifth.locator('.kiln-word').textContent()).toBe('Nowno readings');
  });
});
