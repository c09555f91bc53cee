/** Reads and checks a kiln: what it is, its sensors, and the inputs that feed them. */
import { z } from 'zod';
import { terminalNames } from '../core/plan/instrument.ts';
import type { Decoding, KilnSetup } from '../core/plan/kiln.ts';
import { ConfigError, type Fault } from '../errors.ts';
import { faultAt, schemaFaults, strict, valueAt } from './faults.ts';
import { LID } from './input-parts.ts';
import { type InputShape, inputSchema, INPUT as ONE_INPUT } from './input-schema.ts';
import { lineFaults, lineFeeds, type SerialParts, type TcpParts, wireLines } from './line-input.ts';
import { type ModbusRtuParts, type ModbusTcpParts, modbusFaults, modbusFeeds, wireModbus } from './modbus-input.ts';
import { type MqttParts, mqttFaults, mqttFeeds, wireMqtt } from './mqtt-input.ts';
import { rowDecodings } from './row-decodings.ts';
import { above0, temperature, words } from './schedule-schema.ts';
import { sensorFaults, sensorSchema, sensorSetup } from './sensor-schema.ts';
import { unitFaults } from './unit-faults.ts';
import { type Path, readYamlFile, type Source, sourceWithoutLines } from './yaml-file.ts';

/** What core knows of a kiln, but for the clock on its wall. */
export type KilnDescription = Omit<KilnSetup, 'utcOffsetMinutes'>;

interface AnyInput {
  /** Key of `KilnSetup.decodings`: serial-1, mqtt-1, … in the order of the configuration. */
  readonly name: string;
  /** A simulated kiln stands behind it, so its time may run faster. */
  readonly simulated: boolean;
}
export type LineEntry = AnyInput & (SerialParts | TcpParts);
export type MqttEntry = AnyInput & MqttParts;
export type ModbusEntry = AnyInput & (ModbusRtuParts | ModbusTcpParts);
export type InputEntry = LineEntry | MqttEntry | ModbusEntry;

export interface KilnEntry {
  readonly kiln: KilnDescription;
  /** Empty where the kiln is only read for a replay. */
  readonly inputs: readonly InputEntry[];
  /** The file that `spyhole fit` made of this kiln. */
  readonly fitted?: string | undefined;
}

const ID = 'write 1 to 40 small letters, digits and hyphens';
const SENSORS = 'write a list of sensors, each {name, letter}';
const kilnShape = {
  id: z.string({ error: ID }).regex(/^[a-z0-9-]{1,40}$/, { error: ID }),
  name: words('a name', 100),
  heat: z.enum(['gas', 'electric'], { error: 'write gas or electric' }),
  closure: z.enum(['lid', 'door'], { error: 'write lid (it opens at the top) or door (it opens at the front)' }),
  toleranceC: above0('how far it may be off the plan in °C').optional(),
  safeOpenC: temperature('the temperature at which it may be opened').optional(),
  plateMm: above0('the thickest piece in mm').optional(),
  sampleS: above0('the seconds between two readings').optional(),
  fitted: words('the path of the file that spyhole fit made', 1000).optional(),
  sensors: z
    .array(sensorSchema, { error: SENSORS })
    .min(1, { error: SENSORS })
    .max(32, { error: 'write at most 32 sensors' }),
};
const HABITS = {
  fuel: 'write heat: gas or heat: electric',
  inputs: 'write input',
  thermocouples: 'write sensors',
  tolerance: 'write toleranceC, in °C',
  safeOpen: 'write safeOpenC, in °C',
  kilns: 'write the entry of one kiln alone, without kilns:',
};
const KILN = 'write id, name, heat, closure, sensors and input';
const INPUT = `${ONE_INPUT}; or a list of such`;

export const kilnSchema = strict(
  { ...kilnShape, input: z.unknown().refine((input) => input !== undefined && input !== null, { error: INPUT }) },
  KILN,
  HABITS,
);
/** For a replay: whatever `input` holds is left alone. */
const kilnAloneSchema = strict({ ...kilnShape, input: z.unknown().optional() }, KILN, HABITS);

