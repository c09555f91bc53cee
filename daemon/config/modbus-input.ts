/** The shape of an input that is read over Modbus, and what becomes of it. */
import { z } from 'zod';
import type { Decoding, RegisterPoint } from '../core/plan/kiln.ts';
import { registerCountOf } from '../core/reading/register-map.ts';
import type { Fault } from '../errors.ts';
import { faultAt, strict, valueAt } from './faults.ts';
import { type HostPort, hostPortOf } from './host-port.ts';
import { BAUD, DEGREES, HOST_PORT, PARITY, PORT, PORT_HABITS, SIMULATED, STOP_BITS } from './input-parts.ts';
import { above0 } from './schedule-schema.ts';
import type { Path, Source } from './yaml-file.ts';

/** A block of registers to ask for. Addresses count from 0, as in the frame. */
export interface ModbusBlock {
  readonly channel: string;
  readonly unit: number;
  readonly functionCode: 3 | 4;
  readonly address: number;
  readonly registerCount: number;
}

interface Polled {
  /** What the registers are counted from where they are written down. */
  readonly base: 0 | 1;
  readonly everyS: number;
  readonly timeoutS: number;
  readonly blocks: readonly ModbusBlock[];
}
export interface SerialLineAt {
  readonly port: string;
  readonly baud: number;
  readonly parity: 'none' | 'even' | 'odd';
  readonly stopBits: 1 | 2;
}
export type ModbusRtuParts = Polled & { readonly kind: 'modbus-rtu'; readonly at: SerialLineAt | HostPort };
export type ModbusTcpParts = Polled & {
  readonly kind: 'modbus-tcp';
  readonly at: HostPort;
  readonly repeatsNumber: boolean;
};

const UNIT = "write the instrument's number on the line, from 1 to 247";
const REGISTER = "write the register's number from the manual, from 0 to 65535";
const POINT =
  'write {sensor, unit, register}, or {gives: setpoint, unit, register} for what is no sensor: setpoint, output, lid';
const POINTS = `write a list of registers, each ${POINT.slice('write '.length)}`;
const NO_VALUE = 'write a list of whole numbers by which the instrument says that it has no value, before scale';
const NUMBER = (what: string) => ({ error: `write ${what}, a number` });

const whole = (right: string, from: number, to: number) =>
  z.number({ error: right }).int({ error: right }).min(from, { error: right }).max(to, { error: right });

const point = strict(
  {
    sensor: z.string({ error: 'write the name of a sensor of this kiln' }).optional(),
    gives: z.enum(['setpoint', 'output', 'lid'], { error: 'write setpoint, output or lid' }).optional(),
    // 0 and 255 mean the device itself behind a TCP address (Messaging on TCP/IP V1.0b, 4.4.2, from memory).
    unit: whole(UNIT, 0, 255).default(1),
    register: whole(REGISTER, 0, 65_536),
    // Most controllers keep their figures there. From memory.
    table: z
      .enum(['holding', 'input'], { error: 'write holding (function 3) or input (function 4)' })
      .default('holding'),
    type: z
      .enum(['int16', 'uint16', 'int32', 'uint32', 'float32'], {
        error: 'write int16, uint16, int32, uint32 or float32',
      })
      .default('int16'),
    order: z
      .enum(['ABCD', 'CDAB', 'BADC', 'DCBA'], {
        error: 'write ABCD (high byte first), CDAB (low register first), BADC (bytes swapped) or DCBA (both)',
      })
      .default('ABCD'),
    scale: z.number(NUMBER('what the register is multiplied by, 0.1 for tenths')).default(1),
    offset: z.number(NUMBER('what is added after scale')).default(0),
    degrees: DEGREES.optional(),
    noValue: z.array(z.number({ error: NO_VALUE }), { error: NO_VALUE }).default([]),
    bit: whole('write which bit says that the lid is open, from 0 to 15', 0, 15).optional(),
  },
  POINT,
  {
    address: 'write register',
    reg: 'write register',
    slave: 'write unit',
    id: 'write unit',
    station: 'write unit',
    name: 'write sensor',
    function: 'write table: holding (function 3) or table: input (function 4)',
    functionCode: 'write table: holding (function 3) or table: input (function 4)',
    dataType: 'write type',
    format: 'write type',
    byteOrder: 'write order: ABCD, CDAB, BADC or DCBA',
    wordOrder: 'write order: ABCD, CDAB, BADC or DCBA',
    endian: 'write order: ABCD, CDAB, BADC or DCBA',
    factor: 'write scale',
    multiplier: 'write scale',
    divisor: 'write scale: 0.1 in place of a divisor of 10',
    decimals: 'write scale: 0.1 for one decimal, 0.01 for two',
    sentinel: 'write noValue: with a list of numbers',
  },
);

