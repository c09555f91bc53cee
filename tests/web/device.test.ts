/**
 * What a screen itself can and cannot do, in Debian's Chromium: sound only after a tap, the voice, staying lit, plain http.
 * Sound is watched from page code: a driver's `evaluate` counts as a gesture and would prove nothing.
 */
import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import { desktop, faultsByAxe, hasChromium, openPage, phone, smallPhone, tablet } from '../support/browser.ts';
import { pageSuite } from '../support/page-suite.ts';
import { serveScripted } from '../support/serve-scripted.ts';

const atMs = Date.UTC(2026, 10, 18, 12, 58);
const mustRun = process.env.CI === 'true';
const suite = pageSuite(['--host-resolver-rules=MAP kiln.example 127.0.0.1']);
const { closing } = suite;

type Moment = Parameters<typeof serveScripted>[1];
type Options = Parameters<typeof serveScripted>[2];

async function serve(moment: Moment, options: Options = {}) {
  const served = await serveScripted(0, moment, { kilns: 1, still: true, atMs, webDir: suite.webDir, ...options });
  closing.push(() => served.close());
  return served;
}

/** Opens a page that writes down, where a test can read it without a gesture, every tone that it strikes. */
async function listenAt(url: string, view = tablet): Promise<Page> {
  const { page, close } = await openPage(suite.browser, 'about:blank', view);
  closing.push(close);
  await page.addInitScript(`{
    const heard = [];
    const write = () => { document.documentElement.dataset.tones = heard.join(' '); };
    const strike = OscillatorNode.prototype.start;
    OscillatorNode.prototype.start = function (...when) {
      heard.push(this.context.state + ':' + Math.round(this.frequency.value));
      write();
      return strike.apply(this, when);
    };
    const Context = AudioContext;
    window.AudioContext = class extends Context {
      constructor(...options) { super(...options); window.addEventListener('hush', () => this.suspend()); }
    };
    const said = [];
    const voices = [{ name: 'a voice', lang: 'en' }];
    speechSynthesis.getVoices = () => voices;
    speechSynthesis.speak = (words) => {
      said.push(words.text);
      document.documentElement.dataset.said = said.join(' | ');
    };
  }`);
  if (url === 'about:blank') return page;
  await page.goto(url);
  await page.locator('h1').filter({ hasNotText: 'Asking' }).waitFor();
  return page;
}

async function tonesOf(page: Page): Promise<string[]> {
  const tones = await page.locator('html').getAttribute('data-tones');
  return tones === null ? [] : tones.split(' ');
}

describe.skipIf(!hasChromium && !mustRun)('the bell of a screen', () => {
  test('is known to be silent until it is tapped, and then rings at once for what calls', async () => {
    const served = await serve('overshoot');
    const page = await listenAt(`${served.url}/`);
    await page.getByRole('button', { name: 'Sound is off: tap' }).waitFor();
    expect(await tonesOf(page)).toEqual([]);
    await page.getByRole('button', { name: 'Sound is off: tap' }).click();
    await page.locator('.sound-word', { hasText: 'Sound on' }).waitFor();
    await page.locator('html[data-tones*="running:659"]').waitFor();
    // Spoken as well, the kiln first, never only spoken: the sentence stands on the page.
    await page.locator('html[data-said*="Gas kiln: turn down now"]').waitFor();
    await page.locator('.alert-message', { hasText: 'turn down now: 648' }).waitFor();
  });

  test('sounds different for what is wanted now, soon, or of the hand', async () => {
    const sounds: string[] = [];
    for (const moment of ['silent', 'overshoot', 'over-unseen'] as const) {
      const served = await serve(moment);
      const page = await listenAt(`${served.url}/`);
      await page.getByRole('button', { name: 'Sound is off: tap' }).click();
      await page.locator('html[data-tones*="running"]').waitFor();
      sounds.push((await tonesOf(page)).slice(2, 8).join(' '));
    }
    expect(new Set(sounds).size).toBe(3);
  });

  test('that the browser has silenced says so again, within seconds', async () => {
    const served = await serve('overshoot');
    const page = await listenAt(`${served.url}/`);
    await page.getByRole('button', { name: 'Sound is off: tap' }).click();
    await page.locator('.sound-word', { hasText: 'Sound on' }).waitFor();
    await page.evaluate(`window.dispatchEvent(new Event('hush'))`);
    await page.getByRole('button', { name: 'Sound is off: tap' }).waitFor();
  });

  test('is never muted silently: a screen that was asked to be quiet says so in its top line, also after a reload', async () => {
    const served = await serve('holding');
    const page = await listenAt(`${served.url}/#/screen`);
    await page.getByRole('button', { name: 'Keep this screen quiet' }).click();
    await page.locator('.sound-word', { hasText: 'Quiet by choice' }).waitFor();
    await page.reload();
    await page.locator('.sound-word', { hasText: 'Quiet by choice' }).waitFor();
    await page.getByRole('button', { name: 'Let it sound' }).click();
    await page.locator('.sound-word', { hasText: 'Sound on' }).waitFor();
  });

  test('that nobody has heard is said as long as the firing lasts; heard and pressed, it is filed with the firing', async () => {
    const served = await serve('climbing');
    const page = await listenAt(`${served.url}/`);
    await page.locator('.untested').waitFor();
    await page.getByRole('link', { name: 'Test it' }).click();
    await page.getByRole('button', { name: 'Ring the bell' }).click();
    await page.getByRole('button', { name: 'I heard it' }).click();
    await page.getByText('Filed with the firing').waitFor();
    await page.getByRole('link', { name: 'Watch' }).click();
    await page.locator('main:not(:has([aria-busy=true])) .curve canvas').waitFor();
    expect(await page.locator('.untested').count()).toBe(0);
    const id = served.desk.snapshot(true).kilns[0]?.firing?.id ?? '';
    expect((await served.desk.firing(id)).acts.at(-1)?.what).toBe('bell heard');
  });
});

