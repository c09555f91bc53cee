/** What goes to and fro when an instrument is listened to and a kiln is set up. */
import { z } from 'zod';
import type { Offer } from '../core/setup/offers.ts';

const port = z.string().trim().min(1).max(500);
const address = z.string().trim().min(1).max(300);
const baud = z.number().int().min(300).max(230_400);
const unit = z.number().int().min(0).max(255);
const register = z.number().int().min(0).max(65_535);
const parity = z.enum(['none', 'even', 'odd']);

/** Where an instrument speaks. */
export const placeBody = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('serial'), port, baud }),
  z.strictObject({ kind: z.literal('tcp'), address }),
  z.strictObject({
    kind: z.literal('mqtt'),
    url: z.string().trim().min(1).max(300),
    version: z.union([z.literal('3.1.1'), z.literal(5)]).optional(),
    username: z.string().trim().min(1).max(200).optional(),
    /** Kept in a file of its own once the kiln is set up. */
    password: z.string().min(1).max(500).optional(),
    caFile: z.string().trim().min(1).max(500).optional(),
  }),
  z.strictObject({ kind: z.literal('modbus-rtu'), port, baud, parity, unit, register }),
  z.strictObject({ kind: z.literal('modbus-tcp'), address, unit, register }),
]);
export type Place = z.infer<typeof placeBody>;

export const newKilnBody = z.strictObject({
  name: z.string().trim().min(1).max(100),
  heat: z.enum(['gas', 'electric']),
  closure: z.enum(['lid', 'door']),
  picks: z
    .array(
      z.strictObject({
        sensor: z.string().trim().min(1).max(40),
        letter: z.enum(['B', 'E', 'J', 'K', 'N', 'R', 'S', 'T']),
        /** `id` of an offer, and `key` of one of its ways. */
        offer: z.string().min(1).max(1500),
        way: z.string().min(1).max(60),
      }),
    )
    .min(1)
    .max(32),
});
export type NewKiln = z.infer<typeof newKilnBody>;

const letter = z.enum(['B', 'E', 'J', 'K', 'N', 'R', 'S', 'T']);

/** Where one of a kiln's inputs listens. Over which interface it does stays; `port` of a Modbus line may be HOST:PORT. */
const inputForm = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('serial'), port, baud }),
  z.strictObject({ kind: z.literal('tcp'), address }),
  z.strictObject({ kind: z.literal('mqtt'), url: z.string().trim().min(1).max(300) }),
  z.strictObject({ kind: z.literal('modbus-rtu'), port, baud, parity }),
  z.strictObject({ kind: z.literal('modbus-tcp'), address }),
]);
export type InputForm = z.infer<typeof inputForm>;

/** Where a sensor's figure stands in what its input says. */
const spotForm = z.discriminatedUnion('kind', [
  /** `column` of so many, from 1. */
  z.strictObject({ kind: z.literal('column'), column: z.number().int().min(1).max(64), of: z.number().int() }),
  z.strictObject({ kind: z.literal('name'), name: z.string().trim().min(1).max(200) }),
  z.strictObject({
    kind: z.literal('topic'),
    topic: z.string().trim().min(1).max(1000),
    /** Empty where the payload is the figure alone. */
    path: z.string().trim().max(200),
  }),
  z.strictObject({
    kind: z.literal('register'),
    unit,
    /** As it is written: counted from 0, or from 1. */
    register: z.number().int().min(0).max(65_536),
    table: z.enum(['holding', 'input']),
  }),
]);
export type SpotForm = z.infer<typeof spotForm>;

/** What may be changed of a kiln that is set up. While it is fired: its name, those of its sensors, `inputs` and `spot`. */
export const kilnFormBody = z.strictObject({
  name: z.string().trim().min(1).max(100),
  heat: z.enum(['gas', 'electric']),
  closure: z.enum(['lid', 'door']),
  /** In the order of the configuration. */
  inputs: z.array(inputForm).min(1).max(32),
  sensors: z
    .array(
      z.strictObject({
        /** Its name as it stands. */
        was: z.string().min(1).max(40),
        name: z.string().trim().min(1).max(40),
        letter,
        /** What its figures count. */
        unit: z.enum(['C', 'F', 'K', 'mV']),
        /** To be added to what it shows; `certificate` where more is written than three fields can show. */
        correction: z
          .union([
            z.literal('certificate'),
            z.strictObject({
              atC: z.number().min(-50).max(2000),
              correctionC: z.number().min(-50).max(50),
              uncertaintyC: z.number().min(0).max(100),
            }),
          ])
          .nullable(),
        /** How its register is read, on Modbus. */
        register: z
          .strictObject({
            type: z.enum(['int16', 'uint16', 'int32', 'uint32', 'float32']),
            order: z.enum(['ABCD', 'CDAB', 'BADC', 'DCBA']),
            scale: z.number(),
          })
          .nullable(),
        /** Null where it is read by a pattern, which stands in the file, or is all that its input says. */
        spot: spotForm.nullable(),
      }),
    )
    .min(1)
    .max(32),
});
export type KilnForm = z.infer<typeof kilnFormBody> & { readonly id: string };
export type SensorForm = KilnForm['sensors'][number];

/** Answer of `/api/setup/kilns`. */
export interface KilnForms {
  readonly kilns: readonly KilnForm[];
  /** Where they are written, and where the file as it was is kept. */
  readonly file: string;
  readonly keptAs: string;
}

/** A serial port that is plugged in. */
export interface PortFound {
  readonly path: string;
  /** Name of the kiln that listens there already. */
  readonly usedBy: string | null;
  /** How the line is spoken to, where other instruments may be read on it beside that kiln's: Modbus. */
  readonly line: { readonly baud: number; readonly parity: 'none' | 'even' | 'odd' } | null;
}

export interface SetupPlaces {
  readonly ports: readonly PortFound[];
  /** Where the kilns are written. */
  readonly file: string;
}

/** What is heard now. */
export interface EarNow {
  readonly place: Place['kind'];
  readonly state: 'connecting' | 'connected' | 'lost';
  readonly sentence: string;
  /** As it came, the newest last. */
  readonly heard: readonly { readonly atMs: number; readonly channel?: string; readonly text: string }[];
  readonly offers: readonly Offer[];
}

export interface KilnAdded {
  readonly id: string;
  /** What was written, and where. */
  readonly yaml: string;
  readonly file: string;
}
