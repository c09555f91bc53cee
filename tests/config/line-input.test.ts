import { describe, expect, it } from 'vitest';
import { parseKiln } from '../../daemon/config/kiln-file.ts';
import { faultsOf } from '../support/config-faults.ts';

const kiln = {
  id: 'gas-1',
  name: 'Gas kiln',
  heat: 'gas',
  closure: 'door',
  sensors: [
    { name: 'shelf', letter: 'K' },
    { name: 'top', letter: 'K' },
  ],
};
const entryWith = (input: unknown) => parseKiln({ ...kiln, input }, 'kiln.yaml', { withInput: true });

const faultsWith = (input: unknown): string[] => faultsOf(() => entryWith(input));
const serial = { kind: 'serial', port: '/dev/ttyUSB0' };
const box = { kind: 'tcp', address: 'kiln-box.local:4001' };

describe('a kiln whose instrument prints lines', () => {
  it('is heard on a serial port, with the speed and parity that the instrument has', () => {
    const { inputs, kiln: setup } = entryWith({ ...serial, baud: 19200, parity: 'even', stopBits: 2 });
    expect(inputs).toEqual([
      {
        kind: 'serial',
        name: 'serial-1',
        port: '/dev/ttyUSB0',
        baud: 19200,
        parity: 'even',
        stopBits: 2,
        simulated: false,
      },
    ]);
    expect(setup.decodings).toEqual({ 'serial-1': { kind: 'columns', columns: ['shelf', 'top'] } });
  });

  it('is heard over a box in the network', () => {
    const { inputs, kiln: setup } = entryWith({ ...box, columns: ['-', 'top', 'shelf', 'lid'], separator: 'tab' });
    expect(inputs).toEqual([{ kind: 'tcp', name: 'tcp-1', host: 'kiln-box.local', port: 4001, simulated: false }]);
    expect(setup.decodings).toEqual({
      'tcp-1': { kind: 'columns', columns: ['-', 'top', 'shelf', 'lid'], separator: 'tab' },
    });
  });

  it('is read by names, or by a pattern', () => {
    const names = { shelf: 't1', top: 'data.t2' };
    expect(entryWith({ ...serial, names, noValue: [-127, 'OC'] }).kiln.decodings['serial-1']).toEqual({
      kind: 'names',
      names,
      noValue: [-127, 'OC'],
    });
    const pattern = 'T {shelf} / {top}';
    expect(entryWith({ ...serial, pattern, decimal: 'comma' }).kiln.decodings['serial-1']).toEqual({
      kind: 'pattern',
      pattern,
      decimal: 'comma',
    });
  });

  it.each([
    [
      { ...serial, columns: ['shelf', 'top'], names: { shelf: 'a' } },
      'input.names: found columns and names; write one of columns, names and pattern',
    ],
    [
      { ...serial, names: { shelf: 'a', top: 'b' }, separator: 'tab' },
      'input.separator: found "tab"; leave it out: only columns have a separator',
    ],
    [
      { ...serial, separator: 'comma', decimal: 'comma' },
      'input.separator: found "comma"; write another one, or decimal: point: a comma cannot be both',
    ],
    [{ ...serial, separator: '|' }, 'input.separator: found "|"; write semicolon, tab, comma or blank'],
    [
      { ...serial, pattern: 'T1 648 C' },
      'input.pattern: found "T1 648 C"; write the line with sensor names in braces where their figures stand: "T1: {shelf} C"',
    ],
    [
      { ...serial, pattern: '{shelf}{top}' },
      'input.pattern: two braces touch; write what stands between two figures, if only a blank',
    ],
    [
      { ...serial, pattern: '{shelf} {low}' },
      'input.pattern: "low" is no sensor of this kiln; write one of shelf, top, lid',
    ],
    [
      { ...serial, pattern: '{shelf}' },
      'input: the sensor "top" is fed by no input; name it in columns, topics or points',
    ],
    [{ ...serial, names: { shelf: 't1', top: 't1' } }, /names\.top: "t1" is read twice; give each a name of its own/],
    [{ ...serial, names: { shelf: '' } }, /names\.shelf: .*write for each sensor the name/],
    [{ ...serial, regex: 'x' }, 'input.regex: unknown key "regex"; write pattern'],
    [{ ...serial, parity: 'mark' }, 'input.parity: found "mark"; write none, even or odd'],
    [{ ...serial, address: 'a:1' }, 'input.address: unknown key "address"; write kind: tcp for a box in the network'],
    [{ kind: 'tcp' }, 'input.address: is missing; write HOST:PORT, for example 192.168.1.20:502'],
    [{ kind: 'tcp', address: 'box' }, 'input.address: found "box"; write HOST:PORT, for example 192.168.1.20:502'],
    [{ ...box, port: 4001 }, 'input.port: unknown key "port"; write address: HOST:PORT'],
    [{ ...box, baud: 9600 }, /input\.baud: unknown key "baud"/],
    [{ ...serial, noValue: -127 }, /input\.noValue: .*write a list of numbers and words/],
    [{ ...serial, decimal: ',' }, 'input.decimal: found ","; write point or comma'],
  ])('is told in one sentence what is wrong: %#', (input, sentence) => {
    const faults = faultsWith(input);
    if (typeof sentence === 'string') expect(faults).toContain(sentence);
    else
      expect(
        faults.some((fault) => sentence.test(fault)),
        faults.join('\n'),
      ).toBe(true);
  });
});
