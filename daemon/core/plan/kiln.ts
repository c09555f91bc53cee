/** What core knows of a kiln: the kiln entry of the configuration without its connection's address. */

export interface SensorSetup {
  readonly name: string;
  /** Thermocouple letter (IEC 60584-1): B, E, J, K, N, R, S or T. */
  readonly letter: string;
  /** The sensor that steers the plan; the first one where none says so. */
  readonly rules?: boolean | undefined;
}

/** How one input's text becomes readings. */
export type Decoding =
  /** One text line holds the values of these columns in order ('lid' and '-' for a column to skip are allowed). */
  | { readonly kind: 'columns'; readonly columns: readonly string[] }
  /** Each channel (an MQTT topic, the sensor column of a CSV) carries one value. */
  | { readonly kind: 'channels'; readonly channels: Readonly<Record<string, string>> };

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
