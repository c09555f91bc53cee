import { copyFileSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { addKilnToFile } from '../../daemon/config/add-kiln.ts';
import { changeKilnInFile, removeKilnFromFile } from '../../daemon/config/edit-kiln.ts';
import { formOf } from '../../daemon/config/kiln-form.ts';
import { loadConfig } from '../../daemon/config/load.ts';
import type { KilnSetup } from '../../daemon/core/plan/kiln.ts';
import { withNamesOf } from '../../daemon/core/plan/sensor-names.ts';
import { ConfigError } from '../../daemon/errors.ts';
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
    sensors: from.sensors.map((sensor) => (sensor.was === name ? { ...sensor, ...change } : sensor)),
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

  const kilnOf = (input: string, sensors = '[{name: a, letter: K}, {name: top, letter: S}]'): string =>
    `kilns:
  - {id: one, name: One, heat: electric, closure: lid, sensors: ${sensors}, input: ${input}}
listen: 127.0.0.1:1
`;
  const INPUTS: readonly [string, string][] = [
    ['lines without a word on their columns', '{kind: serial, port: /dev/one}'],
    ['lines of columns', '{kind: serial, port: /dev/one, columns: [top, "-", lid, a]}'],
    ['lines with names', '{kind: tcp, address: "10.0.0.1:4001", names: {a: t1, top: data.t2}}'],
    ['lines of a pattern', '{kind: tcp, address: "10.0.0.1:4001", pattern: "a: {a} C, top: { top } {-}"}'],
    ['topics', '{kind: mqtt, url: "mqtt://10.0.0.1:1883", topics: {a: kiln/a, top: {topic: kiln/all, path: top}}}'],
    [
      'registers',
      '{kind: modbus-tcp, address: "10.0.0.1:502", points: [{sensor: a, register: 0}, {sensor: top, register: 1}]}',
    ],
    [
      'a box and a broker',
      '[{kind: tcp, address: "10.0.0.1:4001", columns: [a]}, {kind: mqtt, url: "mqtt://10.0.0.1:1883", topics: {top: kiln/top}}]',
    ],
  ];

  it.each(INPUTS)('read from %s has its sensors renamed, and is read as before', (_, input) => {
    writeFileSync(file, kilnOf(input));
    const before = { ...kilns()[0]?.kiln, utcOffsetMinutes: 0 } as KilnSetup;
    changeKilnInFile(file, withSensor(withSensor(form('one'), 'a', { name: 'b' }), 'top', { name: 'the top' }), {});
    const after = { ...kilns()[0]?.kiln, utcOffsetMinutes: 0 } as KilnSetup;
    expect(after.sensors.map(({ name }) => name)).toEqual(['b', 'the top']);
    expect(withNamesOf(before, after)).toEqual(before);
    // Names may change places, too.
    changeKilnInFile(file, withSensor(withSensor(form('one'), 'b', { name: 'the top' }), 'the top', { name: 'b' }), {});
    const swapped = kilns()[0]?.kiln;
    expect(swapped?.sensors.map(({ name }) => name)).toEqual(['the top', 'b']);
    changeKilnInFile(file, withSensor(withSensor(form('one'), 'b', { name: 'top' }), 'the top', { name: 'a' }), {});
    expect({ ...kilns()[0]?.kiln, utcOffsetMinutes: 0 }).toEqual(before);
  });

  it.each(['a=21.5 top=22', '{"a": 21.5, "top": 22}'])(
    'whose line names its figures itself (%s) is read by those names after a sensor is renamed',
    (line) => {
      writeFileSync(file, kilnOf('{kind: serial, port: /dev/one}'));
      changeKilnInFile(file, withSensor(form('one'), 'a', { name: 'b' }), {}, [line]);
      expect(kilns()[0]?.kiln.decodings).toEqual({ 'serial-1': { kind: 'names', names: { b: 'a', top: 'top' } } });
    },
  );

  it('is moved to another port, address, broker, column, name, topic and register', () => {
    const moved = (input: string, change: (was: KilnForm) => KilnForm) => {
      writeFileSync(file, kilnOf(input));
      const wanted = change(form('one'));
      expect(wanted).not.toEqual(form('one'));
      changeKilnInFile(file, wanted, {});
      expect(form('one')).toEqual(wanted);
      return kilns()[0];
    };
    const at = (inputs: KilnForm['inputs']) => (was: KilnForm) => ({ ...was, inputs });
    const [, columns, names, , topics, registers] = INPUTS.map(([, input]) => input);
    moved(columns ?? '', at([{ kind: 'serial', port: '/dev/serial/by-id/two', baud: 115_200 }]));
    moved(names ?? '', at([{ kind: 'tcp', address: '[fe80::1]:4002' }]));
    moved(topics ?? '', at([{ kind: 'mqtt', url: 'mqtts://shed.local:8883' }]));
    moved(registers ?? '', at([{ kind: 'modbus-tcp', address: '10.0.0.2:1502' }]));
    const line =
      '{kind: modbus-rtu, port: /dev/one, stopBits: 2, points: [{sensor: a, register: 40, base: 1}, {sensor: top, register: 41}]}';
    const onLine = line.replace(', base: 1', '').replace('stopBits: 2', 'stopBits: 2, base: 1');
    moved(onLine, at([{ kind: 'modbus-rtu', port: '/dev/two', baud: 19_200, parity: 'even' }]));
    moved(onLine, at([{ kind: 'modbus-rtu', port: '10.0.0.3:4001', baud: 9600, parity: 'none' }]));
    expect(text()).not.toContain('stopBits');
    const box =
      '{kind: modbus-rtu, address: "10.0.0.3:4001", points: [{sensor: a, register: 0}, {sensor: top, register: 1}]}';
    moved(box, at([{ kind: 'modbus-rtu', port: '/dev/two', baud: 19_200, parity: 'odd' }]));
    const column = moved(columns ?? '', (was) => withSensor(was, 'a', { spot: { kind: 'column', column: 2, of: 4 } }));
    expect(column?.kiln.decodings['serial-1']).toMatchObject({ columns: ['top', 'a', 'lid', '-'] });
    moved(columns ?? '', (was) =>
      withSensor(withSensor(was, 'a', { spot: { kind: 'column', column: 1, of: 4 } }), 'top', {
        spot: { kind: 'column', column: 4, of: 4 },
      }),
    );
    moved(names ?? '', (was) => withSensor(was, 'a', { spot: { kind: 'name', name: 't3' } }));
    moved(topics ?? '', (was) => withSensor(was, 'a', { spot: { kind: 'topic', topic: 'shed/a', path: '' } }));
    moved(topics ?? '', (was) => withSensor(was, 'a', { spot: { kind: 'topic', topic: 'shed/all', path: 't.0' } }));
    moved(topics ?? '', (was) => withSensor(was, 'top', { spot: { kind: 'topic', topic: 'shed/top', path: '' } }));
    moved(onLine, (was) =>
      withSensor(was, 'a', { spot: { kind: 'register', unit: 3, register: 101, table: 'input' } }),
    );
  });

  it.each<[string, string, (was: KilnForm) => KilnForm, string]>([
    [
      'a column of another',
      'lines of columns',
      (was) => withSensor(was, 'a', { spot: { kind: 'column', column: 1, of: 4 } }),
      'column 1 is that of top',
    ],
    [
      'a column that is not there',
      'lines of columns',
      (was) => withSensor(was, 'a', { spot: { kind: 'column', column: 9, of: 4 } }),
      'has no column 9',
    ],
    [
      'a name of another',
      'lines with names',
      (was) => withSensor(was, 'a', { spot: { kind: 'name', name: 'data.t2' } }),
      'read twice',
    ],
    [
      'a topic with +',
      'topics',
      (was) => withSensor(was, 'a', { spot: { kind: 'topic', topic: 'kiln/+', path: '' } }),
      'without + and #',
    ],
    [
      'a topic of another',
      'topics',
      (was) => withSensor(was, 'a', { spot: { kind: 'topic', topic: 'kiln/all', path: 'top' } }),
      'read twice',
    ],
    [
      'an instrument beyond 247',
      'registers',
      (was) => withSensor(was, 'a', { spot: { kind: 'register', unit: 250, register: 0, table: 'holding' } }),
      'from 1 to 247',
    ],
    [
      'a register of another',
      'registers',
      (was) => withSensor(was, 'a', { spot: { kind: 'register', unit: 1, register: 1, table: 'holding' } }),
      'read twice',
    ],
    [
      'a place of another kind',
      'registers',
      (was) => withSensor(was, 'a', { spot: { kind: 'name', name: 't1' } }),
      'not found by its name',
    ],
    [
      'an address that is none',
      'lines with names',
      (was) => ({ ...was, inputs: [{ kind: 'tcp', address: 'nowhere' }] }),
      'HOST:PORT',
    ],
    [
      'a broker that is none',
      'topics',
      (was) => ({ ...was, inputs: [{ kind: 'mqtt', url: 'http://x' }] }),
      'mqtt://HOST:1883',
    ],
    [
      'an odd speed',
      'lines of columns',
      (was) => ({ ...was, inputs: [{ kind: 'serial', port: '/dev/one', baud: 12_345 }] }),
      '9600',
    ],
    [
      'an input of another kind',
      'topics',
      (was) => ({ ...was, inputs: [{ kind: 'tcp', address: '10.0.0.1:1' }] }),
      'other inputs are written there',
    ],
    ['the name of another sensor', 'topics', (was) => withSensor(was, 'a', { name: 'top' }), 'twice'],
    ['the name of the lid', 'lines of columns', (was) => withSensor(was, 'a', { name: 'lid' }), 'lid'],
    ['the name of a skipped column', 'lines of columns', (was) => withSensor(was, 'a', { name: '-' }), 'letters'],
    ['a name with braces', 'lines of a pattern', (was) => withSensor(was, 'a', { name: '{a}' }), 'sensors[0].name'],
  ])('is not given %s', (_, kind, change, sentence) => {
    writeFileSync(file, kilnOf(INPUTS.find(([name]) => name === kind)?.[1] ?? ''));
    const before = text();
    const asked = () => changeKilnInFile(file, change(form('one')), {});
    expect(asked).toThrow(ConfigError);
    expect(asked).toThrow(sentence);
    expect(text()).toBe(before);
  });

  it('is not changed for two kilns where one was meant, and says what to do', () => {
    writeFileSync(file, SHAPES[2]?.[1] ?? '');
    const before = text();
    for (const id of ['gas', 'electric']) {
      expect(() => changeKilnInFile(file, withSensor(form(id), 'chamber', { letter: 'K' }), {})).toThrow(
        'write that value out where it is used',
      );
    }
    expect(text()).toBe(before);
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
