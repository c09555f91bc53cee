/** The built page in Debian's Chromium, on the real server with a made-up firing. */
import { networkInterfaces } from 'node:os';
import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import {
  desktop,
  faultsByAxe,
  hasChromium,
  type OpenedPage,
  openPage,
  phone,
  smallPhone,
  tablet,
  turnTo,
  type View,
} from '../support/browser.ts';
import { pageSuite } from '../support/page-suite.ts';
import type { Moment } from '../support/scripted-desk.ts';
import { type Served, serveScripted } from '../support/serve-scripted.ts';

/** 18 November 2026, 13:58 on the workshop's wall. */
const atMs = Date.UTC(2026, 10, 18, 12, 58);
const mustRun = process.env.CI === 'true';

const suite = pageSuite();
const { closing } = suite;

type Options = Parameters<typeof serveScripted>[2];

async function show(
  moment: Moment,
  view: View,
  hash = '#/',
  options: Options = {},
): Promise<OpenedPage & { readonly served: Served }> {
  const served = await serveScripted(0, moment, { kilns: 1, still: true, atMs, webDir: suite.webDir, ...options });
  closing.push(() => served.close());
  const opened = await openPage(suite.browser, `${served.url}/${hash}`, view);
  closing.push(() => opened.close());
  await settled(opened.page);
  return { ...opened, served };
}

/** Until the screen stands and, on Watch, the whole curve has come. */
async function settled(page: Page): Promise<void> {
  await page.locator('h1').filter({ hasNotText: 'Asking' }).waitFor();
  await page.locator('main:not(:has([aria-busy=true]))').waitFor();
}

/** Share of the view's height that the figures' own ink takes. */
const figuresShare = `(() => {
  const digits = document.querySelector('.digits');
  const pen = document.createElement('canvas').getContext('2d');
  const { fontWeight, fontSize, fontFamily } = getComputedStyle(digits);
  pen.font = fontWeight + ' ' + fontSize + ' ' + fontFamily;
  const ink = pen.measureText(digits.textContent);
  return (ink.actualBoundingBoxAscent + ink.actualBoundingBoxDescent) / innerHeight;
})()`;

/** Pixels of a strong red, orange or amber: the colours that are kept for what wants a person. */
async function alarmPixels(page: Page): Promise<number> {
  const picture = (await page.screenshot({ fullPage: true })).toString('base64');
  const scales = await suite.browser.newPage();
  try {
    return await scales.evaluate(`(async () => {
      const image = new Image();
      image.src = 'data:image/png;base64,${picture}';
      await image.decode();
      const canvas = document.createElement('canvas');
      canvas.width = image.width; canvas.height = image.height;
      const pen = canvas.getContext('2d');
      pen.drawImage(image, 0, 0);
      const { data } = pen.getImageData(0, 0, canvas.width, canvas.height);
      let alarming = 0;
      for (let i = 0; i < data.length; i += 4) {
        const [r, g, b] = [data[i], data[i + 1], data[i + 2]];
        const most = Math.max(r, g, b), least = Math.min(r, g, b);
        if (r === most && r > 110 && (most - least) / most > 0.5 && b < 0.6 * r) alarming++;
      }
      return alarming;
    })()`);
  } finally {
    await scales.close();
  }
}

