import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { parseKiln, readKilnFile } from '../../daemon/config/kiln-file.ts';
import { faultsOf } from '../support/config-faults.ts';

const kiln = {
  id: 'gas-1',
  name: 'Gas kiln',
  heat: 'gas',
  closure: 'door',
  sensors: [
    { name: 'top', letter: 'K', rules: true },
    { name: 'low', letter: 'N' },
  ],
};
const serial = { kind: 'serial', port: '/dev/ttyUSB0' };
const mqtt = {
  kind: 'mqtt',
  url: 'mqtt://127.0.0.1:1883',
  topics: { top: 'kiln/top', low: 'kiln/low', lid: 'kiln/lid' },
};

const faultsWith = (more: object, input: unknown = serial): string[] =>
  faultsOf(() => parseKiln({ ...kiln, input, ...more }, 'kiln.yaml', { withInput: true }));

describe('a kiln on a serial port', () => {
  it('has its sensors in the columns of a line, in order, unless the columns are named', () => {
    const { kiln: setup, inputs } = parseKiln({ ...kiln, input: serial }, 'k', { withInput: true });
    expect(setup).toEqual({ ...kiln, decodings: { 'serial-1': { kind: 'columns', columns: ['top', 'low'] } } });
    expect(inputs).toEqual([{ kind: 'serial', name: 'serial-1', port: '/dev/ttyUSB0', baud: 9600, simulated: false }]);
    const columns = ['lid', '-', 'low', 'top'];
    const named = parseKiln({ ...kiln, input: { ...serial, columns } }, 'k', { withInput: true });
    expect(named.kiln.decodings['serial-1']).toEqual({ kind: 'columns', columns });
  });
});

describe('a kiln on MQTT', () => {
  it('has a topic for each sensor and the lid', () => {
    const { kiln: setup, inputs } = parseKiln({ ...kiln, input: mqtt }, 'k', { withInput: true });
    expect(setup.decodings).toEqual({
      'mqtt-1': {
        kind: 'topics',
        points: [
          { gives: 'top', topic: 'kiln/top' },
          { gives: 'low', topic: 'kiln/low' },
          { gives: 'lid', topic: 'kiln/lid' },
        ],
      },
    });
    expect(inputs).toMatchObject([{ name: 'mqtt-1', url: mqtt.url, topics: ['kiln/top', 'kiln/low', 'kiln/lid'] }]);
  });
});

describe('a kiln with several inputs', () => {
  it('numbers them by kind, in order', () => {
    const input = [
      { ...serial, columns: ['top'] },
      { ...mqtt, topics: { low: 'a' } },
      { ...mqtt, topics: { lid: 'b' }, simulated: true },
    ];
    const { inputs } = parseKiln({ ...kiln, input }, 'k', { withInput: true });
    expect(inputs.map((i) => [i.name, i.simulated])).toEqual([
      ['serial-1', false],
      ['mqtt-1', false],
      ['mqtt-2', true],
    ]);
  });

  it('is refused where a sensor is fed by none of them, by two, or is no sensor at all', () => {
    expect(
      faultsWith({}, [
        { ...serial, columns: ['top'] },
        { ...mqtt, topics: { top: 'a', bottom: 'b' } },
      ]),
    ).toEqual([
      'input[1].topics.bottom: "bottom" is no sensor of this kiln; write one of top, low, lid',
      'input[1].topics.top: "top" is fed twice; feed it from one place only',
      'input: the sensor "low" is fed by no input; name it in columns, topics or points',
    ]);
  });
});

describe('a kiln that is refused', () => {
  it('has every fault named at once', () => {
    const sensors = [
      { name: 'top', letter: 'k', rules: true },
      { name: 'top', letter: 'N', rules: true },
      { name: 'a/b', letter: 'X' },
    ];
    expect(faultsWith({ id: 'Gas 1', heat: 'oil', closure: 'hatch', sensors, fuel: 1, sampleS: 0 }, serial)).toEqual([
      'id: found "Gas 1"; write 1 to 40 small letters, digits and hyphens',
      'heat: found "oil"; write gas or electric',
      'closure: found "hatch"; write lid (it opens at the top) or door (it opens at the front)',
      'sampleS: found 0; write the seconds between two readings, a number above 0',
      `sensors[0].letter: found "k"; write the thermocouple's letter, one of B, E, J, K, N, R, S, T`,
      'sensors[2].name: found "a/b"; write 1 to 40 letters, digits, spaces, dots, hyphens or underscores, beginning and ending with a letter or digit; lid is no couple\'s name',
      `sensors[2].letter: found "X"; write the thermocouple's letter, one of B, E, J, K, N, R, S, T`,
      'fuel: unknown key "fuel"; write heat: gas or heat: electric',
      'sensors[1].name: "top" is used twice; give each sensor a name of its own',
      'sensors[1].rules: a second sensor rules the plan; write rules: true for one sensor only',
    ]);
  });

  it.each([
    ['no input', null, 'input: is empty'],
    ['no kind', { port: 'x' }, 'input.kind: is missing'],
    ['an empty list of inputs', [], 'input: found an empty list'],
    ['an odd baud rate', { ...serial, baud: 9601 }, 'input.baud: found 9601'],
    ['a password in the file', { ...mqtt, password: 'x' }, 'input.password: unknown key'],
    ['a password in the address', { ...mqtt, url: 'mqtt://a:b@host' }, 'input.url: found'],
    ['a broker on the web', { ...mqtt, url: 'http://host' }, 'input.url: found'],
    ['a topic for all', { ...mqtt, topics: { top: 'kiln/#', low: 'b' } }, 'input.topics.top: found "kiln/#"'],
    ['one topic for two sensors', { ...mqtt, topics: { top: 'a', low: 'a' } }, 'input.topics.low: found "a"'],
    ['a password and no user', { ...mqtt, passwordFile: 'x' }, 'input.username: is missing'],
    [
      'a sensor called lid',
      { ...serial, columns: ['lid', 'lid', 'top', 'low'] },
      'input.columns[1]: "lid" is fed twice',
    ],
  ])('for %s', (_, input, fault) => {
    const faults = faultsWith({}, input);
    expect(faults).toHaveLength(1);
    expect(faults[0]?.startsWith(fault)).toBe(true);
  });
});

describe('a kiln for a replay', () => {
  const dir = mkdtempSync(join(tmpdir(), 'spyhole-kiln-'));
  const path = join(dir, 'kiln.json');

  it('ignores whatever the input holds', () => {
    for (const input of [undefined, null, 5, 'x', [], { kind: 'modbus', unit: 3 }, serial]) {
      writeFileSync(path, JSON.stringify({ ...kiln, input }));
      expect(readKilnFile(path)).toEqual({
        ...kiln,
        decodings: { rows: { kind: 'channels', channels: { top: 'top', low: 'low', lid: 'lid' } } },
      });
    }
    rmSync(dir, { recursive: true });
  });

  it('still refuses an unknown key', () => {
    expect(() => parseKiln({ ...kiln, colour: 'red' }, 'k', { withInput: false })).toThrow('unknown key "colour"');
  });
});
