/** What a page may send. Strict: an unknown key is nearly always a typing slip. */
import { z } from 'zod';
import type { AlertKind } from '../core/events.ts';

const by = z.string().trim().min(1).max(60);

export const beginBody = z.strictObject({
  kiln: z.string().min(1).max(60),
  /** Key of a schedule on the shelf, a whole schedule, or nothing: the plan can be given later. */
  schedule: z.union([z.string().max(200), z.record(z.string(), z.unknown()), z.null()]).optional(),
  by: by.optional(),
});
export const planBody = z.strictObject({
  schedule: z.union([z.string().max(200), z.record(z.string(), z.unknown())]),
  by: by.optional(),
});
export const actBody = z.strictObject({
  what: z.string().trim().min(1).max(80),
  value: z.union([z.string().trim().max(80), z.number().transform(String)]).optional(),
  by,
  /** The instant of an earlier act that was logged wrongly. */
  correctsAtMs: z.number().int().nonnegative().optional(),
});
export const listBody = z.strictObject({
  by,
  items: z.array(z.strictObject({ text: z.string().trim().min(1).max(120), isDone: z.boolean() })).max(40),
  roomC: z.number().min(-40).max(60).optional(),
});
export const seenBody = z.strictObject({ by });
export const putAsideBody = z.strictObject({ by, minutes: z.number().int().min(1).max(30) });
export const resetBody = z.strictObject({ by });
/** Every kind by its name: one that is missing here does not compile. */
const kinds: Record<AlertKind, AlertKind> = {
  overshoot: 'overshoot',
  'stalled-ramp': 'stalled-ramp',
  'running-late': 'running-late',
  'heating-too-fast': 'heating-too-fast',
  'cooling-too-fast': 'cooling-too-fast',
  'lid-open-hot': 'lid-open-hot',
  'heat-lost': 'heat-lost',
  'uncontrolled-heat': 'uncontrolled-heat',
  'hold-short': 'hold-short',
  'hold-long': 'hold-long',
  'sensor-fault': 'sensor-fault',
  'sensors-disagree': 'sensors-disagree',
  silence: 'silence',
  'clock-trouble': 'clock-trouble',
  'record-trouble': 'record-trouble',
};
export const switchOffBody = z.strictObject({ by, alert: z.enum(kinds), why: z.string().trim().min(3).max(200) });
export const switchOnBody = z.strictObject({ by, alert: z.enum(kinds) });
export const noteBody = z.strictObject({ by, text: z.string().trim().min(1).max(2000) });
export const endBody = z.strictObject({ by: by.optional() });
export const correctionBody = z.strictObject({
  by,
  /** The number of the line in the record. */
  line: z.number().int().min(1),
  is: z.string().trim().min(1).max(2000),
  why: z.string().trim().min(3).max(500),
});
export const photoQuery = z.strictObject({ by, text: z.string().trim().max(2000).optional() });
export const signOffBody = z.strictObject({ by, meaning: z.string().trim().min(3).max(500) });
