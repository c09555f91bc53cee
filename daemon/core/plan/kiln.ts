/** What core knows of a kiln: the kiln entry of the configuration without its connection's address. */
import type { ColdEnd, ConverterSetup, Degrees, FigureUnit, SensorCertificate, WireClass } from './instrument.ts';

export type { Degrees };

export interface SensorSetup {
  readonly name: string;
  /** Thermocouple letter (IEC 60584-1): B, E, J, K, N, R, S or T. */
  readonly letter: string;
  /** The sensor that steers the plan; the first one where none says so. */
  readonly rules?: boolean | undefined;
  /** What its figures count; °C where it is not said. */
  readonly unit?: FigureUnit | undefined;
  /** Seen to by the instrument where it is not said. */
  readonly coldEnd?: ColdEnd | undefined;
  /** Tolerance class of the wire (IEC 60584-1); 2, what is commonly sold, where it is not said. */
  readonly wireClass?: WireClass | undefined;
  /** What reads it: a kind that is known, or its stated errors; taken for a coarse one where it is not said. */
  readonly converter?: ConverterSetup | undefined;
  /**
   * mV that the instrument takes for a degree, where it counts along a straight line: its figures then need the
   * terminals' temperature to be read by the couple's function.
   */
  readonly straightLineMvPerC?: number | undefined;
  readonly calibration?: SensorCertificate | undefined;
}

/** How one input's text becomes readings. */
export type Decoding =
  | LineDecoding
  /** Each channel (an MQTT topic, the sensor column of a CSV) carries one value. */
  | { readonly kind: 'channels'; readonly channels: Readonly<Record<string, string>> }
  /** Payloads of MQTT topics. */
  | { readonly kind: 'topics'; readonly points: readonly TopicPoint[] }
  /** Each channel is a block of registers, its words in hexadecimal. */
  | { readonly kind: 'registers'; readonly points: readonly RegisterPoint[] };

/** How a line of text is read. */
export type LineDecoding = LineHabits &
  (
    | {
        /** The values of these columns in order; 'lid' and '-' for a column to skip are allowed. */
        readonly kind: 'columns';
        readonly columns: readonly string[];
        readonly separator?: LineSeparator | undefined;
      }
    /** By sensor, the name in the line that its figure stands behind: in JSON a place (`data.t1`), else `t1=`. */
    | { readonly kind: 'names'; readonly names: Readonly<Record<string, string>> }
    /** The line's text with names in braces: `T1: {shelf} C, fan {-}`. */
    | { readonly kind: 'pattern'; readonly pattern: string }
  );

export type LineSeparator = 'semicolon' | 'tab' | 'comma' | 'blank';

export interface LineHabits {
  /** Either is understood where it is not said. */
  readonly decimal?: 'point' | 'comma' | undefined;
  /** Numbers and words by which this instrument says that it has no value. */
  readonly noValue?: readonly (string | number)[] | undefined;
}

/** Where one value stands in the payloads of a broker's topics, and what it is. */
export interface TopicPoint extends LineHabits {
  /** A sensor's name, or "lid". */
  readonly gives: string;
  readonly topic: string;
  /** Its place in JSON: `chamber`, `data.1.celsius`; without it the payload is the value. */
  readonly path?: string | undefined;
  /** The place of the time at which it was measured; without it that is when it arrives. */
  readonly timePath?: string | undefined;
}

export type RegisterType = 'int16' | 'uint16' | 'int32' | 'uint32' | 'float32';

/** The bytes of a number from high (A) to low (D), in the order in which they come. */
export type ByteOrder = 'ABCD' | 'CDAB' | 'BADC' | 'DCBA';

/** Where one figure stands in the registers, and what it is. */
export interface RegisterPoint {
  readonly gives:
    | { readonly kind: 'sensor'; readonly sensor: string }
    /** Not nought, or its `bit` set: open. */
    | { readonly kind: 'lid' }
    /** What a controller means to do: its setpoint in `degrees`, its output in % of full heat. */
    | { readonly kind: 'setpoint' }
    | { readonly kind: 'output' };
  /** The block it lies in, and how many registers after that block's first. */
  readonly channel: string;
  readonly place: number;
  readonly type: RegisterType;
  readonly order: ByteOrder;
  /** The figure is the number in the registers times `scale`, plus `offset`, in `degrees`. */
  readonly scale: number;
  readonly offset: number;
  readonly degrees: Degrees;
  /** Numbers in the registers, before scale and offset, by which this instrument says that it has no value. */
  readonly noValue: readonly number[];
  readonly bit?: number | undefined;
}

export interface KilnSetup {
  readonly id: string;
  readonly name: string;
  readonly heat: 'gas' | 'electric';
  readonly closure: 'lid' | 'door';
  readonly toleranceC?: number | undefined;
  readonly safeOpenC?: number | undefined;
  readonly plateMm?: number | undefined;
  /** Seconds between two readings of one sensor; learned from the readings where it is not given. */
  readonly sampleS?: number | undefined;
  readonly sensors: readonly SensorSetup[];
  /** Decoding of each input, by the input's name. */
  readonly decodings: Readonly<Record<string, Decoding>>;
  /** Minutes east of UTC of the clock on the wall, so that core can write a time of day. */
  readonly utcOffsetMinutes: number;
}

export function rulingSensor(kiln: KilnSetup): string {
  return (kiln.sensors.find((s) => s.rules) ?? kiln.sensors[0])?.name ?? '';
}