describe.skipIf(!hasChromium && !mustRun)('Watch, from across the room', () => {
  test('the first line and the title are the sentence of the core', async () => {
    const { page, served } = await show('holding', tablet);
    const sentence = served.desk.snapshot(true).kilns[0]?.position?.sentence ?? '';
    expect(sentence).toContain('6 of 15 min');
    expect(await page.locator('h1').textContent()).toBe(sentence);
    expect(await page.title()).toBe(sentence);
  });

  test('the figures of the temperature take 18 % of the height of a tablet', async () => {
    const { page } = await show('holding', tablet);
    expect(await page.locator('.digits').textContent()).toMatch(/^6\d\d$/);
    expect(await page.evaluate(figuresShare)).toBeGreaterThanOrEqual(0.18);
  });

  test('a new reading is shown as it comes, without a reload', async () => {
    const { page, served } = await show('climbing', tablet);
    served.desk.advance(600);
    const celsius = served.desk.snapshot(true).kilns[0]?.readings[0]?.celsius ?? 0;
    await page.locator('.digits', { hasText: String(Math.round(celsius)) }).waitFor();
  });

  test('what comes next stands with its time by the wall’s clock', async () => {
    const { page } = await show('climbing', tablet);
    expect(await page.locator('.next-clause b').textContent()).toMatch(/close the vent and the door at 14:0\d/);
  });

  test('a call of the hand that is due says come now, without an alarm colour', async () => {
    const { page, served } = await show('holding', tablet);
    expect(await page.locator('.due').count()).toBe(0);
    served.desk.advance(360);
    await page.locator('.due', { hasText: 'gas off' }).waitFor();
    expect(await alarmPixels(page)).toBe(0);
  });

  test('a quiet firing has no alarm colour, light or dark; one that calls has', async () => {
    for (const moment of ['climbing', 'holding', 'cooling', 'idle', 'overshoot'] as const) {
      const { page } = await show(moment, desktop);
      for (const isDark of [false, true]) {
        await turnTo(page, { ...desktop, isDark });
        const pixels = await alarmPixels(page);
        expect({ moment, isDark, isCalm: moment === 'overshoot' ? pixels <= 50 : pixels === 0 }).toEqual({
          moment,
          isDark,
          isCalm: moment !== 'overshoot',
        });
      }
    }
  });

  test('a simulated kiln is called so on the page and in the title', async () => {
    const { page } = await show('holding', tablet, '#/', { simulated: { speed: 60 } });
    expect(await page.locator('.simulated').textContent()).toContain('SIMULATED kiln, clock runs 60 times as fast');
    expect(await page.title()).toMatch(/^SIMULATED/);
  });

  test('of several kilns the one that is tapped stands in full', async () => {
    const { page } = await show('climbing', tablet, '#/', { kilns: 2 });
    await page.locator('.kilns button', { hasText: 'Small kiln' }).click();
    await page.locator('h1', { hasText: 'Small kiln' }).waitFor();
    expect(await page.locator('.digits').textContent()).toMatch(/^(19|20)$/);
  });

  test('the curve is also told in figures', async () => {
    const { page } = await show('holding', tablet);
    await page.locator('.curve-words summary').click();
    expect(await page.locator('.curve-words tbody tr').count()).toBeGreaterThan(3);
    expect(await page.locator('.curve-words tbody').textContent()).toMatch(/\d+ °C/);
  });
});

describe.skipIf(!hasChromium && !mustRun)('is it live', () => {
  test('a browser whose clock is an hour wrong is not misled', async () => {
    const served = await serveScripted(0, 'holding', { kilns: 1, webDir: suite.webDir });
    closing.push(() => served.close());
    const { page, close } = await openPage(suite.browser, 'about:blank', tablet);
    closing.push(close);
    await page.addInitScript('{ const real = Date.now; Date.now = () => real() - 3600000; }');
    await page.goto(`${served.url}/`);
    await page.locator('.temperature[data-live="live"] .digits').waitFor();
    expect(await page.locator('.age').textContent()).toMatch(/read \d s ago/);
  });

  test('a sensor that fell silent covers its number and says for how long', async () => {
    const { page } = await show('silent', tablet);
    expect(await page.locator('.cover').textContent()).toMatch(/No reading for 4\d s/);
    expect(await page.title()).toMatch(/^NOT LIVE/);
  });
});

