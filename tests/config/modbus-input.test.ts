import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { parseKiln } from '../../daemon/config/kiln-file.ts';
import { loadConfig } from '../../daemon/config/load.ts';
import { faultsOf } from '../support/config-faults.ts';

const kiln = {
  id: 'school-1',
  name: 'Kiln 1',
  heat: 'electric',
  closure: 'lid',
  sensors: [
    { name: 'chamber', letter: 'S' },
    { name: 'shelf', letter: 'K' },
  ],
};
const rtu = {
  kind: 'modbus-rtu',
  port: '/dev/ttyUSB0',
  points: [
    { sensor: 'chamber', unit: 2, register: 1, scale: 0.1 },
    { gives: 'setpoint', unit: 2, register: 0, scale: 0.1 },
    { sensor: 'shelf', unit: 3, register: 10, table: 'input', type: 'float32', order: 'CDAB', degrees: 'F' },
  ],
};

const faultsWith = (input: unknown): string[] =>
  faultsOf(() => parseKiln({ ...kiln, input }, 'kiln.yaml', { withInput: true }));
const withPoint = (more: object): unknown => ({
  ...rtu,
  points: [{ sensor: 'chamber', register: 0, ...more }, rtu.points[2]],
});

describe('a kiln on Modbus', () => {
  it('asks for what lies side by side at once, and knows where in it each figure stands', () => {
    const { kiln: setup, inputs } = parseKiln({ ...kiln, input: rtu }, 'k', { withInput: true });
    expect(inputs).toEqual([
      {
        kind: 'modbus-rtu',
        name: 'modbus-rtu-1',
        at: { port: '/dev/ttyUSB0', baud: 9600, parity: 'none', stopBits: 1 },
        base: 0,
        everyS: 1,
        timeoutS: 1,
        simulated: false,
        blocks: [
          { channel: 'unit 2 holding 0', unit: 2, functionCode: 3, address: 0, registerCount: 2 },
          { channel: 'unit 3 input 10', unit: 3, functionCode: 4, address: 10, registerCount: 2 },
        ],
      },
    ]);
    expect(setup.decodings['modbus-rtu-1']).toMatchObject({
      kind: 'registers',
      points: [
        {
          gives: { kind: 'sensor', sensor: 'chamber' },
          channel: 'unit 2 holding 0',
          place: 1,
          scale: 0.1,
          degrees: 'C',
        },
        { gives: { kind: 'setpoint' }, channel: 'unit 2 holding 0', place: 0 },
        {
          gives: { kind: 'sensor', sensor: 'shelf' },
          channel: 'unit 3 input 10',
          place: 0,
          order: 'CDAB',
          degrees: 'F',
        },
      ],
    });
  });

  it('counts registers from 1 where the manual does', () => {
    const points = [
      { sensor: 'chamber', register: 1 },
      { sensor: 'shelf', register: 101 },
    ];
    const { inputs } = parseKiln({ ...kiln, input: { ...rtu, base: 1, points } }, 'k', { withInput: true });
    expect(inputs).toMatchObject([{ blocks: [{ address: 0 }, { address: 100 }] }]);
    expect(
      faultsWith({
        ...rtu,
        base: 1,
        points: [
          { sensor: 'chamber', register: 0 },
          { sensor: 'shelf', register: 1 },
        ],
      }),
    ).toEqual([
      'input.points[0].register: found 0; registers are counted from 1 here: write base: 0, or a higher number',
    ]);
  });

  it('may stand behind an address, with the frames of a line or those of the network', () => {
    const { port: _, ...rest } = rtu;
    const over = (input: object) => parseKiln({ ...kiln, input }, 'k', { withInput: true }).inputs;
    expect(over({ ...rest, address: 'box.local:4001' })).toMatchObject([{ at: { host: 'box.local', port: 4001 } }]);
    expect(over({ ...rest, kind: 'modbus-tcp', address: '192.168.1.20:502' })).toMatchObject([
      { kind: 'modbus-tcp', name: 'modbus-tcp-1', at: { host: '192.168.1.20', port: 502 }, repeatsNumber: true },
    ]);
  });

  it.each([
    [
      { ...rtu, address: 'box:1' },
      'input.port: found port and address; write port, or address: HOST:PORT for a box in the network',
    ],
    [
      { kind: 'modbus-rtu', points: rtu.points },
      'input.port: is missing; write port, or address: HOST:PORT for a box in the network',
    ],
    [
      { ...rtu, kind: 'modbus-tcp' },
      'input.port: unknown key "port"; write address: HOST:PORT, the port after the host',
    ],
    [withPoint({ gives: 'output' }), /input\.points\[0\]: has sensor and gives; write \{sensor, unit, register\}/],
    [
      withPoint({ register: 70_000 }),
      "input.points[0].register: found 70000; write the register's number from the manual, from 0 to 65535",
    ],
    [withPoint({ register: 65_535, type: 'int32' }), /from 0 to 65535/],
    [withPoint({ unit: 0 }), /number on the line, from 1 to 247/],
    [withPoint({ unit: 255 }), /number on the line, from 1 to 247/],
    [withPoint({ scale: 0 }), 'input.points[0].scale: found 0; write another number than 0'],
    [withPoint({ bit: 3 }), /only gives: lid has a bit/],
    [
      withPoint({ type: 'float' }),
      'input.points[0].type: found "float"; write int16, uint16, int32, uint32 or float32',
    ],
    [withPoint({ slave: 2 }), 'input.points[0].slave: unknown key "slave"; write unit'],
    [withPoint({ byteOrder: 'big' }), /write order: ABCD, CDAB, BADC or DCBA/],
    [withPoint({ sensor: 'bottom' }), /"bottom" is no sensor of this kiln; write one of chamber, shelf, lid/],
    [{ ...rtu, points: [] }, /input\.points: found an empty list; write a list of registers/],
    [
      { ...rtu, points: [rtu.points[0]] },
      'input: the sensor "shelf" is fed by no input; name it in columns, topics or points',
    ],
  ])('is told in one sentence what is wrong: %#', (input, sentence) => {
    const faults = faultsWith(input);
    if (typeof sentence === 'string') expect(faults).toContain(sentence);
    else expect(faults.some((fault) => sentence.test(fault))).toBe(true);
  });
});

describe('kilns of a school on one line', () => {
  const other = { ...kiln, id: 'school-2', name: 'Kiln 2' };
  const faultsOfBoth = (second: object): string[] => {
    const dir = mkdtempSync(join(tmpdir(), 'spyhole-line-'));
    const file = join(dir, 'config.yaml');
    writeFileSync(
      file,
      JSON.stringify({
        kilns: [
          { ...kiln, input: rtu },
          { ...other, input: second },
        ],
      }),
    );
    try {
      return faultsOf(() => loadConfig(file));
    } finally {
      rmSync(dir, { recursive: true });
    }
  };

  it('may share it, if they speak to it alike', () => {
    expect(faultsOfBoth(rtu)).toEqual([]);
    expect(faultsOfBoth({ ...rtu, baud: 19_200 })).toEqual([
      'kilns[1].input (line 1): the line /dev/ttyUSB0 is set up in two ways; write the same kind, baud, parity, stopBits, everyS and timeoutS wherever it is used',
    ]);
  });

  it('may not share it with text lines', () => {
    expect(faultsOfBoth({ kind: 'serial', port: '/dev/ttyUSB0' })).toEqual([
      'kilns[1].input.port (line 1): the port /dev/ttyUSB0 is used twice; give each input a port of its own',
    ]);
  });
});
