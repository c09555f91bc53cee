/** The real daemon is killed at random moments, as by a power cut, while a real terminal goes on speaking. */
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { seededRandom } from '../../daemon/core/numbers/seeded-random.ts';
import type { SnapshotMessage } from '../../daemon/wire/live-messages.ts';
import { type SerialDevice, serialDevice } from '../../simulators/serial-device.ts';
import { type BuiltWatch, runBuilt, startBuiltWatch } from '../support/built-daemon.ts';
import { needs } from '../support/debian.ts';
import { is, liveViewer } from '../support/live-viewer.ts';
import { expectSameWhenLivedAgain, linesOf, readRecord, recordFolder } from '../support/record-check.ts';
import { type TerminalPair, terminalPair } from '../support/terminal-pair.ts';

const SEED = 20261118;
const KILLS = 8;
/** A line each 25 real ms at 60 times speed is one each 1.5 s of the firing. */
const LINE_REAL_MS = 25;
const SPEED = 60;
const plan = {
  name: 'Warm-up',
  toleranceC: 6,
  segments: [
    { kind: 'ramp', toC: 100, rateCPerH: 2400 },
    { kind: 'hold', minutes: 30 },
  ],
};

describe.runIf(needs('socat'))('killed in mid-firing', () => {
  let dir: string;
  let pair: TerminalPair;
  let device: SerialDevice;
  let watch: BuiltWatch | null = null;
  let speaking: ReturnType<typeof setInterval> | undefined;

  beforeEach(async () => {
    dir = await mkdtemp(join(tmpdir(), 'spyhole-killed-'));
    pair = await terminalPair(dir);
    device = serialDevice(`${pair.port}-far-end`, ['middle']);
    const kiln = { id: 'kiln', name: 'Kiln', heat: 'gas', closure: 'door', sampleS: 60 };
    const input = { kind: 'serial', port: pair.port, simulated: true };
    const config = { clock: { speed: SPEED }, kilns: [{ ...kiln, sensors: [{ name: 'middle', letter: 'K' }], input }] };
    await writeFile(join(dir, 'spyhole.yaml'), JSON.stringify(config));
  });

  afterEach(async () => {
    clearInterval(speaking);
    await watch?.kill();
    device.close();
    await pair.unplug();
    await rm(dir, { recursive: true, force: true });
  });

  test(`the firing, its place on the plan and every reading that was shown outlive ${KILLS} deaths (seed ${SEED})`, async () => {
    const random = seededRandom(SEED);
    const data = join(dir, 'data');
    const start = async (): Promise<BuiltWatch> => {
      const started = await startBuiltWatch(['--config', join(dir, 'spyhole.yaml'), '--data', data]);
      await started.logged(/Listening to/);
      return started;
    };
    let celsius = 20;
    const speak = (): void => {
      speaking = setInterval(() => {
        // Up, and then to and fro: what says the same for ever is taken for frozen.
        celsius = celsius < 109 ? celsius + 1 : 108;
        device.write([{ atMs: 0, sensor: 'middle', celsius }]);
      }, LINE_REAL_MS);
    };
    watch = await start();
    const { id } = (await (
      await fetch(`${watch.url}/api/firings`, {
        method: 'POST',
        headers: { 'content-type': 'application/json', origin: watch.url },
        body: JSON.stringify({ kiln: 'kiln', schedule: plan }),
      })
    ).json()) as { id: string };
    const shown = new Map<number, number | null>();
    for (let kill = 0; kill < KILLS; kill++) {
      const viewer = await liveViewer(watch.url);
      speak();
      const wanted = 3 + Math.floor(random.next() * 60);
      for (let heard = 0; heard < wanted; heard++) await viewer.heard(is('reading'), viewer.messages.length);
      await watch.kill();
      clearInterval(speaking);
      for (const message of viewer.messages) {
        if (message.type === 'reading' && message.line !== null) shown.set(message.line, message.celsius);
      }
      const { lines, check } = await readRecord(data, id);
      expect(check.verdict).toBe('INCOMPLETE');
      const inRecord = new Map(linesOf(lines, 'reading').map((line) => [line.n, Number(line.raw)]));
      for (const [line, value] of shown) expect(inRecord.get(line)).toBe(value);
      const before = expectSameWhenLivedAgain(lines);

      watch = await start();
      const state = (await (await fetch(`${watch.url}/api/state`)).json()) as SnapshotMessage;
      const kiln = state.kilns[0];
      expect(kiln?.firing?.id).toBe(id);
      expect(kiln?.position?.segment).toBe(before.track?.segment);
      expect(kiln?.position?.holdDoneS ?? 0).toBeGreaterThanOrEqual(Math.round(before.track?.hold.doneS ?? 0));
      // What the terminal still held, and the gap itself, are all that can have come since.
      expect(kiln?.position?.holdDoneS ?? 0).toBeLessThanOrEqual((before.track?.hold.doneS ?? 0) + 60);
      // What began to call after the return is news, and no part of what stood.
      const stood = kiln?.alerts.filter((a) => a.sinceMs <= before.nowMs);
      expect(stood?.map((a) => `${a.id} ${a.life}`)).toEqual(
        before.alerts.live.flatMap((a) => (a.told === null ? [] : [`${a.told.id} ${a.told.life}`])),
      );
      expect(watch.log()).toContain(`firing ${id} goes on after`);
    }
    await fetch(`${watch.url}/api/firings/${id}/end`, {
      method: 'POST',
      headers: { 'content-type': 'application/json', origin: watch.url },
      body: '{}',
    });
    await watch.stop();
    const { lines, check } = await readRecord(data, id);
    expect(check.verdict).toBe('OK');
    expectSameWhenLivedAgain(lines);
    expect(linesOf(lines, 'gap').filter((line) => line.why === 'the daemon was away')).toHaveLength(KILLS);
    const called = linesOf(lines, 'alert').filter((line) => line.life === 'calling');
    const steps = called.map((line) => `${line.id} ${line.phase} ${line.priority}`);
    expect(steps.length).toBeGreaterThan(0);
    expect(new Set(steps).size).toBe(steps.length);
    expect((await runBuilt(['verify', '--all', '--data', data])).code).toBe(0);
    expect((await runBuilt(['replay', '--firing', recordFolder(data, id), '--json'])).code).toBe(0);
  });
});
