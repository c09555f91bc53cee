/** The shape of a schedule file. Each message says what would be right. */
import { z } from 'zod';
import type { Schedule } from '../core/plan/schedule.ts';
import { strict } from './faults.ts';

/** Below any room and above any glass painter's kiln: a number outside is a slip or °F. Common practice, no source. */
export const COLDEST_C = -50;
export const HOTTEST_C = 1400;

export function temperature(what: string) {
  const right = `write ${what} as a number of °C from ${COLDEST_C} to ${HOTTEST_C}`;
  return z.number({ error: right }).min(COLDEST_C, { error: right }).max(HOTTEST_C, { error: right });
}

export function above0(what: string) {
  const right = `write ${what}, a number above 0`;
  return z.number({ error: right }).gt(0, { error: right });
}

export function words(what: string, most: number) {
  const right = `write ${what}, up to ${most} letters`;
  return z.string({ error: right }).trim().min(1, { error: right }).max(most, { error: right });
}

const opening = z.enum(['closed', 'propped', 'free'], { error: 'write closed, propped or free' }).optional();

const WHEN = `write start, end, or {atC: NUMBER} with a temperature from ${COLDEST_C} to ${HOTTEST_C} °C`;
const whenAtC = strict({ atC: temperature('the temperature') }, WHEN);
const when = z.union([z.literal('start'), z.literal('end'), whenAtC], { error: WHEN });

const callMinutes = z.number({ error: 'write how many minutes before to call, 0 or more' }).min(0, {
  error: 'write how many minutes before to call, 0 or more',
});

const act = strict(
  { when, do: words('what the hand must do', 200), callMinutes: callMinutes.optional() },
  'write {when: start, do: "close the vent", callMinutes: 5}',
  {
    at: 'write when: {atC: NUMBER}',
    atC: 'write when: {atC: NUMBER}',
    what: 'write do',
    text: 'write do',
    minutes: 'write callMinutes',
  },
);

const acts = z.array(act, { error: 'write a list of acts, each {when, do, callMinutes}' }).optional();

const RATE = 'write a number of °C per hour above 0, or flat-out, or let-fall';
const rateCPerH = z.union([z.number().gt(0, { error: RATE }), z.literal('flat-out'), z.literal('let-fall')], {
  error: RATE,
});

const PER_MINUTE = 'rates are in °C per hour: write rateCPerH with 60 times the number';
const ramp = strict(
  { kind: z.literal('ramp'), toC: temperature('the temperature it goes to'), rateCPerH, opening, acts },
  'write {kind: ramp, toC, rateCPerH} or {kind: hold, minutes}',
  {
    rate: 'write rateCPerH, in °C per hour',
    pace: 'write rateCPerH, in °C per hour',
    speed: 'write rateCPerH, in °C per hour',
    rateCPerMin: PER_MINUTE,
    ratePerMinute: PER_MINUTE,
    to: 'write toC, in °C',
    target: 'write toC, in °C',
    targetC: 'write toC, in °C',
    temp: 'write toC, in °C',
    tempC: 'write toC, in °C',
    temperature: 'write toC, in °C',
    toF: 'write toC, in °C',
    fromC: 'leave it out: a ramp begins where the one before it ended',
    minutes: 'give the pace as rateCPerH, or write a hold of so many minutes after the ramp',
  },
);

const hold = strict(
  { kind: z.literal('hold'), minutes: above0('its minutes'), opening, acts },
  'write {kind: ramp, toC, rateCPerH} or {kind: hold, minutes}',
  {
    toC: 'leave it out: a hold keeps the temperature of the ramp before it',
    atC: 'leave it out: a hold keeps the temperature of the ramp before it',
    rateCPerH: 'leave it out: a hold has no rate',
    hours: 'write minutes, 60 to the hour',
    seconds: 'write minutes',
    time: 'write minutes',
    duration: 'write minutes',
    holdMinutes: 'write minutes',
    soak: 'write minutes',
  },
);

export const segmentSchema = z.discriminatedUnion('kind', [ramp, hold], {
  error: 'write kind: ramp with toC and rateCPerH, or kind: hold with minutes',
});

const limit = strict(
  {
    fromC: temperature('the temperature from which it counts'),
    toC: temperature('the temperature up or down to which it counts'),
    maxCPerH: above0('the steepest change in °C per hour'),
    why: words('the reason', 500),
  },
  'write {fromC, toC, maxCPerH, why}',
  { maxRateCPerH: 'write maxCPerH', rateCPerH: 'write maxCPerH', reason: 'write why' },
);

const SEGMENTS = 'write a list of segments, the first a ramp';

export const scheduleSchema = strict(
  {
    name: words('a name', 200),
    segments: z
      .array(segmentSchema, { error: SEGMENTS })
      .min(1, { error: SEGMENTS })
      .max(500, { error: 'write at most 500 segments' }),
    glass: words('the kind of glass', 200).optional(),
    plateMm: above0('the thickest piece in mm').optional(),
    toleranceC: above0('how far it may be off the plan in °C').optional(),
    safeOpenC: temperature('the temperature at which it may be opened').optional(),
    limits: z.array(limit, { error: 'write a list of limits, each {fromC, toC, maxCPerH, why}' }).optional(),
    waits: z.boolean({ error: 'write true (the plan waits for the kiln) or false (it runs by the clock)' }).optional(),
    source: words('where the schedule comes from', 2000).optional(),
    notes: words('notes', 5000).optional(),
  },
  'write name and segments',
  {
    steps: 'write segments',
    stages: 'write segments',
    title: 'write name',
    thickness: 'write plateMm, in mm',
    thicknessMm: 'write plateMm, in mm',
    tolerance: 'write toleranceC, in °C',
    safeOpen: 'write safeOpenC, in °C',
    wait: 'write waits',
  },
) satisfies z.ZodType<Schedule>;
