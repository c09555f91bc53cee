import { copyFileSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { addKilnToFile } from '../../daemon/config/add-kiln.ts';
import { changeKilnInFile, removeKilnFromFile } from '../../daemon/config/edit-kiln.ts';
import { formOf } from '../../daemon/config/kiln-form.ts';
import { loadConfig } from '../../daemon/config/load.ts';
import type { KilnForm, SensorForm } from '../../daemon/wire/setup.ts';

const EXAMPLE = new URL('../../profiles/examples/two-kilns.yaml', import.meta.url);

describe('a kiln that stands in the configuration', () => {
  let dir: string;
  let file: string;
  beforeEach(() => {
    dir = mkdtempSync(join(tmpdir(), 'spyhole-edit-'));
    file = join(dir, 'spyhole.yaml');
  });
  afterEach(() => rmSync(dir, { recursive: true, force: true }));

  const text = (): string => readFileSync(file, 'utf8');
  const kilns = () => loadConfig(file, {}).kilns;
  const ids = (): string[] => kilns().map(({ kiln }) => kiln.id);
  function form(id: string): KilnForm {
    const config = kilns().find(({ kiln }) => kiln.id === id);
    if (config === undefined) throw new Error(`no ${id}`);
    return formOf(config);
  }
  const withSensor = (from: KilnForm, name: string, change: Partial<SensorForm>): KilnForm => ({
    ...from,
    sensors: from.sensors.map((sensor) => (sensor.name === name ? { ...sensor, ...change } : sensor)),
  });
  const SHAPES: readonly [string, string][] = [
    [
      'one below the other, with comments',
      `# The workshop.
kilns:
  # The old gas kiln.
  - id: gas
    name: Gas # by the window
    heat: gas
    closure: door
    sensors: [{name: shelf, letter: K}] # sheathed
    input: {kind: serial, port: /dev/one}
    # It wants new bricks.

  # Bought in May.
  - id: electric
    name: Electric
    heat: electric
    closure: lid
    sensors:
      - {name: chamber, letter: S}
    input: {kind: serial, port: /dev/two}
# The page.
listen: 127.0.0.1:1
`,
    ],
    [
      'in one line',
      `# The workshop.
kilns: [{id: gas, name: Gas, heat: gas, closure: door, sensors: [{name: shelf, letter: K}], input: {kind: serial, port: /dev/one}}, {id: electric, name: Electric, heat: electric, closure: lid, sensors: [{name: chamber, letter: S}], input: {kind: serial, port: /dev/two}}] # all
listen: 127.0.0.1:1
`,
    ],
    [
      'with a part that is written once',
      `kilns:
- id: gas
  name: Gas
  heat: gas
  closure: door
  sensors: &plain [{name: chamber, letter: S}]
  input: {kind: serial, port: /dev/one}
- id: electric
  name: Electric
  heat: electric
  closure: lid
  sensors: *plain
  input: {kind: serial, port: /dev/two}
listen: 127.0.0.1:1
`,
    ],
  ];

  it.each(SHAPES)('%s is renamed, and nothing else is touched', (_, before) => {
    writeFileSync(file, before);
    const other = kilns()[0];
    changeKilnInFile(file, { ...form('electric'), name: 'Kiln: the 2nd' }, {});
    expect(kilns()[0]).toEqual(other);
    expect(kilns()[1]?.kiln).toMatchObject({ id: 'electric', name: 'Kiln: the 2nd', closure: 'lid' });
    for (const comment of before.match(/# .*/g) ?? []) expect(text()).toContain(comment);
    expect(text().match(/# .*/g)).toEqual(before.match(/# .*/g));
    expect(readFileSync(`${file}.before`, 'utf8')).toBe(before);
  });

  it.each(SHAPES)('%s is taken out, and the other stays', (_, before) => {
    writeFileSync(file, before);
    const other = kilns()[0];
    removeKilnFromFile(file, 'electric', {});
    expect(kilns()).toEqual([other]);
    expect(loadConfig(file, {}).listen).toEqual({ host: '127.0.0.1', port: 1 });
    expect(readFileSync(`${file}.before`, 'utf8')).toBe(before);
  });

  it('takes only the comment right above it with it', () => {
    writeFileSync(file, SHAPES[0]?.[1] ?? '');
    const before = text();
    removeKilnFromFile(file, 'electric', {});
    expect(text()).toBe(before.slice(0, before.indexOf('  # Bought')) + before.slice(before.indexOf('# The page')));
    writeFileSync(file, before);
    removeKilnFromFile(file, 'gas', {});
    expect(text()).toContain('# Bought in May.\n  - id: electric');
    expect(text()).not.toContain('The old gas kiln');
    expect(text()).toContain('# The workshop.');
  });

  it('may be the last one, and the first one again', () => {
    writeFileSync(file, SHAPES[0]?.[1] ?? '');
    removeKilnFromFile(file, 'gas', {});
    removeKilnFromFile(file, 'electric', {});
    expect(ids()).toEqual([]);
    const input = { kind: 'serial', port: '/dev/one' };
    const entry = {
      id: 'new',
      name: 'New',
      heat: 'gas',
      closure: 'door',
      sensors: [{ name: 'a', letter: 'K' }],
      input,
    };
    addKilnToFile(file, entry, {});
    expect(ids()).toEqual(['new']);
    expect(text()).toMatch(/^ *- id: new$/m);
    expect(text()).toContain('# The page.');
  });

  it('of the example is changed in each of its parts, and reads as it was asked', () => {
    copyFileSync(EXAMPLE, file);
    for (const id of ids()) {
      const was = form(id);
      changeKilnInFile(file, was, {});
      expect(text()).toBe(readFileSync(EXAMPLE, 'utf8'));
    }
    const [first] = ids();
    const was = form(first ?? '');
    const sensor = was.sensors[0]?.name ?? '';
    const wanted = withSensor({ ...was, heat: 'electric', closure: 'lid' }, sensor, {
      letter: 'N',
      unit: was.sensors[0]?.register === null ? 'mV' : 'F',
      correction: { atC: 650, correctionC: 1.5, uncertaintyC: 1 },
    });
    changeKilnInFile(file, wanted, {});
    expect(form(first ?? '')).toEqual(wanted);
    changeKilnInFile(file, was, {});
    expect(form(first ?? '')).toEqual(was);
  });

  it('of a register has type, order, scale and degrees changed', () => {
    writeFileSync(
      file,
      `kilns:
  - id: one
    name: One
    heat: electric
    closure: lid
    sensors: [{name: chamber, letter: K}, {name: top, letter: K}]
    input:
      - {kind: modbus-tcp, address: '10.0.0.1:502', points: [{gives: setpoint, register: 1}, {sensor: chamber, register: 0, scale: 0.1}]}
      - {kind: tcp, address: '10.0.0.2:4001', columns: [top]}
`,
    );
    const wanted = withSensor(form('one'), 'chamber', {
      unit: 'F',
      register: { type: 'float32', order: 'CDAB', scale: 1 },
    });
    changeKilnInFile(file, wanted, {});
    expect(form('one')).toEqual(wanted);
    expect(() => changeKilnInFile(file, withSensor(wanted, 'chamber', { unit: 'mV' }), {})).toThrow('not taken for mV');
  });

  it('with a certificate of several points keeps it, whatever else is changed', () => {
    const points = [
      { atC: 500, correctionC: 1, uncertaintyC: 1 },
      { atC: 700, correctionC: 2, uncertaintyC: 1 },
    ];
    const sensors = [{ name: 'a', letter: 'S', calibration: { points, certificate: 'C-17', due: '2027-03-01' } }];
    const input = { kind: 'serial', port: '/dev/one' };
    addKilnToFile(file, { id: 'new', name: 'New', heat: 'gas', closure: 'door', sensors, input }, {});
    expect(form('new').sensors[0]?.correction).toBe('certificate');
    changeKilnInFile(file, withSensor(form('new'), 'a', { letter: 'R' }), {});
    expect(kilns()[0]?.kiln.sensors[0]).toMatchObject({ letter: 'R', calibration: { certificate: 'C-17' } });
  });

  it('stays where another uses what is written in it, and says so', () => {
    writeFileSync(file, SHAPES[2]?.[1] ?? '');
    const before = text();
    expect(() => removeKilnFromFile(file, 'gas', {})).toThrow('write that value out where it is used');
    expect(text()).toBe(before);
  });

  it('is left as it was where the change would be at fault, or the kiln is not written there', () => {
    writeFileSync(file, SHAPES[0]?.[1] ?? '');
    const before = text();
    expect(() => changeKilnInFile(file, { ...form('gas'), id: 'other' }, {})).toThrow('is not written there');
    expect(() => removeKilnFromFile(file, 'other', {})).toThrow('is not written there');
    const far = { atC: 650, correctionC: 80, uncertaintyC: 1 };
    expect(() => changeKilnInFile(file, withSensor(form('gas'), 'shelf', { correction: far }), {})).toThrow();
    expect(text()).toBe(before);
  });
});
