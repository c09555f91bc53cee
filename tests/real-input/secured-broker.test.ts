/** The built watch at a real Mosquitto that asks for TLS and a password, by MQTT 5 and 3.1.1: in and out. */
import { mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { connectAsync } from 'mqtt';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { startBuiltWatch } from '../support/built-daemon.ts';
import { needs } from '../support/debian.ts';
import { hearerAt } from '../support/hearer.ts';
import { type Mosquitto, mosquitto } from '../support/mosquitto.ts';

const SECRET = 'planted-secret-4711';

describe.runIf(needs('mosquitto', 'mosquitto_passwd', 'openssl')).each([5, '3.1.1'] as const)(
  'a kiln behind TLS and a password, MQTT %s',
  (version) => {
    let dir: string;
    let broker: Mosquitto;
    let toStop: (() => Promise<unknown>)[];
    beforeEach(async () => {
      toStop = [];
      dir = mkdtempSync(join(tmpdir(), 'spyhole-secured-'));
      broker = await mosquitto({ tls: true, user: 'kiln', password: SECRET });
      writeFileSync(join(dir, 'password'), `${SECRET}\n`);
      const { url, caFile } = broker;
      const who = { url, caFile, version, username: 'kiln' };
      const topic = 'bench/all';
      const config = {
        mqttOut: { ...who, passwordEnv: 'KILN_PASSWORD' },
        kilns: [
          {
            id: 'electric',
            name: 'Electric kiln',
            heat: 'electric',
            closure: 'lid',
            sensors: [
              { name: 'top', letter: 'K', unit: 'F' },
              { name: 'low', letter: 'K' },
            ],
            input: {
              kind: 'mqtt',
              ...who,
              passwordFile: 'password',
              topics: {
                top: { topic, path: 'top.f', timePath: 'at' },
                low: { topic, path: 'low', timePath: 'at' },
              },
            },
          },
        ],
      };
      writeFileSync(join(dir, 'spyhole.yaml'), JSON.stringify(config));
    });
    afterEach(async () => {
      for (const stop of toStop.reverse()) await stop();
      await broker.stop();
      rmSync(dir, { recursive: true, force: true });
    });

    const start = async () => {
      const args = ['--config', join(dir, 'spyhole.yaml'), '--data', join(dir, 'data')];
      const watch = await startBuiltWatch(args, { KILN_PASSWORD: SECRET });
      toStop.push(watch.kill);
      return watch;
    };

    it('is read and told of, and its death is known', async () => {
      const login = { ca: broker.ca, username: 'kiln', password: SECRET };
      const hearer = await hearerAt(broker.url, 'spyhole/#', login);
      toStop.push(hearer.stop);
      const watch = await start();
      await watch.logged(/Listening to bench\/all/);
      await hearer.said((s) => s.topic === 'spyhole/status' && s.text === 'ready');
      const board = await connectAsync(broker.url, { ...login, reconnectPeriod: 0 });
      toStop.push(() => board.endAsync(true));
      const begun = await fetch(new URL('/api/firings', watch.url), {
        method: 'POST',
        headers: { 'content-type': 'application/json', origin: new URL(watch.url).origin },
        body: JSON.stringify({ kiln: 'electric' }),
      });
      // The ledger is sealed as the firing is entered, and the seal told.
      expect((await hearer.said((h) => h.topic === 'spyhole/seal/ledger')).text).toContain('spyhole record v2');
      expect(begun.ok).toBe(true);
      const measuredAtMs = Date.now() - 3000;
      await board.publishAsync('bench/all', JSON.stringify({ top: { f: 68 }, low: 21.5, at: measuredAtMs }));
      const top = await hearer.said((s) => s.topic === 'spyhole/electric/reading/top');
      expect(JSON.parse(top.text)).toMatchObject({ type: 'reading', kiln: 'electric', celsius: 20, quality: 'good' });
      const low = await hearer.said((s) => s.topic === 'spyhole/electric/reading/low');
      expect(JSON.parse(low.text)).toMatchObject({ celsius: 21.5, line: expect.any(Number) });
      // The same again is no new reading.
      await board.publishAsync('bench/all', JSON.stringify({ top: { f: 68 }, low: 21.5, at: measuredAtMs }));
      const again = await hearer.said((s) => s.topic === 'spyhole/electric/reading/low', hearer.heard.indexOf(low) + 1);
      expect(JSON.parse(again.text)).toMatchObject({ quality: 'late', reason: 'it was said before' });

      const state = await (await fetch(new URL('/api/state', watch.url))).text();
      expect(`${state}${watch.log()}${textsIn(join(dir, 'data'))}`).not.toContain(SECRET);

      const alive = hearer.heard.length;
      await watch.kill();
      await hearer.said((s) => s.topic === 'spyhole/status' && s.text === 'lost', alive);
      const next = await start();
      await hearer.said((s) => s.topic === 'spyhole/status' && s.text === 'ready', alive);
      await next.stop();
      await hearer.said((s) => s.text === 'lost', hearer.heard.length - 1);
    });
  },
);

function textsIn(dir: string): string {
  return readdirSync(dir, { recursive: true, encoding: 'utf8' })
    .map((name) => join(dir, name))
    .filter((path) => statSync(path).isFile())
    .map((path) => readFileSync(path, 'utf8'))
    .join('\n');
}
