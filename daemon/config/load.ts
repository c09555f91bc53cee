/** Reads the configuration once, explains every fault at once, and freezes it. */
import { ConfigError, type Fault } from '../errors.ts';
import { besideFile } from './beside-file.ts';
import { type Broker, type BrokerEntry, brokerFaults, secretFaults, withSecrets } from './broker.ts';
import { faultAt, schemaFaults, valueAt } from './faults.ts';
import { type FittedKiln, readFittedKiln } from './fitted-kiln-file.ts';
import { type HostPort, parseHostPort } from './host-port.ts';
import {
  type KilnDescription,
  kilnEntry,
  kilnFaults,
  type LineEntry,
  type ModbusEntry,
  type MqttEntry,
} from './kiln-file.ts';
import { lineKey } from './modbus-input.ts';
import { configSchema, DEFAULT_LISTEN } from './schema.ts';
import { readYamlFile, type Source } from './yaml-file.ts';

/** An MQTT input with its secrets read. */
export type MqttConfig = Omit<MqttEntry, keyof BrokerEntry> & Broker;
export type InputConfig = LineEntry | MqttConfig | ModbusEntry;

export interface KilnConfig {
  readonly kiln: KilnDescription;
  readonly inputs: readonly InputConfig[];
  /** What is known of its own ways, once `spyhole fit` has learnt them. */
  readonly fitted?: FittedKiln | undefined;
}

/** Folders are absolute: a relative one is taken from the configuration's own folder. */
export interface Config {
  readonly file: string;
  readonly listen: HostPort;
  readonly data?: string | undefined;
  readonly sealsFolder?: string | undefined;
  /** Where a time-stamping authority is asked. */
  readonly timeAuthority?: string | undefined;
  readonly hosts: readonly string[];
  readonly clock?: { readonly speed: number } | undefined;
  readonly schedules?: string | undefined;
  readonly smallBroker?: HostPort | undefined;
  /** The broker that is told what the watch says. */
  readonly mqttOut?: Broker | undefined;
  readonly kilns: readonly KilnConfig[];
}

/** @throws ConfigError naming every fault, its place, and what would be right */
export function loadConfig(path: string, env: NodeJS.ProcessEnv = process.env): Config {
  const source = readYamlFile(path);
  const faults = [...schemaFaults(configSchema, source), ...kilnListFaults(source)];
  faults.push(...inputSecretFaults(source, env), ...mqttOutFaults(source, env));
  if (faults.length > 0) throw new ConfigError(path, faults);
  return deepFreeze(configFrom(source, env));
}

/** The first start: the page is there, and leads to the first kiln, which is then written to `file`. */
export function noKilnsYet(file: string): Config {
  return { file, listen: hostPort(DEFAULT_LISTEN), hosts: [], kilns: [] };
}

function configFrom(source: Source, env: NodeJS.ProcessEnv): Config {
  const { kilns, listen, smallBroker, data, sealsFolder, schedules, mqttOut, ...rest } = configSchema.parse(
    source.value,
  );
  return {
    ...rest,
    file: source.file,
    listen: hostPort(listen),
    data: data === undefined ? undefined : besideFile(data, source.file),
    sealsFolder: sealsFolder === undefined ? undefined : besideFile(sealsFolder, source.file),
    schedules: schedules === undefined ? undefined : besideFile(schedules, source.file),
    smallBroker: smallBroker === undefined ? undefined : hostPort(smallBroker),
    mqttOut: mqttOut === undefined ? undefined : withSecrets(mqttOut, source.file, env),
    kilns: kilns.map((raw) => {
      const { kiln, inputs, fitted } = kilnEntry(raw, true);
      return {
        kiln,
        inputs: inputs.map((input) => (input.kind === 'mqtt' ? withSecrets(input, source.file, env) : input)),
        fitted: fitted === undefined ? undefined : fittedFor(kiln, besideFile(fitted, source.file)),
      };
    }),
  };
}

/** @throws ConfigError for a file that cannot be used, or that was fitted to a kiln of another heat */
function fittedFor(kiln: KilnDescription, file: string): FittedKiln {
  const fitted = readFittedKiln(file);
  if (fitted.heat === kiln.heat) return fitted;
  const what = `${kiln.name} is fired by ${kiln.heat}, the fitted kiln by ${fitted.heat}`;
  throw new ConfigError(file, [{ what, where: 'heat', right: 'name the file that was fitted to this kiln' }]);
}

