/**
 * The README's pictures: one simulated firing before the real daemon, looked at where there is something to see, so that
 * they show what the page does today. Nothing is drawn by hand. `npm run pictures`, then look at them.
 */
import { join } from 'node:path';
import type { KilnNow } from '../../daemon/wire/live-messages.ts';
import { buildPage, launchBrowser, openPage, phone, tablet, type View } from './browser.ts';
import { shipped } from './scenarios.ts';
import { type SimulatedJob, simulatedJob } from './simulated-job.ts';

/** High enough for the curve under an alert. */
const wide: View = { width: 1280, height: 960 };
const door: View = { width: 800, height: 480 };
const painter = 'Hanna';

/** @param folder where `turn-down.png` and the others go */
export async function takePictures(folder: string): Promise<void> {
  const built = await buildPage();
  const browser = await launchBrowser(['--autoplay-policy=no-user-gesture-required']);
  const job = await simulatedJob(shipped('demonstration'), { webDir: built.webDir });
  try {
    const bench = await openPage(browser, `${job.url}/#/begin`, tablet);
    const { page } = bench;
    await page.getByLabel('Your name').fill(painter);
    await page.getByRole('radio', { name: new RegExp(job.schedule.name) }).check();
    await page.getByRole('button', { name: 'Ring the bell' }).click();
    await page.getByRole('button', { name: 'I heard it' }).click();
    await page.getByRole('button', { name: 'Begin in' }).click();
    await page.locator('.curve canvas').waitFor();

    await fireUntil(
      job,
      ({ position }) => position?.calls.some(({ state, do: what }) => state === 'due' && /down/.test(what)) === true,
    );
    const pocket = await openPage(browser, `${job.url}/#/screen`, phone);
    await pocket.page.getByRole('button', { name: 'Ring the bell' }).click();
    await pocket.page.getByRole('link', { name: 'Watch' }).click();
    await pocket.page.locator('.due').waitFor();
    await pocket.page.locator('main:not(:has([aria-busy=true])) .curve canvas').waitFor();
    await pocket.page.screenshot({ path: join(folder, 'phone.png') });
    await pocket.close();

    await fireUntil(job, ({ alerts }) => alerts.some(({ alert, life }) => alert === 'overshoot' && life === 'calling'));
    await page.locator('h1', { hasText: 'heading for' }).waitFor();
    await page.setViewportSize(wide);
    await page.locator('.curve canvas').click({ trial: true }); // Laid out anew for the larger view.
    await page.evaluate('scrollTo(0, 0)');
    await page.screenshot({ path: join(folder, 'turn-down.png') });
    await page.setViewportSize(tablet);
    await page.locator('.alerts .seen').first().click();
    job.tell('overshoot', 'foreseen');

    await fireUntil(job, ({ position }) => (position?.holdDoneS ?? 0) >= 6 * 60);
    const night = await openPage(browser, `${job.url}/#/screen`, { ...tablet, isDark: true });
    await night.page.getByRole('button', { name: 'Ring the bell' }).click();
    await night.page.getByRole('link', { name: 'Watch' }).click();
    await night.page.locator('main:not(:has([aria-busy=true])) .curve canvas').waitFor();
    await night.page.screenshot({ path: join(folder, 'hold-dark.png') });
    await night.close();

    await fireUntil(job, ({ sign }) => sign.word === 'hot' && sign.untilMs !== null && (sign.celsius ?? 999) < 420);
    const sign = await openPage(browser, `${job.url}/door/${job.now().id}`, door);
    await sign.page.getByText('until about').waitFor();
    await sign.page.screenshot({ path: join(folder, 'door.png') });
    await sign.close();

    await fireUntil(job, ({ firing }) => firing === null);
    await page.getByRole('link', { name: 'Firings' }).click();
    await page.locator('.firing-list a').first().click();
    await page.locator('.curve-past canvas').waitFor();
    await page.locator('.figures-list').waitFor();
    await page.screenshot({ path: join(folder, 'firing.png') });
  } finally {
    await browser.close();
    await job.close();
    await built.remove();
  }
}

/** Fires on, and logs what the simulated painter does when it is done, as a thumb at the page would. */
async function fireUntil(job: SimulatedJob, isThere: (now: KilnNow) => boolean): Promise<void> {
  for (;;) {
    const acts = [...job.done()];
    await job.runUntil((now) => {
      acts.push(...job.done());
      return acts.length > 0 || isThere(now);
    });
    const firing = job.now().firing?.id;
    for (const { what, value } of firing === undefined ? [] : acts) {
      await fetch(`${job.url}/api/firings/${firing}/acts`, {
        method: 'POST',
        headers: { 'content-type': 'application/json', origin: job.url },
        body: JSON.stringify({ what, ...(value !== undefined && { value: String(value) }), by: painter }),
      });
    }
    if (isThere(job.now())) return;
  }
}