describe.skipIf(!hasChromium && !mustRun)('the hand at the page', () => {
  test('“I’ve seen it” is one press of a 64 px button and shows who pressed', async () => {
    const { page } = await show('overshoot', tablet);
    await page.getByLabel('Your name').fill('Hanna');
    const button = page.getByRole('button', { name: 'I’ve seen it' });
    expect((await button.boundingBox())?.height).toBeGreaterThanOrEqual(64);
    await button.click();
    await page.getByText('seen by Hanna').waitFor();
    expect(await button.count()).toBe(0);
  });

  test('an alert says why, what to do, how soon, and what comes of it if nothing is done', async () => {
    const { page, served } = await show('overshoot', tablet);
    await page.getByText('Why, and what to do').click();
    const alert = served.desk.snapshot(true).kilns[0]?.alerts[0];
    const said = (await page.locator('.alert details').textContent()) ?? '';
    for (const part of [alert?.because, alert?.whatToDo, alert?.ifNothing, alert?.timeToAct]) {
      expect(part).toMatch(/\S/);
      expect(said).toContain(part);
    }
  });

  test('what another alert explains is listed under it, without buttons of its own', async () => {
    const { page, served } = await show('overshoot', tablet);
    const [first] = served.desk.snapshot(true).kilns[0]?.alerts ?? [];
    if (first === undefined) throw new Error('the moment has no alert');
    const message = 'The couples differ by 30.';
    served.desk.push({ ...first, id: 'b', alert: 'sensors-disagree', heldBackBy: first.id, message });
    await page.locator('.held-back', { hasText: message }).waitFor();
    expect(await page.locator('.alert').count()).toBe(1);
    expect(await page.getByRole('button', { name: 'I’ve seen it' }).count()).toBe(1);
    // Once its cause is gone it stands by itself.
    served.desk.push({ ...first, life: 'gone', phase: 'over' });
    await page.locator('.alert-message', { hasText: message }).waitFor();
  });

  test('what wants a person’s word stays until somebody says that all is well', async () => {
    const { page, served } = await show('climbing', tablet);
    const [kiln] = served.desk.snapshot(true).kilns;
    served.desk.push({
      type: 'alert',
      atMs,
      id: 'flame',
      alert: 'heat-lost',
      phase: 'over',
      priority: 'now',
      life: 'needs-reset',
      sinceMs: atMs - 600_000,
      message: 'It was losing heat, for 8 minutes.',
      because: 'It fell 4 a minute.',
      ifNothing: 'gas may stand in the kiln',
      usualCause: 'wind',
      whatToDo: 'air it',
      timeToAct: 'none',
      kiln: 'gas',
      firing: kiln?.firing?.id ?? null,
    });
    await page.getByText('Go and look; then say that all is well').waitFor();
    const asked = page.waitForRequest(/\/api\/alerts\/flame\/reset$/);
    await page.getByRole('button', { name: 'All is well again' }).click();
    expect((await asked).postDataJSON()).toEqual({ by: 'bench' });
  });

  test('a kind that is not wanted is switched off for a reason, and a line says so as long as the firing lasts', async () => {
    const { page, served } = await show('overshoot', tablet);
    await page.getByText('Why, and what to do').click();
    await page.getByRole('button', { name: 'Do not watch for this in this firing' }).click();
    await page.getByRole('button', { name: 'Switch it off' }).isDisabled();
    await page.getByLabel('Why not, in a few words').fill('test tiles, meant to be too hot');
    await page.getByRole('button', { name: 'Switch it off' }).click();
    await page.getByText(/Not watched in this firing: too hot\. bench at 13:58: test tiles/).waitFor();
    await page.reload();
    await page.getByText(/Not watched in this firing: too hot/).waitFor();
    await page.getByRole('button', { name: 'Watch it again' }).click();
    await page.locator('.switched-off').waitFor({ state: 'detached' });
    expect(served.desk.snapshot(true).kilns[0]?.switchedOff).toEqual([]);
  });

  test('an alert that is put aside says until when', async () => {
    const { page } = await show('overshoot', tablet);
    await page.getByRole('button', { name: 'Remind me' }).click();
    await page.getByText('put aside until 14:08').waitFor();
  });

  test('the element that speaks alerts is there from the start, and says the alert once it calls', async () => {
    const { page, served } = await show('climbing', tablet);
    expect(await page.locator('[role=alert]').textContent()).toBe('');
    const kiln = served.desk.snapshot(true).kilns[0];
    served.desk.push({
      type: 'alert',
      atMs,
      id: 'a1',
      alert: 'stalled-ramp',
      phase: 'happening',
      priority: 'soon',
      life: 'calling',
      sinceMs: atMs,
      message: 'Gas kiln: not climbing. Look at the bottle.',
      because: 'The climb halved.',
      ifNothing: 'the hold comes late',
      usualCause: 'an empty bottle',
      whatToDo: 'look at the bottle',
      timeToAct: 'ten minutes',
      kiln: 'gas',
      firing: kiln?.firing?.id ?? null,
    });
    await page.locator('[role=alert]', { hasText: 'Look at the bottle' }).waitFor({ state: 'attached' });
  });

  test('a valve mark is logged with its figure by the keyboard alone', async () => {
    const { page, served } = await show('climbing', tablet);
    await page.getByRole('button', { name: 'Valve', exact: true }).focus();
    await page.keyboard.press('Enter');
    await page.locator('.act-figure input:focus').waitFor();
    await page.keyboard.type('3.5');
    await page.keyboard.press('Enter');
    await page.getByText('Logged at 13:58: Valve mark 3.5.').waitFor();
    const id = served.desk.snapshot(true).kilns[0]?.firing?.id ?? '';
    const { acts } = await served.desk.firing(id);
    expect(acts.at(-1)).toMatchObject({ what: 'valve', value: 'mark 3.5', by: 'bench' });
    await page.locator('.act-buttons button:focus', { hasText: 'Valve' }).waitFor();
  });

  test('every button and link is reached by the keyboard, in the order of the eye, and is seen to be', async () => {
    const { page } = await show('overshoot', desktop);
    const reached: string[] = [];
    for (;;) {
      await page.keyboard.press('Tab');
      if (await page.evaluate('document.activeElement === document.body')) break; // Once around.
      const { name, isMarked, isWithin } = await page.evaluate<{
        name: string;
        isMarked: boolean;
        isWithin: boolean;
      }>(`(() => {
        const one = document.activeElement;
        const box = one.getBoundingClientRect();
        return {
          name: one.textContent || one.getAttribute('type'),
          isMarked: getComputedStyle(one).outlineStyle !== 'none',
          isWithin: document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2)?.closest(one.tagName) === one,
        };
      })()`);
      expect({ name, isMarked, isWithin }).toEqual({ name, isMarked: true, isWithin: true });
      reached.push(name);
    }
    const order = ['Watch', 'I’ve seen it', 'Why, and what to do', 'Done', 'Near now', 'Valve', 'Hand the watch over'];
    const places = order.map((name) => reached.indexOf(name));
    expect(places).not.toContain(-1);
    expect(places).toEqual([...places].sort((a, b) => a - b));
  });

  test('what the eye saw is logged by one press', async () => {
    const { page, served } = await show('holding', phone);
    await page.getByRole('button', { name: 'Gloss seen' }).click();
    await page.getByText(/^Logged at .*Gloss seen/).waitFor();
    const id = served.desk.snapshot(true).kilns[0]?.firing?.id ?? '';
    expect((await served.desk.firing(id)).acts.at(-1)?.what).toBe('gloss seen');
  });

  test('what the hand did last time is told at its temperature and beside the button, until it is done again', async () => {
    const { page } = await show('overshoot', tablet);
    await page.locator('.last-time-next', { hasText: 'valve mark 3 at 648 °C' }).waitFor();
    await page.getByRole('button', { name: 'Valve', exact: true }).click();
    await page.locator('.act-form', { hasText: 'Last time: valve mark 3 at 648 °C' }).waitFor();
    await page.locator('.act-figure input').fill('3');
    await page.getByRole('button', { name: 'Log it' }).click();
    await page.locator('.last-time-next', { hasText: 'gloss seen at 661 °C' }).waitFor();
  });

  test('what the hand pyrometer shows is typed in this screen’s degrees and kept in °C', async () => {
    const { page, served } = await show('holding', phone, '#/screen');
    await page.getByRole('button', { name: '°F' }).click();
    await page.getByRole('link', { name: 'Watch' }).click();
    await page.getByRole('button', { name: 'Hand pyrometer' }).click();
    await page.locator('.act-figure input').fill('1211');
    await page.getByRole('button', { name: 'Log it' }).click();
    await page.locator('.lately', { hasText: /hand pyrometer 1211 °F/ }).waitFor();
    const id = served.desk.snapshot(true).kilns[0]?.firing?.id ?? '';
    expect((await served.desk.firing(id)).acts.at(-1)).toMatchObject({ what: 'hand pyrometer', value: '655 °C' });
  });

  test('a refusal stands beside the button as one sentence', async () => {
    const { page, served } = await show('climbing', tablet);
    await page.getByRole('button', { name: 'Bung' }).click();
    // The firing is ended elsewhere, and the news has not reached this page.
    const id = served.desk.snapshot(true).kilns[0]?.firing?.id ?? '';
    await page.route('**/acts', (route) =>
      route.continue({ url: route.request().url().replace(id, 'no-such-firing') }),
    );
    await page.getByRole('button', { name: 'out', exact: true }).click();
    await page.locator('.acts .refusal', { hasText: 'there is no firing' }).waitFor();
  });

  test('a firing is begun with a plan, and ended after being asked twice', async () => {
    const { page, served } = await show('idle', desktop, '#/begin');
    await page.getByLabel('Silver stain').check();
    await page.getByRole('button', { name: 'Begin in Gas kiln' }).click();
    await page.locator('.curve canvas').waitFor();
    expect(served.desk.snapshot(true).kilns[0]?.firing?.schedule?.name).toContain('Silver stain');
    await page.goto(`${served.url}/#/begin`);
    await page.getByRole('button', { name: 'End this firing' }).click();
    await page.getByRole('button', { name: 'Yes, end it' }).click();
    await page.getByText('The curve will stand here').waitFor();
    expect(served.desk.snapshot(true).kilns[0]?.firing).toBeNull();
  });

  test('a firing that warmed with no plan gets one late', async () => {
    const { page, served } = await show('no-plan', desktop, '#/begin');
    await page.getByLabel('Enamel 590').check();
    await page.getByRole('button', { name: 'Give Gas kiln this plan' }).click();
    await page.locator('.curve canvas').waitFor();
    expect(served.desk.snapshot(true).kilns[0]?.firing?.schedule?.name).toContain('Enamel');
  });

  const lan = Object.values(networkInterfaces())
    .flatMap((addresses) => addresses ?? [])
    .find((one) => !one.internal && one.family === 'IPv4')?.address;
  test.skipIf(lan === undefined)('a phone in the network is told plainly where to begin and end', async () => {
    const served = await serveScripted(0, 'holding', { kilns: 1, still: true, webDir: suite.webDir, host: '0.0.0.0' });
    closing.push(() => served.close());
    const { page, close } = await openPage(suite.browser, `http://${lan}:${served.port}/#/begin`, phone);
    closing.push(close);
    await page.getByText('Begin and end from the kiln’s own computer').waitFor();
    expect(await page.getByRole('button', { name: /Begin|End|Give/ }).count()).toBe(0);
  });
});

