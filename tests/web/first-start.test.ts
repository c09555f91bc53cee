/**
 * From the first start to a live reading in Debian's Chromium, by somebody who edits no file: the simulated kiln on a
 * real pseudo-terminal, at a real broker with a password, and on Modbus. Every click and every field typed is counted.
 */
import { mkdtempSync, readFileSync, rmSync, statSync, symlinkSync } from 'node:fs';
import { mkdir } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Locator, Page } from 'playwright-core';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { loadConfig, noKilnsYet } from '../../daemon/config/load.ts';
import { startWatch } from '../../daemon/runtime/assemble.ts';
import { simulatedClock } from '../../daemon/runtime/clock.ts';
import { type Behind, runBehind } from '../../simulators/behind-interface.ts';
import { sourceOf } from '../../simulators/device.ts';
import { liveFiring } from '../../simulators/firing-scenario.ts';
import { desktop, faultsByAxe, hasChromium, openPage, phone, tablet, type View } from '../support/browser.ts';
import { needs } from '../support/debian.ts';
import { freePort, mosquitto } from '../support/mosquitto.ts';
import { pageSuite } from '../support/page-suite.ts';
import { shipped } from '../support/scenarios.ts';
import { terminalPair } from '../support/terminal-pair.ts';

const MOST_INPUTS = 12;
const mustRun = process.env.CI === 'true';
const canRun = (hasChromium || mustRun) && needs('socat', 'mosquitto', 'mosquitto_passwd');