describe.skipIf(!hasChromium && !mustRun)('a call of the hand', () => {
  test('has a bell of its own and is spoken with the kiln’s name; what is spoken stands on the page', async () => {
    const served = await serve('holding');
    const page = await listenAt(`${served.url}/`);
    await page.getByRole('button', { name: 'Sound is off: tap' }).click();
    await page.locator('.sound-word', { hasText: 'Sound on' }).waitFor();
    served.desk.advance(360);
    const due = page.locator('.due b', { hasText: 'gas off' });
    await due.waitFor();
    await page.locator('html[data-tones*="running:784"]').waitFor();
    await page.locator('html[data-said*="Gas kiln"]').waitFor();
    expect(await page.locator('html').getAttribute('data-said')).toMatch(/^Gas kiln\. .*gas off/);
  });
});

describe.skipIf(!hasChromium && !mustRun)('a page that was opened anew', () => {
  test('is silent until it is tapped again, and says so: never as loud as it was and mute', async () => {
    const served = await serve('holding');
    const page = await listenAt(`${served.url}/`);
    await page.getByRole('button', { name: 'Sound is off: tap' }).click();
    await page.locator('.sound-word', { hasText: 'Sound on' }).waitFor();
    await page.reload();
    await page.getByRole('button', { name: 'Sound is off: tap' }).waitFor();
    expect((await tonesOf(page)).filter((tone) => tone.startsWith('running'))).toEqual([]);
  });
});

describe.skipIf(!hasChromium && !mustRun)('a screen that is to stay lit', () => {
  /** A browser whose lock the test takes away, gives and denies; the real one is held in the test further down. */
  const lockInHand = `{
    const say = (what) => { document.documentElement.dataset.lock = what; };
    let denies = false;
    let held = null;
    window.addEventListener('deny', () => { denies = true; });
    window.addEventListener('take-away', () => { held?.dispatchEvent(new Event('release')); say('taken'); });
    Object.defineProperty(navigator, 'wakeLock', { value: { request: async () => {
      if (denies) { say('denied'); throw new DOMException('battery', 'NotAllowedError'); }
      held = new EventTarget();
      say('given');
      return held;
    } } });
  }`;

  test('asks at a tap and again when it is shown; where it is refused Watch says so as long as the kiln fires', async () => {
    const served = await serve('holding');
    const { page, close } = await openPage(suite.browser, 'about:blank', tablet);
    closing.push(close);
    await page.addInitScript(lockInHand);
    await page.goto(`${served.url}/`);
    await page.getByRole('button', { name: 'Sound is off: tap' }).click();
    await page.locator('html[data-lock=given]').waitFor();
    expect(await page.locator('.may-go-dark').count()).toBe(0);
    const tell = (event: string) => page.evaluate(`window.dispatchEvent(new Event('${event}'))`);
    await tell('take-away');
    await page.getByText('This screen may go dark by itself').waitFor();
    await page.evaluate(`document.dispatchEvent(new Event('visibilitychange'))`);
    await page.locator('html[data-lock=given]').waitFor();
    await page.locator('.may-go-dark').waitFor({ state: 'detached' });
    await tell('take-away');
    await tell('deny');
    await page.evaluate(`document.dispatchEvent(new Event('visibilitychange'))`);
    await page.locator('html[data-lock=denied]').waitFor();
    await page.locator('.may-go-dark a').click();
    await page.getByText('The browser did not keep the screen lit').waitFor();
  });
});

