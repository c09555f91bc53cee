/** The shape of a scenario file. Units stand in the keys; what is not written is as usual. */
import { z } from 'zod';
import { strict } from '../daemon/config/faults.ts';
import { words } from '../daemon/config/schedule-schema.ts';
import { coupleKinds } from './couple-kinds.ts';
import { faults } from './faults/catalogue.ts';
import { plants } from './plants.ts';

const oneOf = (names: readonly string[]): string => `write one of ${names.join(', ')}`;
const SECONDS = 'write seconds, 0 or more';
const RATIO = 'write a share from 0 to 1';
const NUMBER = 'write a number';

const secondsOf = z.number({ error: SECONDS }).min(0, { error: SECONDS });
const ratio = z.number({ error: RATIO }).min(0, { error: RATIO }).max(1, { error: RATIO });
const number = z.number({ error: NUMBER });
const above0 = z.number({ error: 'write a number above 0' }).gt(0, { error: 'write a number above 0' });
const named = (names: readonly string[]) =>
  z.string({ error: oneOf(names) }).refine((name) => names.includes(name), { error: oneOf(names) });

const WHEN =
  'write one of {afterS}, {afterPreviousS}, {climbingC}, {belowTopC}, {fallingC}, {holdingS}, {afterHoldS}, with a number';
const moment = z.union(
  [
    z.strictObject({ afterS: secondsOf }),
    z.strictObject({ afterPreviousS: secondsOf }),
    z.strictObject({ climbingC: number }),
    z.strictObject({ belowTopC: number }),
    z.strictObject({ fallingC: number }),
    z.strictObject({ holdingS: secondsOf }),
    z.strictObject({ afterHoldS: secondsOf }),
  ],
  { error: WHEN },
);

const happening = z.union(
  [
    z.strictObject({
      fault: named(Object.keys(faults)),
      when: moment.optional(),
      forS: secondsOf.optional(),
      /** 1 is as the catalogue has it; half is half as bad. */
      strengthRatio: above0.optional(),
    }),
    z.strictObject({
      called: z.enum(['overshoot', 'stalled-ramp', 'heat-lost', 'lid-open-hot', 'uncontrolled-heat', 'hold-long']),
      when: moment,
    }),
  ],
  { error: 'write {fault, when} with a fault that --list names, or {called, when} with a kind of alert' },
);

export const operatorSchema = strict(
  {
    looksEveryS: above0.optional(),
    standsEveryS: above0.optional(),
    markStep: above0.optional(),
    overcorrectRatio: above0.optional(),
    climbPerMarkCPerH: above0.optional(),
    holdMark: above0.optional(),
    turnsDownBeforeC: number.optional(),
    late: z.strictObject({ goesBeforeC: number, minutes: number.nullable(), opensBy: number }).optional(),
    leaves: z
      .strictObject({
        atC: number.optional(),
        belowTopC: number.optional(),
        opensBy: number,
        minutes: number.optional(),
      })
      .optional(),
    paceRatio: above0.optional(),
    forgetsDoor: z.boolean().optional(),
    forgetsGas: z.strictObject({ minutes: number.nullable() }).optional(),
    endsHoldEarlyMinutes: number.optional(),
    walkS: secondsOf.optional(),
    propRatio: ratio.optional(),
    crackRatio: ratio.optional(),
  },
  'write what the painter does otherwise than usual',
);

const place = z.strictObject({ wall: number, shelf: number, glass: number });

const couple = strict(
  {
    sensor: words('the name of one of the kiln’s sensors', 40),
    is: named(Object.keys(coupleKinds)).optional(),
    looksAt: place.optional(),
    heightRatio: ratio.optional(),
    lagS: secondsOf.optional(),
    noiseC: secondsOf.optional(),
    stepC: secondsOf.optional(),
    offsetC: number.optional(),
    missedRatio: ratio.optional(),
    wire: z
      .strictObject({
        letter: z.enum(['B', 'E', 'J', 'K', 'N', 'R', 'S', 'T'], { error: 'write a thermocouple letter' }),
        toleranceClass: z.union([z.literal(1), z.literal(2), z.literal(3)], { error: 'write 1, 2 or 3' }),
      })
      .optional(),
  },
  'write {sensor}, and is: with a kind of couple, or lagS',
);

const instrument = strict(
  {
    sampleS: above0,
    jitterS: secondsOf.optional(),
    scanS: secondsOf.optional(),
    lostRatio: ratio.optional(),
    doubledRatio: ratio.optional(),
    swappedRatio: ratio.optional(),
  },
  'write {sampleS}, the seconds between two readings',
);

const TIME = 'write a time as 2025-05-12T09:00:00Z';

export const scenarioSchema = strict(
  {
    name: words('a name', 100),
    what: words('what happens, in a sentence', 400),
    seed: z.number({ error: 'write a whole number' }).int({ error: 'write a whole number' }),
    startsAt: z.string({ error: TIME }).refine((text) => !Number.isNaN(Date.parse(text)), { error: TIME }),
    endsAfterH: above0,
    /** How long the kiln is still watched once the plan is over. */
    coolsForH: secondsOf.optional(),
    kiln: z.unknown(),
    /** A schedule, or the name of a file beside this one. */
    schedule: z.unknown(),
    plant: strict(
      { is: named(Object.keys(plants)), change: z.unknown().optional() },
      `write {is} with one of ${Object.keys(plants).join(', ')}`,
    ),
    operator: operatorSchema.optional(),
    /** How far the painter's feel for the kiln is off: 1 knows it well. */
    feelRatio: above0.optional(),
    couples: z.array(couple, { error: 'write a list of couples' }).min(1, { error: 'write at least one couple' }),
    instrument,
    /** Where they are not written, they are found by firing the kiln once with nothing wrong. */
    habits: z
      .strictObject({ glassC: number, controllerOffC: number }, { error: 'write {glassC, controllerOffC}' })
      .optional(),
    lidSwitch: z.boolean({ error: 'write true where lid or door has a switch' }).optional(),
    happenings: z.array(happening, { error: 'write a list of happenings' }).optional(),
  },
  'write a scenario: name, what, seed, startsAt, endsAfterH, kiln, schedule, plant, couples, instrument',
);

export type ScenarioData = z.infer<typeof scenarioSchema>;