/** For `replay --kiln`: `input` is ignored, and the rows' sensor column feeds the sensors. @throws ConfigError naming every fault */
export function readKilnFile(path: string): KilnDescription {
  return kilnFrom(readYamlFile(path), false).kiln;
}

/** @throws ConfigError naming every fault */
export function parseKiln(value: unknown, file: string, how: { withInput: boolean }): KilnEntry {
  return kilnFrom(sourceWithoutLines(value, file), how.withInput);
}

function kilnFrom(source: Source, withInput: boolean): KilnEntry {
  const faults = kilnFaults(source, [], withInput);
  if (faults.length > 0) throw new ConfigError(source.file, faults);
  return kilnEntry(source.value, withInput);
}

/** Everything wrong with the kiln at `at`. */
export function kilnFaults(source: Source, at: Path, withInput: boolean): Fault[] {
  const schema = withInput ? kilnSchema : kilnAloneSchema;
  const faults = [...schemaFaults(schema, source, at), ...sensorsFaults(source, at)];
  return withInput ? [...faults, ...inputFaults(source, at)] : faults;
}

function sensorsFaults(source: Source, at: Path): Fault[] {
  const sensors = valueAt(source.value, [...at, 'sensors']);
  if (!Array.isArray(sensors)) return [];
  const names = sensors.map((s: unknown) => valueAt(s, ['name']));
  const rulers = sensors.flatMap((s: unknown, i) => (valueAt(s, ['rules']) === true ? [i] : []));
  const twice = names.flatMap((name, i) =>
    typeof name === 'string' && names.indexOf(name) < i
      ? [
          faultAt(
            source,
            [...at, 'sensors', i, 'name'],
            'give each sensor a name of its own',
            `"${name}" is used twice`,
          ),
        ]
      : [],
  );
  const own = sensors.flatMap((_, i) => sensorFaults(source, [...at, 'sensors', i]));
  const terminals = sensors.flatMap((s: unknown, i) => {
    const name = valueAt(s, ['coldEnd', 'measured']);
    if (!names.includes(name) || name === undefined) return [];
    const what = `"${String(name)}" is a sensor`;
    return [
      faultAt(source, [...at, 'sensors', i, 'coldEnd', 'measured'], 'give the terminals a name of their own', what),
    ];
  });
  const faults = [...twice, ...own, ...terminals];
  const second = rulers[1];
  if (second === undefined) return faults;
  const right = 'write rules: true for one sensor only';
  return [...faults, faultAt(source, [...at, 'sensors', second, 'rules'], right, 'a second sensor rules the plan')];
}

/** Each input's own faults, and sensors that none of them or more than one feeds. */
function inputFaults(source: Source, at: Path): Fault[] {
  const raw = valueAt(source.value, [...at, 'input']);
  if (raw === undefined || raw === null) return [];
  const paths = inputPaths(raw, at);
  if (paths.length === 0) return [faultAt(source, [...at, 'input'], INPUT)];
  const faults = paths.flatMap((path) => schemaFaults(inputSchema, source, path));
  if (faults.length > 0) return faults;
  const shapes = paths.map((path) => ({ path, shape: inputSchema.parse(valueAt(source.value, path)) }));
  const ofOneInput = shapes.flatMap(({ shape, path }) => {
    if (shape.kind === 'mqtt') return mqttFaults(source, shape, path);
    return 'points' in shape
      ? [...modbusFaults(source, shape, path), ...unitFaults(source, at, shape, path)]
      : lineFaults(source, shape, path);
  });
  if (ofOneInput.length > 0) return ofOneInput;
  return feedFaults(source, at, paths);
}

function inputPaths(raw: unknown, at: Path): Path[] {
  return Array.isArray(raw) ? raw.map((_, i) => [...at, 'input', i]) : [[...at, 'input']];
}