const common = {
  // A kiln moves little within a second, and a slow line carries some ten questions in it. Ours.
  everyS: above0('the seconds between two rounds of questions').default(1),
  // Instruments answer within a tenth of a second or so; a second is the common patience of masters. From memory.
  timeoutS: above0('the seconds an answer may take').max(30, { error: 'write at most 30' }).default(1),
  base: z
    .union([z.literal(0), z.literal(1)], {
      error: 'write 0 where the manual counts registers from 0, 1 where it counts from 1',
    })
    .default(0),
  degrees: DEGREES.default('C'),
  points: z.array(point, { error: POINTS }).min(1, { error: POINTS }).max(64, { error: 'write at most 64 registers' }),
  simulated: SIMULATED,
};
const HABITS = {
  ...PORT_HABITS,
  host: 'write address: HOST:PORT',
  ip: 'write address: HOST:PORT',
  registers: 'write points',
  sensors: 'write points',
  interval: 'write everyS, in seconds',
  timeout: 'write timeoutS, in seconds',
};

export const modbusRtuSchema = strict(
  {
    kind: z.literal('modbus-rtu'),
    port: PORT.optional(),
    address: HOST_PORT.optional(),
    baud: BAUD,
    parity: PARITY.default('none'),
    stopBits: STOP_BITS.default(1),
    ...common,
  },
  'write {kind: modbus-rtu, port, points}',
  HABITS,
);

export const modbusTcpSchema = strict(
  {
    kind: z.literal('modbus-tcp'),
    address: HOST_PORT,
    repeatsNumber: z
      .boolean({ error: 'write false only if the gateway never repeats the number of a question' })
      .default(true),
    ...common,
  },
  'write {kind: modbus-tcp, address, points}',
  { ...HABITS, port: 'write address: HOST:PORT, the port after the host' },
);

export type ModbusShape = z.infer<typeof modbusRtuSchema> | z.infer<typeof modbusTcpSchema>;
type Point = ModbusShape['points'][number];

/** What a schema cannot say of one point or of the whole. */
export function modbusFaults(source: Source, shape: ModbusShape, at: Path): Fault[] {
  return [
    ...placeFaults(source, shape, at),
    ...shape.points.flatMap((p, i) => pointFaults(source, shape, p, [...at, 'points', i])),
    ...shape.points.flatMap((p, i) => sameRegisterFaults(source, shape.points.slice(0, i), p, [...at, 'points', i])),
  ];
}

/** Two couples that show the very same are one, with two names. */
function sameRegisterFaults(source: Source, earlier: readonly Point[], p: Point, at: Path): Fault[] {
  const isSame = (other: Point): boolean =>
    other.sensor !== undefined && other.unit === p.unit && other.table === p.table && other.register === p.register;
  if (p.sensor === undefined || !earlier.some(isSame)) return [];
  const what = `the register ${p.register} is read twice`;
  return [faultAt(source, [...at, 'register'], 'give each sensor a register of its own', what)];
}

function placeFaults(source: Source, shape: ModbusShape, at: Path): Fault[] {
  if (shape.kind === 'modbus-tcp') return [];
  const hasPort = shape.port !== undefined;
  if (hasPort !== (shape.address !== undefined)) return [];
  const what = hasPort ? 'found port and address' : 'is missing';
  return [faultAt(source, [...at, 'port'], 'write port, or address: HOST:PORT for a box in the network', what)];
}

function pointFaults(source: Source, shape: ModbusShape, p: Point, at: Path): Fault[] {
  const faults: Fault[] = [];
  if ((p.sensor === undefined) === (p.gives === undefined)) {
    const what = p.sensor === undefined ? 'says not whose figure it is' : 'has sensor and gives';
    faults.push(faultAt(source, at, POINT, what));
  }
  if (p.register < shape.base) {
    faults.push(
      faultAt(source, [...at, 'register'], 'registers are counted from 1 here: write base: 0, or a higher number'),
    );
  }
  if (p.register - shape.base + registerCountOf(p.type) > 65_536)
    faults.push(faultAt(source, [...at, 'register'], REGISTER));
  if (p.unit === 0 && shape.kind === 'modbus-rtu') faults.push(faultAt(source, [...at, 'unit'], UNIT));
  if (p.unit > 247 && !(p.unit === 255 && shape.kind === 'modbus-tcp'))
    faults.push(faultAt(source, [...at, 'unit'], UNIT));
  if (p.scale === 0) faults.push(faultAt(source, [...at, 'scale'], 'write another number than 0'));
  if (p.bit !== undefined && (p.gives !== 'lid' || registerCountOf(p.type) === 2)) {
    faults.push(faultAt(source, [...at, 'bit'], 'leave it out: only gives: lid has a bit, in one register'));
  }
  return faults;
}