describe.skipIf(!hasChromium && !mustRun)('past firings', () => {
  test('they stand in a list with a small curve each, and open with curve, acts, alerts and notes', async () => {
    const { page } = await show('holding', desktop, '#/firings', { kilns: 2 });
    expect(await page.locator('.firing-list li').count()).toBe(5);
    expect(await page.locator('.firing-list polyline').count()).toBe(5);
    await page.locator('.firing-list a').nth(1).click();
    await page.locator('.curve-past canvas').waitFor();
    const text = (await page.locator('.firing').textContent()) ?? '';
    for (const part of ['Turned down in time', 'gloss seen', 'Even gloss', '14.3 of 15 min', 'Proof'])
      expect(text).toContain(part);
  });

  test('a firing that is not there is said in one sentence', async () => {
    const { page } = await show('holding', desktop, '#/firings/no-such-firing');
    expect(await page.locator('.refusal').textContent()).toContain('there is no firing');
  });
});

describe.skipIf(!hasChromium && !mustRun)('every size and light', () => {
  test('on the smallest phone sentence, number, next and the button need no scrolling', async () => {
    const { page } = await show('overshoot', smallPhone);
    for (const part of ['h1', '.digits', '.next .due', '.seen']) {
      const box = await page.locator(part).first().boundingBox();
      expect((box?.y ?? 0) + (box?.height ?? 999), part).toBeLessThanOrEqual(smallPhone.height);
    }
  });

  test('nothing needs to be pushed sideways at 320 px or at twice the size', async () => {
    for (const [moment, hash] of [
      ['lid-open', '#/'],
      ['overshoot', '#/'],
      ['holding', '#/firings'],
      ['idle', '#/begin'],
    ] as const) {
      const { page } = await show(moment, phone, hash, { kilns: 2 });
      for (const view of [
        { width: 320, height: 568 },
        { width: desktop.width / 2, height: desktop.height / 2 },
      ]) {
        await turnTo(page, view);
        expect(await page.evaluate('document.documentElement.scrollWidth')).toBeLessThanOrEqual(view.width);
      }
    }
  });

  test('axe finds nothing, no error is complained of, nothing is asked of another machine', async () => {
    for (const [moment, hash] of [
      ['overshoot', '#/'],
      ['lid-open', '#/'],
      ['silent', '#/'],
      ['idle', '#/'],
      ['holding', '#/firings'],
      ['holding', '#/begin'],
      ['idle', '#/begin'],
      ['holding', '#/screen'],
    ] as const) {
      const { page, complaints, requests, served } = await show(moment, phone, hash, { kilns: 2 });
      for (const { width, height } of [phone, desktop]) {
        for (const isDark of [false, true]) {
          await turnTo(page, { width, height, isDark });
          const where = { moment, hash, isDark, width };
          expect({ ...where, faults: await faultsByAxe(page) }).toEqual({ ...where, faults: [] });
        }
      }
      expect(complaints).toEqual([]);
      const own = new RegExp(`^(http|ws)://127\\.0\\.0\\.1:${served.port}/`);
      expect(requests.filter((address) => !own.test(address))).toEqual([]);
    }
    const { page } = await show('holding', desktop, '#/firings');
    await page.locator('.firing-list a').nth(1).click();
    await page.locator('.curve-past canvas').waitFor();
    expect(await faultsByAxe(page)).toEqual([]);
  }, 180_000);

  test('the dark page can be asked for by hand and is remembered', async () => {
    const { page } = await show('holding', tablet, '#/screen');
    await page.getByRole('button', { name: 'Dark' }).click();
    await page.reload();
    await page.locator('button[aria-pressed=true]', { hasText: 'Dark' }).waitFor();
    expect(await page.evaluate('getComputedStyle(document.body).backgroundColor')).toBe('rgb(21, 24, 29)');
  });
});
