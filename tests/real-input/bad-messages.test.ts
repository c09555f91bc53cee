/** What a bad cable, a board without a value and a wrong setting send in mid-firing, over a real terminal and a real broker. */
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { connectAsync } from 'mqtt';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { serialDevice } from '../../simulators/serial-device.ts';
import { desktop, launchBrowser, type OpenedPage, openPage } from '../support/browser.ts';
import { type BuiltWatch, startBuiltWatch } from '../support/built-daemon.ts';
import { needs } from '../support/debian.ts';
import { is, type LiveViewer, liveViewer } from '../support/live-viewer.ts';
import { mosquitto } from '../support/mosquitto.ts';
import { expectSameWhenLivedAgain, linesOf, readRecord } from '../support/record-check.ts';
import { terminalPair } from '../support/terminal-pair.ts';

const plan = { name: 'Up', segments: [{ kind: 'ramp', toC: 600, rateCPerH: 300 }] };
const about = { heat: 'gas', closure: 'door' };

describe.runIf(needs('socat', 'mosquitto', 'chromium'))('what cannot be used, in mid-firing', () => {
  let dir: string;
  let watch: BuiltWatch;
  let viewer: LiveViewer;
  let opened: OpenedPage;
  /** Puts bytes on the wire, or a payload under the board's topic. */
  let wire: (text: string) => void;
  let publish: (payload: string) => Promise<void>;
  const closing: (() => Promise<unknown>)[] = [];

  beforeAll(async () => {
    dir = await mkdtemp(join(tmpdir(), 'spyhole-bad-'));
    closing.push(() => rm(dir, { recursive: true, force: true }));
    const pair = await terminalPair(dir);
    const device = serialDevice(`${pair.port}-far-end`, ['top', 'floor']);
    wire = (text) => void device.writeRaw(text);
    closing.push(async () => {
      device.close();
      await pair.unplug();
    });
    const broker = await mosquitto();
    const board = await connectAsync(broker.url);
    publish = async (payload) => void (await board.publishAsync('studio/middle', payload, { qos: 1 }));
    closing.push(async () => {
      await board.endAsync(true);
      await broker.stop();
    });
    const wired = {
      ...{ id: 'wired', name: 'Kiln on the wire', ...about },
      sensors: ['top', 'floor'].map((name) => ({ name, letter: 'K' })),
      input: { kind: 'serial', port: pair.port },
    };
    const boarded = {
      ...{ id: 'boarded', name: 'Kiln on the network', ...about },
      sensors: [{ name: 'middle', letter: 'K' }],
      input: { kind: 'mqtt', url: broker.url, topics: { middle: 'studio/middle' } },
    };
    const config = join(dir, 'spyhole.yaml');
    await writeFile(config, JSON.stringify({ kilns: [wired, boarded] }));
    watch = await startBuiltWatch(['--config', config, '--data', join(dir, 'data')]);
    closing.push(() => watch.kill());
    await watch.logged(/wire: Listening to/);
    await watch.logged(/network: Listening to/);
    const browser = await launchBrowser();
    closing.push(() => browser.close());
    opened = await openPage(browser, watch.url, desktop);
    viewer = await liveViewer(watch.url);
    closing.push(() => viewer.close());
  });

  afterAll(async () => {
    while (closing.length > 0) await closing.pop()?.();
  });

  async function begin(kiln: string): Promise<string> {
    const answer = await fetch(`${watch.url}/api/firings`, {
      method: 'POST',
      headers: { 'content-type': 'application/json', origin: watch.url },
      body: JSON.stringify({ kiln, schedule: plan }),
    });
    return ((await answer.json()) as { id: string }).id;
  }

  /** Resolves once a good reading of this temperature is on the disk and told. */
  const good = (sensor: string, celsius: number) =>
    viewer.heard(is('reading', (r) => r.sensor === sensor && r.celsius === celsius && r.line !== null));

  const onPage = (sentence: string) => opened.page.locator('.trouble').filter({ hasText: sentence }).first().waitFor();

  test('a garbled line and one with a column missing: a sentence each time, and the good lines around them stand', async () => {
    const id = await begin('wired');
    wire('1;1\r\n21.5;20.5\r\n');
    await good('floor', 20.5);
    const garbled = Buffer.from([0x32, 0x31, 0xff, 0xfe, 0x3b, 0x07, 0x32, 0x30]).toString('latin1');
    wire(`${garbled}\r\n`);
    await watch.logged(/Kiln on the wire: The line ".*" is garbled: check baud and parity/);
    await onPage('is garbled');
    wire('22.5\r\n23.5;22.5\r\n');
    await good('floor', 22.5);
    const { lines } = await readRecord(join(dir, 'data'), id);
    expect(linesOf(lines, 'reading').map((line) => line.refused ?? 'good')).toEqual([
      'good',
      expect.stringMatching(/is garbled: check baud and parity/),
      'The line "22.5" has 1 fields where 2 are expected.',
      'good',
    ]);
    expect(expectSameWhenLivedAgain(lines)).toMatchObject({ readingCount: 4, rejectedCount: 2 });
    expect(watch.log().match(/Kiln on the wire: The line/g)).toHaveLength(1);
  });

  test('an empty payload, and one that is no number: a sentence, and the good ones around them stand', async () => {
    const id = await begin('boarded');
    await publish('21');
    await good('middle', 21);
    await publish('');
    await watch.logged(/Kiln on the network: middle gives no temperature: the instrument gives no value\./);
    await opened.page.locator('text=Kiln on the network').first().click();
    await onPage('middle gives no temperature: the instrument gives no value.');
    await publish('{"oops":');
    await publish('22');
    await good('middle', 22);
    const { lines } = await readRecord(join(dir, 'data'), id);
    expect(linesOf(lines, 'reading').map((line) => line.raw)).toEqual(['21', '', '{"oops":', '22']);
    expect(expectSameWhenLivedAgain(lines)).toMatchObject({ readingCount: 2, rejectedCount: 2 });
    expect(opened.complaints).toEqual([]);
  });
});
