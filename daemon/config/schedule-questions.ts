/** What a careful colleague would ask about a schedule, and never refuse. */
import {
  countsForFall,
  isLimitOfFall,
  limitHighC,
  limitLowC,
  peakC,
  type Schedule,
  type Segment,
} from '../core/plan/schedule.ts';
import { ROOM_C } from './schedule-file.ts';

/** Hotter than any peak named for glass paint (704 °C, a studio blog); the usual ones are 620 to 680. */
const HOT_FOR_PAINT_C = 700;
/** Usual peaks of silver stain end here (a kiln-glass teaching blog); up to 650 is reported for some. */
const HOT_FOR_STAIN_C = 565;
/** So little under the peak the paint still matures. From memory. */
const STILL_WORKS_DELTA_C = 25;
/** Glass breaks easily when it is looked at in this range: "never between", from memory. */
const BRITTLE_FROM_C = 370;
const BRITTLE_TO_C = 600;

/** Each a sentence that ends in a question; empty where nothing stands out. */
export function askAbout(schedule: Schedule): string[] {
  return [
    ...aboutPeak(schedule),
    ...schedule.segments.flatMap((segment, i) => aboutSegment(schedule, segment, i)),
    ...aboutEnd(schedule),
  ];
}

function aboutPeak(schedule: Schedule): string[] {
  const hottestC = peakC(schedule);
  if (hottestC > HOT_FOR_PAINT_C) {
    return [`It goes to ${hottestC} °C; glass paint is usually fired at 620 to 680. Is it meant?`];
  }
  if (/\bstain\b/i.test(schedule.name) && hottestC > HOT_FOR_STAIN_C) {
    return [`It goes to ${hottestC} °C; silver stain is usually fired at 509 to ${HOT_FOR_STAIN_C}. Is it meant?`];
  }
  return [];
}

function aboutSegment(schedule: Schedule, segment: Segment, index: number): string[] {
  const fromC = targetBefore(schedule, index);
  const label = `Segment ${index + 1}`;
  if (segment.kind === 'hold') {
    const under = peakC(schedule) - fromC;
    if (under <= 0 || under > STILL_WORKS_DELTA_C) return [];
    return [`${label} holds only ${under} °C under the peak, where it still works on the paint. Is it counted in?`];
  }
  return [...aboutPace(schedule, segment, fromC, label), ...aboutOpening(segment, fromC, label)];
}

function aboutPace(schedule: Schedule, segment: Segment, fromC: number, label: string): string[] {
  if (segment.kind !== 'ramp' || typeof segment.rateCPerH !== 'number') return [];
  const pace = segment.rateCPerH;
  const lowC = Math.min(fromC, segment.toC);
  const highC = Math.max(fromC, segment.toC);
  return (schedule.limits ?? [])
    .filter((limit) => limitLowC(limit) < highC && limitHighC(limit) > lowC && pace > limit.maxCPerH)
    .filter((limit) => (segment.toC < fromC ? countsForFall(schedule, limit) : !isLimitOfFall(limit)))
    .map(
      (limit) =>
        `${label} goes ${pace} °C/h; between ${limit.fromC} and ${limit.toC} °C the schedule itself allows ${limit.maxCPerH} (${limit.why}). Which is right?`,
    );
}

function aboutOpening(segment: Segment, fromC: number, label: string): string[] {
  const falls = segment.kind === 'ramp' && segment.toC < fromC;
  const isOpen = segment.opening === 'propped' || segment.opening === 'free';
  if (!falls || !isOpen || fromC <= BRITTLE_FROM_C || segment.toC >= BRITTLE_TO_C) return [];
  return [
    `${label} may be open while it falls through ${BRITTLE_FROM_C} to ${BRITTLE_TO_C} °C, where glass breaks easily. Is it meant?`,
  ];
}

function aboutEnd(schedule: Schedule): string[] {
  const last = schedule.segments.length - 1;
  const endsC = targetBefore(schedule, last + 1);
  const safeC = schedule.safeOpenC ?? BRITTLE_FROM_C;
  if (endsC <= safeC) return [];
  return [`It ends at ${endsC} °C and says nothing of the cooling. Shall it end with a ramp that lets it fall?`];
}

/** The temperature at which segment `index` begins. */
function targetBefore(schedule: Schedule, index: number): number {
  for (let i = index - 1; i >= 0; i--) {
    const segment = schedule.segments[i];
    if (segment?.kind === 'ramp') return segment.toC;
  }
  return ROOM_C;
}
