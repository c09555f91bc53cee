import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { parseKiln, readKilnFile } from '../../daemon/config/kiln-file.ts';
import { faultsOf } from '../support/config-faults.ts';

const kilnWith = (sensor: object, columns: readonly string[] = ['shelf']) => ({
  id: 'gas-1',
  name: 'Gas kiln',
  heat: 'gas',
  closure: 'door',
  sensors: [{ name: 'shelf', letter: 'K', ...sensor }],
  input: { kind: 'serial', port: '/dev/ttyUSB0', columns },
});
const setupOf = (sensor: object, columns?: readonly string[]) =>
  parseKiln(kilnWith(sensor, columns), 'kiln.yaml', { withInput: true }).kiln.sensors[0];
const faults = (sensor: object, columns?: readonly string[]) => faultsOf(() => setupOf(sensor, columns));
const point = (more: object) => ({ points: [{ atC: 500, uncertaintyC: 1, ...more }] });

describe('a sensor', () => {
  it('of which no more is said stays what it was in every earlier record', () => {
    expect(setupOf({})).toEqual({ name: 'shelf', letter: 'K' });
    expect(setupOf({ unit: '°C' })).toEqual({ name: 'shelf', letter: 'K' });
  });

  it('tells its unit, cold end, wire, converter and certificate', () => {
    const said = {
      unit: 'mV',
      coldEnd: { measured: 'terminals' },
      wireClass: 1,
      converter: { errorC: 0.5, coldErrorC: 0.5, stepC: 0.1 },
      calibration: { points: [{ atC: 500, asFoundC: 498, uncertaintyC: 1 }], due: '2027-03-01', certificate: 'A 12' },
    };
    expect(setupOf(said, ['terminals', 'shelf'])).toEqual({
      ...said,
      name: 'shelf',
      letter: 'K',
      coldEnd: { kind: 'measured', by: 'terminals' },
      calibration: { points: said.calibration.points, dueAtMs: Date.UTC(2027, 2, 1), certificate: 'A 12' },
    });
    expect(setupOf({ unit: '°F' })).toMatchObject({ unit: 'F' });
    expect(setupOf({ unit: 'mV', coldEnd: { atC: 25 } })).toMatchObject({
      coldEnd: { kind: 'fixed', atC: 25, errorC: 5 },
    });
  });

  it.each([
    [{ unit: 'R' }, 'sensors[0].unit: found "R"; write the unit of its figures: C, F, K (kelvin) or mV'],
    [
      { unit: 'mV' },
      'sensors[0].coldEnd: is missing, and millivolts mean a temperature only together with that of the terminals',
    ],
    [{ coldEnd: { atC: 25 } }, 'an instrument that gives degrees has added the cold end already; leave it out'],
    [
      { unit: 'mV', coldEnd: { atC: 400 } },
      'sensors[0].coldEnd.atC: found 400; write the terminals’ temperature in °C, from -40 to 125',
    ],
    [{ unit: 'mV', coldEnd: { at: 25 } }, 'sensors[0].coldEnd: found a group of keys; write compensated'],
    [{ unit: 'mV', coldEnd: { atC: 25, sure: 2 } }, 'unknown key "sure"; known here are atC, errorC'],
    [{ converter: { errorC: 1, digit: 2 } }, 'unknown key "digit"; known here are errorC, coldErrorC, stepC'],
    [{ converter: { errorC: -1 } }, 'sensors[0].converter.errorC: found -1; write the instrument’s error in °C'],
    [{ straightLineMvPerC: 0.041 }, 'figures along a straight line mean nothing without the terminals’ temperature'],
    [{ wireClass: 4 }, 'sensors[0].wireClass: found 4; write the tolerance class of its wire: 1, 2 or 3'],
    [{ letter: 'J', wireClass: 3 }, 'there is no such class: type J comes in class 1 and 2, not 3'],
    [{ converter: '20-bit' }, 'sensors[0].converter: found "20-bit"; write one of 14-bit'],
    [{ calibration: { points: [] } }, 'sensors[0].calibration.points: found an empty list'],
    [{ calibration: point({}) }, 'sensors[0].calibration.points[0]: a point of the certificate; write either'],
    [{ calibration: point({ asFoundC: 400 }) }, 'would correct by 100.0 °C'],
    [{ calibration: { ...point({ asFoundC: 499 }), due: '2027-02-30' } }, 'write the day on which it runs out'],
    [{ coldJunction: 25 }, 'unknown key "coldJunction"; write coldEnd'],
  ])('set up wrongly is answered by one sentence: %j', (sensor, sentence) => {
    const found = faults(sensor);
    expect(found).toEqual([expect.stringContaining(sentence)]);
  });

  it('in millivolts needs its terminals’ temperature from some input', () => {
    expect(faults({ unit: 'mV', coldEnd: { measured: 'terminals' } })).toEqual([
      expect.stringMatching(/^input: the terminals’ temperature "terminals" is fed by no input; name it in/),
    ]);
    expect(faults({ unit: 'mV', coldEnd: { measured: 'shelf' } })).toEqual([
      'sensors[0].coldEnd.measured: "shelf" is a sensor; give the terminals a name of their own',
    ]);
  });

  it('read from registers has the degrees of its register, or millivolts', () => {
    const modbus = (sensor: object, more: object = {}) =>
      faultsOf(() =>
        parseKiln(
          {
            ...kilnWith(sensor),
            input: {
              kind: 'modbus-tcp',
              address: '127.0.0.1:502',
              points: [{ sensor: 'shelf', register: 1, ...more }],
            },
          },
          'kiln.yaml',
          { withInput: true },
        ),
      );
    expect(modbus({ unit: 'F' })).toEqual([
      'sensors[0].unit: it is read from registers, which have degrees of their own; leave it out, and write degrees: F or degrees: K where its register is',
    ]);
    const volts = { unit: 'mV', coldEnd: 'compensated' };
    expect(modbus(volts)).toEqual([]);
    expect(modbus(volts, { degrees: 'F' })).toEqual([
      'input.points[0].degrees: its sensor gives millivolts; leave it out for a sensor in mV',
    ]);
  });

  it('set up wrongly in a file is told with its line', () => {
    const dir = mkdtempSync(join(tmpdir(), 'spyhole-sensor-'));
    try {
      const path = join(dir, 'kiln.yaml');
      writeFileSync(
        path,
        [
          'id: gas-1',
          'name: Gas',
          'heat: gas',
          'closure: door',
          'sensors:',
          '  - name: shelf',
          '    letter: K',
          '    unit: mV',
          '    coldEnd: room',
        ].join('\n'),
      );
      expect(faultsOf(() => readKilnFile(path))).toEqual([
        expect.stringMatching(/^sensors\[0\]\.coldEnd \(line 9\): found "room"; write compensated/),
      ]);
    } finally {
      rmSync(dir, { recursive: true });
    }
  });
});
