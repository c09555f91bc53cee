/** Reads and checks a schedule: every fault at once, each with its place in the file. */
import type { PlannedAct, Ramp, Schedule, Segment } from '../core/plan/schedule.ts';
import { ConfigError, type Fault } from '../errors.ts';
import { faultAt, schemaFaults, valueAt } from './faults.ts';
import { scheduleSchema, segmentSchema } from './schedule-schema.ts';
import { readYamlFile, type Source, sourceWithoutLines } from './yaml-file.ts';

/** Where the first ramp starts from, since a schedule does not say it: a workshop's room. Common practice, no source. */
export const ROOM_C = 20;

/** @throws ConfigError naming every fault; UnreadableFileError (one of them) when the file cannot be read at all */
export function readScheduleFile(path: string): Schedule {
  return scheduleFrom(readYamlFile(path));
}

/** @param file what to call it in the faults. @throws ConfigError naming every fault */
export function parseSchedule(value: unknown, file: string): Schedule {
  return scheduleFrom(sourceWithoutLines(value, file));
}

function scheduleFrom(source: Source): Schedule {
  const faults = [...schemaFaults(scheduleSchema, source), ...courseFaults(source), ...limitFaults(source)];
  if (faults.length > 0) throw new ConfigError(source.file, faults);
  return scheduleSchema.parse(source.value);
}

/** What cannot be fired although each segment by itself is well written. Segments that are not are passed over. */
function courseFaults(source: Source): Fault[] {
  const segments = valueAt(source.value, ['segments']);
  if (!Array.isArray(segments)) return [];
  const faults: Fault[] = [];
  let fromC: number | undefined = ROOM_C;
  segments.forEach((raw: unknown, index) => {
    if (index === 0 && valueAt(raw, ['kind']) === 'hold') {
      faults.push(faultAt(source, ['segments', 0, 'kind'], 'begin with a ramp to the temperature that is to be held'));
      fromC = undefined;
    }
    const parsed = segmentSchema.safeParse(raw);
    if (parsed.success) faults.push(...segmentFaults(parsed.data, index, fromC, source));
    const toC = valueAt(raw, ['toC']);
    if (valueAt(raw, ['kind']) !== 'hold') fromC = typeof toC === 'number' ? toC : undefined;
  });
  return faults;
}

function segmentFaults(segment: Segment, index: number, fromC: number | undefined, source: Source): Fault[] {
  const direction = segment.kind === 'ramp' && fromC !== undefined ? rampFaults(segment, index, fromC, source) : [];
  const acts = (segment.acts ?? []).flatMap((act, i) => actFaults(act, i, segment, index, fromC, source));
  return [...direction, ...acts];
}

function rampFaults(ramp: Ramp, index: number, fromC: number, source: Source): Fault[] {
  const from = index === 0 ? `the room's ${fromC} °C` : `${fromC} °C`;
  if (ramp.toC === fromC) {
    const what = `found ${ramp.toC}, where it already is`;
    return [
      faultAt(source, ['segments', index, 'toC'], 'write another temperature, or a hold instead of the ramp', what),
    ];
  }
  const at = ['segments', index, 'rateCPerH'];
  if (ramp.rateCPerH === 'let-fall' && ramp.toC > fromC) {
    return [faultAt(source, at, `from ${from} up to ${ramp.toC} °C it must be heated: write a number or flat-out`)];
  }
  if (ramp.rateCPerH === 'flat-out' && ramp.toC < fromC) {
    return [faultAt(source, at, `from ${from} down to ${ramp.toC} °C it cools: write a number or let-fall`)];
  }
  return [];
}

function actFaults(
  act: PlannedAct,
  i: number,
  segment: Segment,
  index: number,
  fromC: number | undefined,
  source: Source,
): Fault[] {
  if (typeof act.when === 'string' || fromC === undefined) return [];
  const { atC } = act.when;
  const path = ['segments', index, 'acts', i, 'when', 'atC'];
  if (segment.kind === 'hold') {
    return atC === fromC
      ? []
      : [faultAt(source, path, `the hold stays at ${fromC} °C: write when: start or when: end`)];
  }
  // The first ramp begins wherever the kiln stands that day, so only its far end is known.
  const lowC = index === 0 ? Math.min(atC, fromC, segment.toC) : Math.min(fromC, segment.toC);
  const highC = Math.max(fromC, segment.toC);
  if (atC >= lowC && atC <= highC) return [];
  return [
    faultAt(
      source,
      path,
      `the ramp goes from ${fromC} to ${segment.toC} °C and never passes it: write a temperature between`,
    ),
  ];
}

function limitFaults(source: Source): Fault[] {
  const limits = valueAt(source.value, ['limits']);
  if (!Array.isArray(limits)) return [];
  return limits.flatMap((limit: unknown, i) => {
    const fromC = valueAt(limit, ['fromC']);
    const toC = valueAt(limit, ['toC']);
    if (typeof fromC !== 'number' || typeof toC !== 'number' || fromC !== toC) return [];
    const right = `write another temperature than fromC (${fromC}): above it for the way up, below it for the way down`;
    return [faultAt(source, ['limits', i, 'toC'], right)];
  });
}
