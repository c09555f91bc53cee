/**
 * The simulated instrument's registers. Functions 3 and 4 read the same ones; addresses count from 0 as in the frame.
 *
 * | address | words | what |
 * |---|---|---|
 * | 10 s + 0 | 1 | sensor s (0 to 7): int16, 0.1 °C; 32767 where there is no value |
 * | 10 s + 1 | 1 | int16, 1 °C; 32767 where there is no value |
 * | 10 s + 2 | 2 | float32, °C, high word first; not-a-number where there is no value |
 * | 10 s + 4 | 2 | the same, low word first |
 * | 10 s + 6 | 2 | int32, 0.01 °C, high word first; 2147483647 where there is no value |
 * | 10 s + 8 | 1 | bits: 0 has a value, 1 no value (open couple), 2 never read yet |
 * | 10 s + 9 | 1 | age of the reading, whole s, at most 65535 |
 * | 100 | 1 | controller's setpoint: int16, 0.1 °C |
 * | 101 | 1 | controller's output: int16, 0.1 % |
 * | 102 | 2 | setpoint: float32, °C, high word first |
 * | 104 | 2 | output: float32, %, high word first |
 * | 106 | 1 | what its own couple shows: int16, 0.1 °C; 32767 where there is no value |
 * | 107 | 1 | segment of its programme, from 0; the programme's length when it is over |
 * | 200 | 1 | bits: 0 the firing goes on, 1 lid or door open, 2 it has a switch there, 3 it has a controller |
 * | 201 | 1 | how many sensors |
 *
 * What the kiln does not have (a ninth sensor, a controller at a gas kiln) has no address: exception 2. Ours; the
 * sentinels are common practice.
 */
import type { DeviceNews, DeviceReading } from '../device.ts';
import type { ControllerReadOut } from '../kiln-plant.ts';

/** A register for each address that there is. */
export type Registers = ReadonlyMap<number, number>;

export const SENSOR_SPAN = 10;
export const MAX_SENSORS = 8;
export const CONTROLLER_AT = 100;
export const STATUS_AT = 200;

const NO_INT16 = 0x7fff;
const NO_INT32 = 0x7fff_ffff;

export interface RegisterBank {
  hear(news: DeviceNews): void;
  /** As they stand at this instant of the kiln's time. */
  registers(nowMs: number, running: boolean, controller: ControllerReadOut | null): Registers;
}

/** @throws RangeError where there are more sensors than the map has room for */
export function registerBank(sensors: readonly string[], lidSwitch: boolean): RegisterBank {
  if (sensors.length > MAX_SENSORS) {
    throw new RangeError(`the register map has room for ${MAX_SENSORS} sensors; ${sensors.length} were given`);
  }
  const last = new Map<string, DeviceReading>();
  let lidOpen = false;
  return {
    hear(news) {
      for (const reading of news.readings) last.set(reading.sensor, reading);
      lidOpen = news.lid.at(-1) === undefined ? lidOpen : news.lid.at(-1)?.lid === 'open';
    },
    registers(nowMs, running, controller) {
      const registers = new Map<number, number>();
      const put = (at: number, words: readonly number[]): void => {
        words.forEach((word, i) => {
          registers.set(at + i, word);
        });
      };
      sensors.forEach((sensor, i) => {
        put(i * SENSOR_SPAN, sensorWords(last.get(sensor), nowMs));
      });
      if (controller !== null) put(CONTROLLER_AT, controllerWords(controller));
      const bits = [running, lidSwitch && lidOpen, lidSwitch, controller !== null];
      put(STATUS_AT, [bitsOf(bits), sensors.length]);
      return registers;
    },
  };
}

function sensorWords(reading: DeviceReading | undefined, nowMs: number): number[] {
  const celsius = reading?.celsius ?? null;
  const ageS =
    reading === undefined ? 0xffff : Math.min(0xffff, Math.max(0, Math.floor((nowMs - reading.atMs) / 1000)));
  return [
    int16(celsius === null ? null : celsius * 10),
    int16(celsius),
    ...float32(celsius ?? Number.NaN),
    ...swapped(float32(celsius ?? Number.NaN)),
    ...int32(celsius === null ? null : celsius * 100),
    bitsOf([celsius !== null, reading !== undefined && celsius === null, reading === undefined]),
    ageS,
  ];
}

function controllerWords({ setpointC, outputRatio, shownC, segment }: ControllerReadOut): number[] {
  return [
    int16(setpointC * 10),
    int16(outputRatio * 1000),
    ...float32(setpointC),
    ...float32(outputRatio * 100),
    int16(shownC === null ? null : shownC * 10),
    segment,
  ];
}

/** What 16 bits cannot hold is no value either. */
function int16(value: number | null): number {
  const whole = value === null ? NO_INT16 : Math.round(value);
  return whole > 0x7fff || whole < -0x8000 ? NO_INT16 : whole & 0xffff;
}

function int32(value: number | null): [number, number] {
  const whole = value === null ? NO_INT32 : Math.round(value);
  return [(whole >>> 16) & 0xffff, whole & 0xffff];
}

/** IEEE 754 single precision, high word first. */
function float32(value: number): [number, number] {
  const view = new DataView(new ArrayBuffer(4));
  view.setFloat32(0, value);
  // Not-a-number has many forms; 7FC0 0000 is the usual one, and the same on every machine.
  return Number.isNaN(value) ? [0x7fc0, 0] : [view.getUint16(0), view.getUint16(2)];
}

function swapped([high, low]: [number, number]): [number, number] {
  return [low, high];
}

function bitsOf(flags: readonly boolean[]): number {
  return flags.reduce((bits, flag, i) => bits | (flag ? 1 << i : 0), 0);
}
