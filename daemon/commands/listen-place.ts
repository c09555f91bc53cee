/** Where `spyhole listen` is told to listen: its options, each of them looked at. */
import { readFileSync } from 'node:fs';
import { BAUDS } from '../config/input-parts.ts';
import { DaemonError } from '../errors.ts';
import type { Place } from '../wire/setup.ts';

export interface ListenOptions {
  readonly port?: string;
  readonly tcp?: string;
  readonly mqtt?: string;
  readonly modbusRtu?: string;
  readonly modbusTcp?: string;
  readonly baud?: string;
  readonly parity?: string;
  readonly unit?: string;
  readonly register?: string;
  readonly mqttVersion?: string;
  readonly username?: string;
  readonly passwordFile?: string;
  readonly caFile?: string;
  readonly seconds?: string;
  readonly pick?: readonly string[];
  readonly name?: string;
  readonly heat?: string;
  readonly closure?: string;
  readonly config?: string;
}

const PLACES = ['port', 'tcp', 'mqtt', 'modbusRtu', 'modbusTcp'] as const;
type PlaceKey = (typeof PLACES)[number];

/** Options that say something of these places only: elsewhere they would be passed over in silence. */
const GOES_WITH: Readonly<Record<string, readonly PlaceKey[]>> = {
  baud: ['port', 'modbusRtu'],
  parity: ['modbusRtu'],
  unit: ['modbusRtu', 'modbusTcp'],
  register: ['modbusRtu', 'modbusTcp'],
  mqttVersion: ['mqtt'],
  username: ['mqtt'],
  passwordFile: ['mqtt'],
  caFile: ['mqtt'],
  pick: PLACES,
  seconds: PLACES,
};

function flagOf(key: string): string {
  return `--${key.replace(/[A-Z]/g, (letter) => `-${letter.toLowerCase()}`)}`;
}

/** @returns null where none is named @throws DaemonError for an option that is wrong, or says nothing of that place */
export function placeOf(options: ListenOptions): Place | null {
  const { port, tcp, mqtt, modbusRtu, modbusTcp } = options;
  const named = PLACES.filter((key) => options[key] !== undefined);
  const [kind] = named;
  if (named.length > 1) throw usage('name one place only: --port, --tcp, --mqtt, --modbus-rtu or --modbus-tcp');
  for (const [key, places] of Object.entries(GOES_WITH)) {
    if (options[key as keyof ListenOptions] === undefined || (kind !== undefined && places.includes(kind))) continue;
    throw usage(`${flagOf(key)} goes with ${places.map(flagOf).join(' or ')}`);
  }
  const baud = baudIn(options.baud);
  const unit = unitIn(options.unit, kind);
  const register = numberIn(options.register, 0, '--register', 0, 65_535);
  if (port !== undefined) return { kind: 'serial', port, baud };
  if (tcp !== undefined) return { kind: 'tcp', address: tcp };
  if (modbusTcp !== undefined) return { kind: 'modbus-tcp', address: modbusTcp, unit, register };
  if (modbusRtu !== undefined) {
    const parity = oneOf(options.parity ?? 'none', ['none', 'even', 'odd'] as const, '--parity');
    return { kind: 'modbus-rtu', port: modbusRtu, baud, parity, unit, register };
  }
  if (mqtt === undefined) return null;
  const { username, passwordFile, caFile } = options;
  if (passwordFile !== undefined && username === undefined) {
    throw usage('--password-file goes with --username, to whom the password belongs');
  }
  if (caFile !== undefined && !mqtt.startsWith('mqtts:')) {
    throw usage('--ca-file goes with an address that begins with mqtts:, since else the line is not encrypted');
  }
  const version = oneOf(options.mqttVersion ?? '3.1.1', ['3.1.1', '5'] as const, '--mqtt-version');
  const password =
    passwordFile === undefined ? undefined : textIn(passwordFile, '--password-file').replace(/\r?\n$/, '');
  return {
    kind: 'mqtt',
    url: mqtt,
    ...(version === '5' && { version: 5 as const }),
    ...(username !== undefined && { username }),
    ...(password !== undefined && { password }),
    ...(caFile !== undefined && { caFile }),
  };
}

function baudIn(text: string | undefined): number {
  if (text === undefined) return 9600;
  return Number(oneOf(text, BAUDS.map(String), '--baud'));
}

/** 0 and 255 mean the device itself behind an address in the network; on a line 0 speaks to all, and nobody answers. */
function unitIn(text: string | undefined, place: PlaceKey | undefined): number {
  if (place === 'modbusTcp' && (text === '0' || text === '255')) return Number(text);
  return numberIn(text, 1, '--unit', 1, 247);
}

export function textIn(file: string, flag: string): string {
  try {
    return readFileSync(file, 'utf8');
  } catch {
    throw usage(`${flag} ${file} cannot be read; name a file that this user may read`);
  }
}

export function numberIn(text: string | undefined, otherwise: number, flag: string, from: number, to: number): number {
  if (text === undefined) return otherwise;
  const number = /^\d{1,6}$/.test(text) ? Number(text) : Number.NaN;
  if (number >= from && number <= to) return number;
  throw usage(`${flag} ${JSON.stringify(text)}: write a whole number from ${from} to ${to}`);
}

export function oneOf<T extends string>(text: string, known: readonly T[], flag: string): T {
  const one = known.find((word) => word === text);
  if (one !== undefined) return one;
  throw usage(`${flag} ${JSON.stringify(text)}: write ${known.slice(0, -1).join(', ')} or ${known.at(-1)}`);
}

export function usage(sentence: string): DaemonError {
  return new DaemonError('usage', `listen: ${sentence}.`);
}