/** Under these names a sensor or the lid is fed, each with its place in the configuration. */
export function modbusFeeds(shape: ModbusShape, at: Path): { target: string; path: Path }[] {
  return shape.points.flatMap((p, i) => {
    const target = p.sensor ?? (p.gives === 'lid' ? 'lid' : undefined);
    return target === undefined ? [] : [{ target, path: [...at, 'points', i] }];
  });
}

/** @returns what is asked for, and how the answers become figures */
export function wireModbus(shape: ModbusShape): { parts: ModbusRtuParts | ModbusTcpParts; decoding: Decoding } {
  const { base, everyS, timeoutS } = shape;
  const blocks = blocksFor(shape);
  const decoding: Decoding = { kind: 'registers', points: shape.points.map((p) => registerPoint(p, shape, blocks)) };
  if (shape.kind === 'modbus-tcp') {
    const { kind, repeatsNumber, address } = shape;
    return { parts: { kind, at: hostPortOf(address), repeatsNumber, base, everyS, timeoutS, blocks }, decoding };
  }
  const { kind, port, baud, parity, stopBits } = shape;
  const at = port === undefined ? hostPortOf(shape.address ?? '') : { port, baud, parity, stopBits };
  return { parts: { kind, at, base, everyS, timeoutS, blocks }, decoding };
}

/** Registers that lie side by side are asked for together, up to what small instruments give at once (from memory). */
const MOST_TOGETHER = 16;

function blocksFor(shape: ModbusShape): ModbusBlock[] {
  const wanted = shape.points
    .map((p) => ({ ...placeOf(p, shape), registerCount: registerCountOf(p.type) as number }))
    .sort((a, b) => a.unit - b.unit || a.functionCode - b.functionCode || a.address - b.address);
  const blocks: Omit<ModbusBlock, 'channel'>[] = [];
  for (const next of wanted) {
    const last = blocks.at(-1);
    const end = next.address + next.registerCount;
    const touches =
      last !== undefined &&
      last.unit === next.unit &&
      last.functionCode === next.functionCode &&
      next.address <= last.address + last.registerCount &&
      end - last.address <= MOST_TOGETHER;
    if (!touches) blocks.push(next);
    else blocks[blocks.length - 1] = { ...last, registerCount: Math.max(last.registerCount, end - last.address) };
  }
  return blocks.map((block) => ({ channel: channelOf(block), ...block }));
}

function placeOf(p: Point, { base }: ModbusShape): { unit: number; functionCode: 3 | 4; address: number } {
  return { unit: p.unit, functionCode: p.table === 'holding' ? 3 : 4, address: p.register - base };
}

/** As it stands in the record: `unit 1 holding 0`. */
function channelOf({ unit, functionCode, address }: Omit<ModbusBlock, 'channel' | 'registerCount'>): string {
  return `unit ${unit} ${functionCode === 3 ? 'holding' : 'input'} ${address}`;
}

function registerPoint(p: Point, shape: ModbusShape, blocks: readonly ModbusBlock[]): RegisterPoint {
  const place = placeOf(p, shape);
  const block = blocks.find(
    (b) =>
      b.unit === place.unit &&
      b.functionCode === place.functionCode &&
      b.address <= place.address &&
      place.address + registerCountOf(p.type) <= b.address + b.registerCount,
  );
  const { type, order, scale, offset, noValue, bit, sensor, gives } = p;
  return {
    gives: sensor === undefined ? { kind: gives ?? 'lid' } : { kind: 'sensor', sensor },
    channel: block?.channel ?? '',
    place: place.address - (block?.address ?? 0),
    type,
    order,
    scale,
    offset,
    degrees: p.degrees ?? shape.degrees,
    noValue,
    ...(bit !== undefined && { bit }),
  };
}

export const LINE_SETTINGS = ['kind', 'baud', 'parity', 'stopBits', 'everyS', 'timeoutS', 'repeatsNumber'] as const;

/** What all kilns on one line must agree on; undefined where the input is on no line that could be shared. */
export function lineKey(input: unknown): { readonly where: string; readonly how: string } | undefined {
  const kind = valueAt(input, ['kind']);
  if (kind !== 'modbus-rtu' && kind !== 'modbus-tcp') return undefined;
  const where = valueAt(input, ['port']) ?? valueAt(input, ['address']);
  if (typeof where !== 'string') return undefined;
  return { where, how: JSON.stringify(LINE_SETTINGS.map((key) => valueAt(input, [key]) ?? null)) };
}