describe.runIf(canRun)('from the first start to a live reading', () => {
  const suite = pageSuite();
  let dir: string;
  let file: string;
  beforeEach(() => {
    dir = mkdtempSync(join(tmpdir(), 'spyhole-first-'));
    file = join(dir, 'data', 'spyhole.yaml');
    suite.closing.push(async () => rmSync(dir, { recursive: true, force: true }));
  });
  afterEach(() => expect.hasAssertions());

  /** A watch that has never been told of a kiln, and the page at it. */
  async function firstStart(view: View) {
    const byIdDir = join(dir, 'by-id');
    await mkdir(byIdDir, { recursive: true });
    const log: string[] = [];
    const watch = await startWatch({
      config: { ...noKilnsYet(file), listen: { host: '127.0.0.1', port: 0 } },
      dataDir: join(dir, 'data'),
      log: (sentence) => log.push(sentence),
      byIdDir,
      webDir: suite.webDir,
    });
    suite.closing.push(() => watch.stop());
    const opened = await openPage(suite.browser, `${watch.url}/`, view);
    suite.closing.push(opened.close);
    let inputs = 0;
    return {
      ...opened,
      watch,
      byIdDir,
      log,
      inputs: () => inputs,
      press: async (what: Locator) => {
        inputs += 1;
        await what.click();
      },
      type: async (what: Locator, text: string) => {
        inputs += 1;
        await what.fill(text);
      },
    };
  }

  /** The demonstration's kiln, cold, in real time. */
  async function coldKiln(behind: (shown: { readonly sensors: readonly string[] }) => Behind): Promise<void> {
    const scenario = shipped('demonstration');
    const clock = simulatedClock(1);
    const firing = liveFiring({ ...scenario, startedAtMs: clock.nowMs() });
    const shown = { sensors: scenario.couples.map((couple) => couple.sensor) };
    const running = await runBehind(sourceOf(firing), [behind(shown)], clock);
    suite.closing.push(() => running.stop());
  }

  const button = (page: Page, name: string | RegExp): Locator => page.getByRole('button', { name });
  const live = (page: Page): Locator => page.locator('.temperature[data-live="live"] .digits');

  /** Says what kiln it is, has it written down, and waits for its first temperature. */
  async function writeDown(
    page: Page,
    press: (what: Locator) => Promise<void>,
    heat: string,
    closure: string,
  ): Promise<void> {
    await press(button(page, heat));
    await press(button(page, closure));
    await press(button(page, 'Write it down and watch it'));
    await live(page).waitFor();
  }

  /** A gas kiln with a door, by the first figure of the amplifier that is plugged in. */
  async function pickFirstColumn(page: Page, press: (what: Locator) => Promise<void>): Promise<void> {
    await press(page.getByText('usb-thermocouple-amplifier'));
    await press(button(page, /1st of 2: .* in °C like a room/));
    await writeDown(page, press, 'gas', 'a door (front)');
  }

  test('with an amplifier that prints lines on a serial port, on a phone', async () => {
    const pair = await terminalPair(dir);
    suite.closing.push(pair.unplug);
    const { page, press, inputs, byIdDir, complaints } = await firstStart(phone);
    await page.getByText('No kiln is set up yet.').waitFor();
    await page.getByText('No serial port is plugged in.').waitFor();
    // Plugged in while the page is open, it appears by itself.
    symlinkSync(pair.port, join(byIdDir, 'usb-thermocouple-amplifier'));
    await coldKiln((shown) => ({ ...shown, kind: 'serial', path: `${pair.port}-far-end` }));

    await press(page.getByText('usb-thermocouple-amplifier'));
    await page.getByText('Tap what your kiln shows.').waitFor();
    expect(await faultsByAxe(page)).toEqual([]);
    await press(button(page, /1st of 2: .* in °C like a room/));
    await press(button(page, /2nd of 2: .* in °C like a room/));
    await writeDown(page, press, 'gas', 'a door (front)');
    await page.getByText(/^No firing\. The kiln is at \d+\./).waitFor();
    expect(inputs()).toBeLessThanOrEqual(MOST_INPUTS);

    const [kiln] = loadConfig(file).kilns;
    expect(kiln?.kiln).toMatchObject({
      id: 'kiln',
      name: 'Kiln',
      heat: 'gas',
      closure: 'door',
      sensors: [
        { name: 'couple', letter: 'K', rules: true },
        { name: 'couple 2', letter: 'K' },
      ],
    });
    expect(statSync(file).mode & 0o777).toBe(0o600);
    expect(complaints).toEqual([]);
    // The port is named as taken where a second kiln is set up.
    await page.goto(`${page.url().split('#')[0]}#/kilns`);
    await page.getByText('Kiln listens there').waitFor();
  }, 60_000);

  test('with a board that publishes JSON at a broker with a password, on a tablet', async () => {
    const broker = await mosquitto({ user: 'kiln', password: 'open-sesame' });
    suite.closing.push(broker.stop);
    const { page, press, type, inputs, log } = await firstStart(tablet);
    await press(page.getByText('An MQTT broker'));
    await type(page.getByLabel('Address of the broker'), broker.url);
    await type(page.getByLabel('User name, if it asks for one'), 'kiln');
    await type(page.getByLabel('Password'), 'open-sesame');
    await press(button(page, 'Listen'));
    await page.getByText('Nothing has come yet.').waitFor();
    const url = broker.url.replace('mqtt://', 'mqtt://kiln:open-sesame@');
    await coldKiln((shown) => ({
      ...shown,
      kind: 'mqtt',
      url,
      topicPrefix: 'shed',
      payload: 'json',
      sourceTime: true,
    }));

    await press(button(page, /shelf in shed\/readings: .* in °C like a room/));
    await type(page.getByLabel('Name of the kiln'), 'Shed kiln');
    await writeDown(page, press, 'electricity', 'a lid (top)');
    expect(inputs()).toBeLessThanOrEqual(MOST_INPUTS);

    const written = readFileSync(file, 'utf8');
    expect(written).not.toContain('open-sesame');
    expect(log.join('\n')).not.toContain('open-sesame');
    expect(statSync(join(dir, 'data', 'shed-kiln.password')).mode & 0o777).toBe(0o600);
    expect(loadConfig(file).kilns[0]?.inputs[0]).toMatchObject({ password: 'open-sesame', topics: ['shed/readings'] });
  }, 60_000);

  test('with a controller on Modbus in the network', async () => {
    const { page, press, type, inputs } = await firstStart(tablet);
    const port = await freePort();
    await coldKiln((shown) => ({ ...shown, kind: 'modbus-tcp', host: '127.0.0.1', port }));
    await press(page.getByText('A controller on Modbus, in the network'));
    await type(page.getByLabel('Address and port'), `127.0.0.1:${port}`);
    await press(button(page, 'Listen'));
    await press(button(page, /register \d+: .*like a room/).first());
    await writeDown(page, press, 'electricity', 'a lid (top)');
    expect(inputs()).toBeLessThanOrEqual(MOST_INPUTS);
  }, 60_000);

  test('with a controller on Modbus, on a line that is plugged in', async () => {
    const pair = await terminalPair(dir);
    suite.closing.push(pair.unplug);
    const { page, press, type, inputs, byIdDir } = await firstStart(phone);
    symlinkSync(pair.port, join(byIdDir, 'usb-rs485'));
    await coldKiln((shown) => ({ ...shown, kind: 'modbus-rtu', path: `${pair.port}-far-end` }));
    await press(page.getByText('usb-rs485'));
    await press(button(page, 'Modbus'));
    await press(button(page, /register \d+: .*like a room/).first());
    // What is no number is not taken for one, and says so.
    await type(page.getByLabel('Number of the instrument on the line'), 'one');
    await page.getByText('The number of the instrument on the line is a whole number').waitFor();
    await type(page.getByLabel('Number of the instrument on the line'), '1');
    await press(button(page, /register \d+: .*like a room/).first());
    await writeDown(page, press, 'electricity', 'a lid (top)');
    expect(inputs()).toBeLessThanOrEqual(MOST_INPUTS);
    expect(loadConfig(file).kilns[0]?.inputs[0]).toMatchObject({
      kind: 'modbus-rtu',
      at: { baud: 9600, parity: 'none' },
    });
  }, 60_000);

  test('and from there to a kiln that is changed, and one that is taken out, on a phone', async () => {
    const pair = await terminalPair(dir);
    suite.closing.push(pair.unplug);
    const { page, press, type, byIdDir, complaints } = await firstStart(phone);
    symlinkSync(pair.port, join(byIdDir, 'usb-thermocouple-amplifier'));
    await coldKiln((shown) => ({ ...shown, kind: 'serial', path: `${pair.port}-far-end` }));
    await pickFirstColumn(page, press);
    await page.goto(`${page.url().split('#')[0]}#/kilns`);

    await press(button(page, 'Change Kiln'));
    expect(await faultsByAxe(page)).toEqual([]);
    const form = page.getByRole('region', { name: 'Change Kiln' });
    await type(form.getByLabel('Name of the kiln'), 'Shed kiln');
    await form.getByLabel('Its figures count').selectOption('F');
    await type(form.getByLabel('Correction, °C'), '-2,5');
    await form.getByText('A correction is three numbers').waitFor();
    expect(await button(page, 'Write it down').first().isDisabled()).toBe(true);
    await type(form.getByLabel('known at, °C'), '650');
    await type(form.getByLabel('sure to ±, °C'), '1.5');
    await press(form.getByRole('button', { name: 'Write it down' }));
    // What was 20 and some in °C is below nought as °F.
    await page.getByText(/couple −\d+/).waitFor();
    expect(loadConfig(file).kilns[0]?.kiln).toMatchObject({
      id: 'kiln',
      name: 'Shed kiln',
      sensors: [{ unit: 'F', calibration: { points: [{ atC: 650, correctionC: -2.5, uncertaintyC: 1.5 }] } }],
    });

    await press(button(page, 'Remove Shed kiln'));
    await page.getByText('Take Shed kiln out of the watch?').waitFor();
    expect(await faultsByAxe(page)).toEqual([]);
    await press(button(page, 'Keep it'));
    await press(button(page, 'Remove Shed kiln'));
    await press(button(page, 'Take it out'));
    await page.getByText('No kiln is set up yet.').waitFor();
    expect(loadConfig(file).kilns).toEqual([]);
    expect(readFileSync(`${file}.before`, 'utf8')).toContain('Shed kiln');
    // Its port is free for the next.
    await press(page.getByText('usb-thermocouple-amplifier'));
    await button(page, /1st of 2: .* in °C like a room/).waitFor();
    expect(complaints).toEqual([]);
  }, 60_000);

  test('and on to another plug and another name, while it is fired and after', async () => {
    const [first, second] = [await terminalPair(dir, 'one'), await terminalPair(dir, 'two')];
    suite.closing.push(first.unplug, second.unplug);
    const { page, press, type, byIdDir, watch, complaints } = await firstStart(desktop);
    symlinkSync(first.port, join(byIdDir, 'usb-thermocouple-amplifier'));
    const speak = setInterval(() => {
      void first.write('21;22\r\n').catch(() => undefined);
      void second.write('26;27\r\n').catch(() => undefined);
    }, 300);
    suite.closing.push(async () => clearInterval(speak));
    await pickFirstColumn(page, press);
    const { id } = await watch.desk.begin('kiln', null, 'Mira');
    await page.goto(`${page.url().split('#')[0]}#/kilns`);

    await press(button(page, 'Change Kiln'));
    const form = page.getByRole('region', { name: 'Change Kiln' });
    await form.getByText('It is being fired').waitFor();
    expect(await form.getByLabel('Its figures count').count()).toBe(0);
    // Plugged in elsewhere while the form is open, the plug appears by itself.
    symlinkSync(second.port, join(byIdDir, 'usb-at-the-back'));
    const plug = form.getByLabel('Plugged in at');
    await plug.getByRole('option', { name: 'usb-at-the-back' }).waitFor({ state: 'attached' });
    await plug.selectOption({ label: 'usb-at-the-back (plugged in here)' });
    await form.getByLabel('In each line it is').selectOption('column 2 of 2');
    await type(form.getByLabel('Name of the sensor'), 'lower shelf');
    expect(await faultsByAxe(page)).toEqual([]);
    await press(form.getByRole('button', { name: 'Write it down' }));
    await page.getByText('couple 27 °C').waitFor();
    await page.getByText('“couple” will be called “lower shelf” once this firing is over.').waitFor();
    expect(await faultsByAxe(page)).toEqual([]);

    await watch.desk.deed(id, 'Mira', { deed: 'end' });
    await page.getByText('lower shelf 27 °C').waitFor();
    await press(button(page, 'Change Kiln'));
    await form.getByLabel('Its figures count').waitFor();
    await form.getByLabel('Plugged in at').selectOption({ label: 'usb-thermocouple-amplifier (plugged in here)' });
    await press(form.getByRole('button', { name: 'Write it down' }));
    await page.getByText('lower shelf 22 °C').waitFor();
    expect(loadConfig(file).kilns[0]?.inputs[0]).toMatchObject({ port: join(byIdDir, 'usb-thermocouple-amplifier') });
    expect(complaints).toEqual([]);
  }, 60_000);

  test('a broker that is not there is told of in one sentence, and the page goes on', async () => {
    const { page, press, type } = await firstStart(phone);
    await press(page.getByText('An MQTT broker'));
    await type(page.getByLabel('Address of the broker'), 'mqtt://127.0.0.1:1');
    await press(button(page, 'Listen'));
    await page.getByText('No broker answers at 127.0.0.1:1.').waitFor();
    await type(page.getByLabel('Address of the broker'), 'nonsense');
    await press(button(page, 'Listen'));
    await page.getByText(/is no address; right: write mqtt:\/\/HOST:1883/).waitFor();
    expect(await faultsByAxe(page)).toEqual([]);
    for (const kind of ['A box in the network that prints lines', 'A controller on Modbus, in the network']) {
      await press(page.getByText(kind));
      await press(button(page, 'Listen'));
      await page.getByText('Write first where it is.').waitFor();
      await type(page.getByLabel('Address and port'), 'kiln-room');
      await press(button(page, 'Listen'));
      await page.getByText('"kiln-room" is no address; right: write HOST:PORT').waitFor();
    }
    await type(page.getByLabel('Address and port'), '127.0.0.1:1');
    await type(page.getByLabel('First register to look at'), '70000');
    await press(button(page, 'Listen'));
    await page.getByText('a register one from 0 to 65535').waitFor();
    expect(await faultsByAxe(page)).toEqual([]);
  }, 60_000);
});