describe.skipIf(!hasChromium && !mustRun)('a phone that sees the page over plain http', () => {
  test('is told what it cannot do there, and can ring all the same', async () => {
    const served = await serve('holding', { hosts: ['kiln.example'] });
    const page = await listenAt(`http://kiln.example:${served.port}/#/screen`, phone);
    await page.getByText('What this address cannot do').waitFor();
    await page.getByText(/keeps the screen lit only for pages that come over https/).waitFor();
    expect(await page.getByRole('button', { name: 'Keep it lit' }).count()).toBe(0);
    await page.getByRole('button', { name: 'Ring the bell' }).click();
    await page.locator('html[data-tones*="running"]').waitFor();
    await page.getByText('Begin').first().waitFor();
  });

  test('on its own machine the screen is kept lit once it was tapped', async () => {
    const served = await serve('holding');
    const page = await listenAt(`${served.url}/#/screen`);
    expect(await page.getByText('What this address cannot do').count()).toBe(0);
    await page.getByRole('button', { name: 'Ring the bell' }).click();
    await page.getByText(/The screen is kept from going dark|did not keep the screen lit/).waitFor();
  });
});

describe.skipIf(!hasChromium && !mustRun)('a line that says nothing any more', () => {
  test('though it stays open is told within ten seconds, sounds, and is mended by a new one', async () => {
    const served = await serve('holding', { still: false });
    const page = await listenAt('about:blank');
    let isMute = false;
    await page.routeWebSocket('**/live', (socket) => {
      const server = socket.connectToServer();
      server.onMessage((message) => {
        if (!isMute) socket.send(message);
      });
    });
    await page.goto(`${served.url}/`);
    await page.locator('.temperature[data-live="live"] .digits').waitFor();
    await page.getByRole('button', { name: 'Sound is off: tap' }).click();
    await page.locator('.sound-word', { hasText: 'Sound on' }).waitFor();
    isMute = true;
    await page.locator('.cover', { hasText: 'NOT LIVE' }).waitFor({ timeout: 10_000 });
    await page.locator('html[data-tones*="running:247"]').waitFor();
    await page.locator('html[data-said*="hears nothing from the kiln’s computer"]').waitFor();
    isMute = false;
    await page.locator('.temperature[data-live="live"] .digits').waitFor();
  });
});

describe.skipIf(!hasChromium && !mustRun)('the sign at a door', () => {
  test.each([
    ['holding', 'Firing. Do not open'],
    ['cooling', 'Do not open'],
    ['idle', 'Safe to unload'],
    ['silent', 'No reading. Do not open'],
  ] as const)('of a kiln that is %s says “%s”', async (moment, word) => {
    const served = await serve(moment);
    const { page, complaints, close } = await openPage(suite.browser, `${served.url}/door/gas`, {
      width: 800,
      height: 480,
    });
    closing.push(close);
    await page.locator('h1', { hasText: word }).waitFor();
    if (moment === 'cooling') await page.getByText(/^until about \d\d:\d\d$/).waitFor();
    expect(await page.evaluate('document.documentElement.scrollHeight')).toBeLessThanOrEqual(480);
    expect(await faultsByAxe(page)).toEqual([]);
    expect(complaints).toEqual([]);
  });

  test('of an open door asks to close it, and of a kiln that is not there says so', async () => {
    const served = await serve('lid-open', { kilns: 2 });
    const open = await openPage(suite.browser, `${served.url}/door/electric`, smallPhone);
    closing.push(open.close);
    await open.page.locator('h1', { hasText: 'Open while hot: close it gently' }).waitFor();
    const none = await openPage(suite.browser, `${served.url}/door/kiln-9`, desktop);
    closing.push(none.close);
    await none.page.locator('h1', { hasText: 'There is no kiln “kiln-9” here' }).waitFor();
  });
});