function hostPort(text: string): HostPort {
  const parsed = parseHostPort(text) ?? parseHostPort(DEFAULT_LISTEN);
  if (parsed === undefined) throw new TypeError(`${text} passed the schema and is no HOST:PORT`);
  return parsed;
}

/** Everything wrong with the kilns, singly and side by side. */
function kilnListFaults(source: Source): Fault[] {
  const kilns = valueAt(source.value, ['kilns']);
  if (!Array.isArray(kilns)) return [];
  const each = kilns.flatMap((_, i) => kilnFaults(source, ['kilns', i], true));
  return [...each, ...sameIdFaults(source, kilns), ...samePortFaults(source, kilns), ...speedFaults(source, kilns)];
}

function sameIdFaults(source: Source, kilns: readonly unknown[]): Fault[] {
  const ids = kilns.map((kiln) => valueAt(kiln, ['id']));
  return ids.flatMap((id, i) =>
    typeof id === 'string' && ids.indexOf(id) < i
      ? [faultAt(source, ['kilns', i, 'id'], 'give each kiln an id of its own', `"${id}" is used twice`)]
      : [],
  );
}

interface Placed {
  readonly input: unknown;
  readonly path: readonly (string | number)[];
}

/** Each input of these kilns as it is written, with its place in the file. */
export function inputsOf(kilns: readonly unknown[]): Placed[] {
  return kilns.flatMap((kiln, k) => {
    const input = valueAt(kiln, ['input']);
    return Array.isArray(input)
      ? input.map((one: unknown, i) => ({ input: one, path: ['kilns', k, 'input', i] }))
      : [{ input, path: ['kilns', k, 'input'] }];
  });
}

/** A serial port can be opened once only; on a Modbus line several kilns may stand, if they speak to it alike. */
function samePortFaults(source: Source, kilns: readonly unknown[]): Fault[] {
  const placed = inputsOf(kilns).map((p) => ({ ...p, port: valueAt(p.input, ['port']), line: lineKey(p.input) }));
  return placed.flatMap((p, i) => {
    const first = placed.find((other) =>
      typeof p.port === 'string' ? other.port === p.port : p.line !== undefined && other.line?.where === p.line.where,
    );
    if (first === undefined || placed.indexOf(first) >= i) return [];
    const where = p.line?.where ?? String(p.port);
    if (p.line === undefined || first.line === undefined) {
      const what = `the port ${where} is used twice`;
      return [faultAt(source, [...p.path, 'port'], 'give each input a port of its own', what)];
    }
    if (p.line.how === first.line.how) return [];
    const right = 'write the same kind, baud, parity, stopBits, everyS and timeoutS wherever it is used';
    return [faultAt(source, p.path, right, `the line ${where} is set up in two ways`)];
  });
}

/** Firing time may not run away from a kiln that is really hot. */
function speedFaults(source: Source, kilns: readonly unknown[]): Fault[] {
  if (valueAt(source.value, ['clock', 'speed']) === undefined) return [];
  const real = inputsOf(kilns).filter((p) => valueAt(p.input, ['simulated']) !== true);
  if (real.length === 0) return [];
  const what = 'the time cannot be made to run faster, since an input is a real kiln';
  return [
    faultAt(
      source,
      ['clock', 'speed'],
      'leave clock out, or write simulated: true at every input that is simulated',
      what,
    ),
  ];
}

function mqttOutFaults(source: Source, env: NodeJS.ProcessEnv): Fault[] {
  return [...brokerFaults(source, ['mqttOut']), ...secretFaults(source, ['mqttOut'], env)];
}

function inputSecretFaults(source: Source, env: NodeJS.ProcessEnv): Fault[] {
  const kilns = valueAt(source.value, ['kilns']);
  return Array.isArray(kilns) ? inputsOf(kilns).flatMap(({ path }) => secretFaults(source, path, env)) : [];
}

function deepFreeze<T>(value: T): T {
  if (typeof value === 'object' && value !== null && !Object.isFrozen(value)) {
    Object.freeze(value);
    for (const part of Object.values(value)) deepFreeze(part);
  }
  return value;
}
