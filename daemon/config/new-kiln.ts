/** What a person picked of an instrument -> the kiln's entry in the configuration. */

import { decodingFor, type FieldPlace } from '../core/reading/guess-line.ts';
import type { Spot, Way } from '../core/setup/offers.ts';
import { TERMINALS_C } from '../core/setup/ways.ts';
import { ConfigError } from '../errors.ts';
import type { NewKiln, Place } from '../wire/setup.ts';
import { parseHostPort } from './host-port.ts';

export interface Picked {
  readonly sensor: string;
  readonly letter: string;
  readonly spot: Spot;
  readonly way: Way;
}

/** `passwordFile`: where a broker's password was put, beside the configuration. */
export interface WrittenKiln extends Pick<NewKiln, 'name' | 'heat' | 'closure'> {
  readonly id: string;
  readonly place: Place;
  readonly picks: readonly Picked[];
  readonly passwordFile?: string | undefined;
  /** How a line on which a kiln is read already is spoken to, as it is written. */
  readonly line?: object | undefined;
}

/** A plain value, in the order in which a person would write it. @throws ConfigError where the picks do not go together */
export function kilnEntryOf({ id, name, heat, closure, place, line, picks, passwordFile }: WrittenKiln): object {
  const sensors = picks.map(({ sensor, letter, way }, i) => ({
    name: sensor,
    letter: way.letter ?? letter,
    ...(i === 0 && picks.length > 1 && { rules: true }),
    ...(way.unit !== 'C' && !isRegister(picks[i]) && { unit: way.unit }),
    ...(way.unit === 'mV' && { coldEnd: { atC: TERMINALS_C } }),
  }));
  return { id, name, heat, closure, sensors, input: inputOf(place, picks, passwordFile, line) };
}

const isRegister = (pick: Picked | undefined): boolean => pick?.spot.kind === 'register';

function inputOf(
  place: Place,
  picks: readonly Picked[],
  passwordFile: string | undefined,
  line: object | undefined,
): object {
  switch (place.kind) {
    case 'serial':
      return { kind: 'serial', port: place.port, baud: place.baud, ...linesOf(picks) };
    case 'tcp':
      return { kind: 'tcp', address: place.address, ...linesOf(picks) };
    case 'mqtt': {
      const { url, version, username, caFile } = place;
      return {
        kind: 'mqtt',
        url: url.replace(/\/$/, ''),
        ...(version === 5 && { version }),
        ...(username !== undefined && { username }),
        ...(passwordFile !== undefined && { passwordFile }),
        ...(caFile !== undefined && { caFile }),
        ...commaOf(picks),
        topics: topicsOf(picks),
      };
    }
    case 'modbus-rtu': {
      const isBox = parseHostPort(place.port) !== undefined;
      const at = isBox ? { address: place.port } : { port: place.port };
      const how = line ?? (isBox ? {} : { baud: place.baud, parity: place.parity });
      return { kind: 'modbus-rtu', ...at, ...how, points: pointsOf(picks) };
    }
    case 'modbus-tcp':
      return { kind: 'modbus-tcp', address: place.address, ...line, points: pointsOf(picks) };
  }
}

function linesOf(picks: readonly Picked[]): object {
  const places: Record<string, FieldPlace> = {};
  let line = '';
  for (const { sensor, spot } of picks) {
    if (spot.kind !== 'line') continue;
    places[sensor] = spot.place;
    line = spot.line;
  }
  const decoding = decodingFor(line, places, picks.find(({ way }) => way.decimal !== undefined)?.way.decimal);
  if (decoding === undefined) {
    const what = 'the figures picked do not stand in one and the same line';
    throw new ConfigError('the kiln', [{ what, where: 'picks', right: 'pick them anew' }]);
  }
  const { kind: _kind, ...written } = decoding;
  return written;
}

function commaOf(picks: readonly Picked[]): object {
  const decimal = picks.find(({ way }) => way.decimal !== undefined)?.way.decimal;
  return decimal === undefined ? {} : { decimal };
}

function topicsOf(picks: readonly Picked[]): object {
  return Object.fromEntries(
    picks.flatMap(({ sensor, spot }) => {
      if (spot.kind !== 'topic') return [];
      const { topic, path } = spot;
      return [[sensor, path === undefined ? topic : { topic, path }]];
    }),
  );
}

function pointsOf(picks: readonly Picked[]): object[] {
  return picks.flatMap(({ sensor, spot, way }) => {
    if (spot.kind !== 'register') return [];
    const { unit, table, register } = spot;
    const { type = 'int16', order = 'ABCD', scale = 1 } = way;
    return [
      {
        sensor,
        unit,
        register,
        table,
        type,
        ...(order !== 'ABCD' && { order }),
        ...(scale !== 1 && { scale }),
        ...(way.unit !== 'C' && { degrees: way.unit }),
      },
    ];
  });
}

/** "Gas kiln 2" -> gas-kiln-2, and a number behind it where that is taken. */
export function idFor(name: string, taken: readonly string[]): string {
  const plain = name
    .normalize('NFKD')
    .replace(/\p{M}/gu, '')
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-+|-+$/g, '')
    .slice(0, 36)
    .replace(/-+$/, '');
  const base = plain === '' ? 'kiln' : plain;
  for (let number = 1; ; number++) {
    const id = number === 1 ? base : `${base}-${number}`;
    if (!taken.includes(id)) return id;
  }
}
