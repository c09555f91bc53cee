/** The calendar of hands: the minutes in which someone must be at the kiln, by the schedule's acts and by the kiln's own ways. */
import { isLetFall, type Opening, type PlannedAct, type Schedule, targetC } from '../plan/schedule.ts';
import { type ModelFiring, type ModelPoint, type ModelSegment, UNLOAD_C } from './fire-in-model.ts';

export interface HandsMoment {
  readonly fromS: number;
  /** As `fromS` where it is done in a moment. */
  readonly toS: number;
  /** How long before to be called. */
  readonly callMinutes: number;
  readonly do: string;
  /** What the couple will show as it begins, °C. */
  readonly shownC: number;
  readonly segment: number;
  /** The schedule asks for it, or the kiln's own way of coasting and falling makes it needful. */
  readonly by: 'schedule' | 'kiln';
}

export interface HandsOf {
  readonly heat: 'gas' | 'electric';
  readonly closure: 'lid' | 'door';
  readonly safeOpenC: number;
}

/** Time to wash a brush and walk over; common practice, no source. */
const CALL_MINUTES = 5;
/** To be there before the valve must be turned, and to see that it takes; common practice, no source. */
const BEFORE_TURN_S = 120;
const AFTER_TOP_S = 120;
/** An act of the schedule's within so many seconds that speaks of the same thing says it already. Ours. */
const SAME_MOMENT_S = 900;

export function calendarOfHands(schedule: Schedule, firing: ModelFiring, kiln: HandsOf): HandsMoment[] {
  const asked = scheduleActs(schedule, firing);
  const needed = kilnMoments(schedule, firing, kiln).filter((own) => !asked.some((act) => saysTheSame(act, own)));
  return [...asked, ...needed].sort((a, b) => a.fromS - b.fromS || a.toS - b.toS);
}

function scheduleActs(schedule: Schedule, firing: ModelFiring): HandsMoment[] {
  return firing.segments.flatMap((ran) =>
    (schedule.segments[ran.segment]?.acts ?? []).flatMap((act): HandsMoment[] => {
      const atS = momentOf(act, ran, firing.points);
      if (atS === null) return [];
      return [
        {
          fromS: atS,
          toS: atS,
          callMinutes: act.callMinutes ?? CALL_MINUTES,
          do: act.do,
          shownC: shownAtC(firing.points, atS),
          segment: ran.segment,
          by: 'schedule',
        },
      ];
    }),
  );
}

function momentOf(act: PlannedAct, ran: ModelSegment, points: readonly ModelPoint[]): number | null {
  if (act.when === 'start') return ran.startS;
  if (act.when === 'end') return ran.isReached ? ran.endS : null;
  const { atC } = act.when;
  const isUp = ran.endC >= ran.startC;
  const within = points.filter((p) => p.atS >= ran.startS && p.atS <= ran.endS);
  return within.find((p) => (isUp ? p.shownC >= atC : p.shownC <= atC))?.atS ?? null;
}

function kilnMoments(schedule: Schedule, firing: ModelFiring, kiln: HandsOf): HandsMoment[] {
  const moments: HandsMoment[] = [];
  const add = (segment: number, fromS: number, toS: number, what: string): void => {
    const shownC = shownAtC(firing.points, fromS);
    moments.push({ fromS, toS, callMinutes: CALL_MINUTES, do: what, shownC, segment, by: 'kiln' });
  };
  const isGas = kiln.heat === 'gas';
  let opening: Opening = 'closed';
  for (const ran of firing.segments) {
    const segment = schedule.segments[ran.segment];
    if (segment === undefined) break;
    const before = schedule.segments[ran.segment - 1];
    const isFirst = ran.segment === 0;
    const wants = segment.opening ?? 'closed';
    const prop = `prop the ${kiln.closure}, vent open`;
    if (isFirst) {
      const light = isGas ? 'light it' : 'start the controller';
      add(0, ran.startS, ran.startS, wants === 'closed' ? light : `${prop}; ${light}`);
    } else if (opening !== 'closed' && wants === 'closed') {
      add(ran.segment, ran.startS, ran.startS, `close vent and ${kiln.closure}`);
    }
    opening = wants;
    const isClimb = segment.kind === 'ramp' && segment.rateCPerH !== 'let-fall' && segment.toC > ran.startC;
    if (isGas && isClimb && !isFirst && before?.kind === 'ramp' && before.rateCPerH !== segment.rateCPerH) {
      const pace = segment.rateCPerH === 'flat-out' ? 'flat out' : `${segment.rateCPerH} °C/h`;
      add(ran.segment, ran.startS, ran.startS, `turn the valve for ${pace}`);
    }
    if (ran.turnDown !== null && isGas) {
      const { atS, atC } = ran.turnDown;
      const topC = targetC(schedule, ran.segment);
      const underC = Math.max(Math.round(topC - atC), 0);
      const what = `come to turn down: at ${Math.round(atC)}, ${underC} °C below ${topC}; stand at the valve until it rests`;
      add(ran.segment, atS - BEFORE_TURN_S, ran.endS + AFTER_TOP_S, what);
    }
    if (segment.kind === 'hold' && isGas) {
      add(ran.segment, ran.startS, ran.endS, `stand at the valve: hold ${targetC(schedule, ran.segment)}`);
    }
    const wasHeated = before !== undefined && !isLetFall(before);
    if (isLetFall(segment) && wasHeated) {
      add(ran.segment, ran.startS, ran.startS, isGas ? 'gas off first, damper after' : 'check that it lets go');
    }
  }
  const last = firing.segments[firing.segments.length - 1];
  if (last?.isReached === true) {
    const ending = schedule.segments[last.segment];
    if (!isLetFall(ending)) {
      add(last.segment, last.endS, last.endS, isGas ? 'gas off first, damper after' : 'check that it lets go');
    }
    if (firing.cracksAtS !== null && kiln.safeOpenC > UNLOAD_C) {
      add(last.segment, firing.cracksAtS, firing.cracksAtS, `crack the ${kiln.closure}`);
    }
    if (firing.unloadsAtS !== null) add(last.segment, firing.unloadsAtS, firing.unloadsAtS, 'unload');
  }
  return moments;
}

/** The things a hand touches, by the words that name them. */
const THINGS: readonly RegExp[] = [
  /\b(light|start the controller)\b/,
  /\bclose\b/,
  /\b(turn(ed)? (the (gas|heat) )?down|gas down|heat down|stand by)\b/,
  /\b((gas|heat) off|lets go)\b/,
  /\bcrack\b/,
  /\bunload\b/,
];

function saysTheSame(asked: HandsMoment, own: HandsMoment): boolean {
  const isNear = asked.fromS >= own.fromS - SAME_MOMENT_S && asked.fromS <= own.toS + SAME_MOMENT_S;
  // When to turn down is what the kiln knows better than the schedule: that minute is kept.
  if (!isNear || own.toS > own.fromS) return false;
  return THINGS.some((thing) => thing.test(asked.do.toLowerCase()) && thing.test(own.do));
}

export function shownAtC(points: readonly ModelPoint[], atS: number): number {
  const after = points.findIndex((p) => p.atS >= atS);
  return points[after === -1 ? points.length - 1 : after]?.shownC ?? 0;
}