interface Feed {
  readonly target: string;
  readonly path: Path;
}

function feedFaults(source: Source, at: Path, paths: readonly Path[]): Fault[] {
  const sensors = sensorNames(valueAt(source.value, at));
  const terminals = terminalsNamed(valueAt(source.value, at));
  const names = [...sensors, ...terminals];
  const feeds = paths.flatMap((path) => feedsOf(inputSchema.parse(valueAt(source.value, path)), sensors, path));
  const strangers = feeds
    .filter((feed) => feed.target !== LID && !names.includes(feed.target))
    .map((feed) =>
      faultAt(
        source,
        feed.path,
        `write one of ${[...names, LID].join(', ')}`,
        `"${feed.target}" is no sensor of this kiln`,
      ),
    );
  const twice = feeds
    .filter((feed, i) => feeds.findIndex((other) => other.target === feed.target) < i)
    .map((feed) => faultAt(source, feed.path, 'feed it from one place only', `"${feed.target}" is fed twice`));
  const unfed = names
    .filter((name) => !feeds.some((feed) => feed.target === name))
    .map((name) =>
      faultAt(
        source,
        [...at, 'input'],
        'name it in columns, topics or points',
        `${terminals.includes(name) ? 'the terminals’ temperature' : 'the sensor'} "${name}" is fed by no input`,
      ),
    );
  return [...strangers, ...twice, ...unfed];
}

function feedsOf(input: InputShape, names: readonly string[], path: Path): Feed[] {
  if ('points' in input) return modbusFeeds(input, path);
  if (input.kind === 'mqtt') return mqttFeeds(input, path);
  return lineFeeds(input, names, path);
}

function sensorNames(kiln: unknown): string[] {
  const sensors = valueAt(kiln, ['sensors']);
  const names = Array.isArray(sensors) ? sensors.map((s: unknown) => valueAt(s, ['name'])) : [];
  return [...new Set(names.filter((name) => typeof name === 'string'))];
}

/** What tells the temperature of terminals. */
function terminalsNamed(kiln: unknown): string[] {
  const sensors = valueAt(kiln, ['sensors']);
  const names = Array.isArray(sensors) ? sensors.map((s: unknown) => valueAt(s, ['coldEnd', 'measured'])) : [];
  return [...new Set(names.filter((name) => typeof name === 'string'))];
}

/** A kiln in which `kilnFaults` found nothing. */
export function kilnEntry(value: unknown, withInput: boolean): KilnEntry {
  const { input, fitted, ...shape } = (withInput ? kilnSchema : kilnAloneSchema).parse(value);
  const kiln = { ...shape, sensors: shape.sensors.map(sensorSetup) };
  const names = kiln.sensors.map((s) => s.name);
  if (!withInput) return { kiln: { ...kiln, decodings: rowDecodings([...names, ...terminalNames(kiln)]) }, inputs: [] };
  const counts = { serial: 0, tcp: 0, mqtt: 0, 'modbus-rtu': 0, 'modbus-tcp': 0 };
  const wired = (Array.isArray(input) ? input : [input]).map((raw: unknown) => {
    const shape = inputSchema.parse(raw);
    counts[shape.kind] += 1;
    return wire(shape, `${shape.kind}-${counts[shape.kind]}`, names);
  });
  const decodings = Object.fromEntries(wired.map((w) => [w.entry.name, w.decoding]));
  return { kiln: { ...kiln, decodings }, inputs: wired.map((w) => w.entry), fitted };
}

function wire(shape: InputShape, name: string, sensors: readonly string[]): { entry: InputEntry; decoding: Decoding } {
  if ('points' in shape) {
    const { parts, decoding } = wireModbus(shape);
    return { entry: { ...parts, name, simulated: shape.simulated }, decoding };
  }
  const { parts, decoding } = shape.kind === 'mqtt' ? wireMqtt(shape) : wireLines(shape, sensors);
  return { entry: { ...parts, name, simulated: shape.simulated }, decoding };
}
