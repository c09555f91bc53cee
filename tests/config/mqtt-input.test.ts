import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { parseKiln } from '../../daemon/config/kiln-file.ts';
import { loadConfig } from '../../daemon/config/load.ts';
import { faultsOf } from '../support/config-faults.ts';

const kiln = {
  id: 'electric',
  name: 'Electric kiln',
  heat: 'electric',
  closure: 'lid',
  sensors: [
    { name: 'top', letter: 'S' },
    { name: 'low', letter: 'S' },
  ],
};
const mqtt = { kind: 'mqtt', url: 'mqtt://127.0.0.1', topics: { top: 'a', low: 'b' } };

const faultsWith = (more: object): string[] =>
  faultsOf(() => parseKiln({ ...kiln, input: { ...mqtt, ...more } }, 'kiln.yaml', { withInput: true }));

describe('a kiln on MQTT', () => {
  it('may have several sensors in one payload, with the time at which they were measured', () => {
    const topics = {
      top: { topic: 'kiln/all', path: 'top', timePath: 'at' },
      low: { topic: 'kiln/all', path: 'low', timePath: 'at' },
      lid: 'kiln/lid',
    };
    const input = { ...mqtt, version: 5, topics, noValue: [-127] };
    const { kiln: setup, inputs } = parseKiln({ ...kiln, input }, 'k', { withInput: true });
    expect(inputs).toMatchObject([{ version: 5, topics: ['kiln/all', 'kiln/lid'] }]);
    const noValue = [-127];
    expect(setup.decodings['mqtt-1']).toEqual({
      kind: 'topics',
      points: [
        { gives: 'top', topic: 'kiln/all', path: 'top', timePath: 'at', noValue },
        { gives: 'low', topic: 'kiln/all', path: 'low', timePath: 'at', noValue },
        { gives: 'lid', topic: 'kiln/lid', noValue },
      ],
    });
  });

  it.each([
    ['a version that there is not', { version: 4 }, 'input.version: found 4; write 3.1.1 or 5'],
    [
      'a path without its topic',
      { topics: { top: { path: 'x' }, low: 'b' } },
      'input.topics.top: found a group of keys; write a topic, or',
    ],
    [
      'two sensors at one place',
      { topics: { top: { topic: 'a', path: 'x' }, low: { topic: 'a', path: 'x' } } },
      'input.topics.low: "x" is read twice',
    ],
    [
      'a time beside a plain number',
      { topics: { top: { topic: 'a', timePath: 'at' }, low: 'b' } },
      'input.topics.top: a time stands in JSON only; write path too',
    ],
    [
      'a certificate on a bare line',
      { caFile: 'ca.pem' },
      'input.caFile: a certificate is named, and the line is not encrypted',
    ],
    ['a password and no name', { passwordEnv: 'SECRET' }, 'input.username: is missing'],
    [
      'two passwords',
      { username: 'u', passwordFile: 'x', passwordEnv: 'SECRET' },
      'input.passwordEnv: the password is to come from a file and from a variable',
    ],
    [
      'a password in place of its name',
      { username: 'u', passwordEnv: 'p@ss word' },
      'input.passwordEnv: found "p@ss word"',
    ],
    [
      '°F at the topic',
      { topics: { top: { topic: 'a', path: 'x', degrees: 'F' }, low: 'b' } },
      'write unit at the sensor',
    ],
    ['an address with tls:', { tls: true }, 'input.tls: unknown key "tls"; write url: mqtts://HOST:8883'],
  ])('is refused for %s', (_, more, fault) => {
    const faults = faultsWith(more);
    expect(faults).toHaveLength(1);
    expect(faults[0]).toContain(fault);
  });
});

describe('the secrets of a broker', () => {
  let dir: string;
  beforeEach(() => {
    dir = mkdtempSync(join(tmpdir(), 'spyhole-config-'));
  });
  afterEach(() => rmSync(dir, { recursive: true }));
  const load = (text: string, env: NodeJS.ProcessEnv = {}) => {
    writeFileSync(join(dir, 'spyhole.yaml'), text);
    return loadConfig(join(dir, 'spyhole.yaml'), env);
  };
  const text = (broker: string): string =>
    `mqttOut: {${broker}}\nkilns:\n  - ${JSON.stringify({ ...kiln, input: mqtt })}\n`;
  const secured = text('url: mqtts://b, username: u, passwordEnv: BROKER_PASSWORD, caFile: ca.pem');

  it('come out of a variable and a file of certificates', () => {
    const ca = '-----BEGIN CERTIFICATE-----\nMIIB\n-----END CERTIFICATE-----\n';
    writeFileSync(join(dir, 'ca.pem'), ca);
    expect(load(secured, { BROKER_PASSWORD: 'open sesame' }).mqttOut).toEqual({
      url: 'mqtts://b',
      version: '3.1.1',
      username: 'u',
      password: 'open sesame',
      ca,
    });
  });

  it('are named where they are missing, each with its line', () => {
    writeFileSync(join(dir, 'ca.pem'), 'no certificate');
    expect(faultsOf(() => load(secured))).toEqual([
      'mqttOut.passwordEnv (line 1): the variable BROKER_PASSWORD is not set; start with BROKER_PASSWORD set to the password, or write passwordFile',
      'mqttOut.caFile (line 1): no certificate can be read in "ca.pem"; write the path of a file that this user may read, with the certificate in it as PEM',
    ]);
  });

  it('are not asked for where nothing is told to a broker', () => {
    expect(load(text('').replace('mqttOut: {}\n', '')).mqttOut).toBeUndefined();
  });
});
