/** Every act of the hand that a firing asks for: what the schedule says, and what the kiln's own way makes needful. */
import { haveCommon, thingsIn } from '../plan/hand-words.ts';
import type { KilnSetup } from '../plan/kiln.ts';
import {
  type ActMoment,
  isLetFall,
  type Opening,
  type PlannedAct,
  type Schedule,
  type Segment,
  targetC,
} from '../plan/schedule.ts';

/** `beforeEndS`: so many seconds before the segment is over. `crack`, `unload`: as the kiln falls to it, whatever the segment. */
export type AskedMoment = ActMoment | { readonly beforeEndS: number } | 'crack' | 'unload';

export interface AskedAct {
  readonly id: string;
  readonly segment: number;
  readonly when: AskedMoment;
  readonly do: string;
  readonly callMinutes: number;
}

/** Where the schedule does not say how long before. Common practice, no source: time to wash a brush and walk over. */
const CALL_MINUTES = 5;
/** Who turns a valve at the top is too late: a sheathed couple shows it one to three minutes after. From memory. */
const TURN_BEFORE_S = 180;
/** The last minutes of a hold are stood through at the valve; common practice, no source. */
const STAND_S = 180;
const STAND_CALL_MINUTES = 2;
/** A hold so short is stood through as a whole: one walk, one call. Ours. */
const SHORT_HOLD_MIN = 6;
/** The hand is there already. */
const AT_HAND_MINUTES = 1;
/** A controller does it by itself; somebody looks whether it did. Common practice, no source. */
const LOOK_MINUTES = 3;
const UNLOAD_CALL_MINUTES = 10;

/** Ids of the two calls that belong to no segment. */
export const OPENING = { crack: 'crack', unload: 'unload' } as const;

export function isOpening(callId: string): boolean {
  return callId === OPENING.crack || callId === OPENING.unload;
}

export type Hands = Pick<KilnSetup, 'heat' | 'closure'> & {
  /** It may be cracked somewhat above the temperature at which it is unloaded. */
  readonly isCrackedFirst: boolean;
};

/** The same for the same schedule and kiln; asked each second of a firing, so it is worked out once. */
const known = new WeakMap<Schedule, { readonly hands: Hands; readonly acts: readonly AskedAct[] }[]>();

export function askedActs(schedule: Schedule, kiln: Hands): readonly AskedAct[] {
  let ofSchedule = known.get(schedule);
  if (ofSchedule === undefined) {
    ofSchedule = [];
    known.set(schedule, ofSchedule);
  }
  for (const { hands, acts } of ofSchedule) if (areSame(hands, kiln)) return acts;
  const acts = workOut(schedule, kiln);
  ofSchedule.push({ hands: kiln, acts });
  return acts;
}

function areSame(one: Hands, other: Hands): boolean {
  return one.heat === other.heat && one.closure === other.closure && one.isCrackedFirst === other.isCrackedFirst;
}

function workOut(schedule: Schedule, kiln: Hands): AskedAct[] {
  const asked = schedule.segments.flatMap((segment, i) => (segment.acts ?? []).map((act, k) => scheduled(act, i, k)));
  const own = schedule.segments.flatMap((segment, i) => needed(schedule, segment, i, kiln));
  const last = schedule.segments.length - 1;
  const opening: AskedAct[] = [
    ...(kiln.isCrackedFirst
      ? [
          {
            id: OPENING.crack,
            segment: last,
            when: 'crack',
            do: `crack the ${kiln.closure}`,
            callMinutes: CALL_MINUTES,
          } as const,
        ]
      : []),
    { id: OPENING.unload, segment: last, when: 'unload', do: 'unload', callMinutes: UNLOAD_CALL_MINUTES },
  ];
  return [
    ...asked,
    ...own.filter((act) => !asked.some((said) => isNear(said, act) && speakOfOne(said, act))),
    ...opening.filter((act) => !asked.some((said) => speakOfOne(said, act))),
  ];
}

function scheduled(act: PlannedAct, segment: number, place: number): AskedAct {
  return {
    id: `${segment}-${place}`,
    segment,
    when: act.when,
    do: act.do,
    callMinutes: act.callMinutes ?? CALL_MINUTES,
  };
}

/** What this segment, coming after the one before it, asks of the hand; nothing of the lighting itself. */
function needed(schedule: Schedule, segment: Segment, index: number, { heat, closure }: Hands): AskedAct[] {
  const acts: AskedAct[] = [];
  const add = (key: string, at: number, when: AskedMoment, what: string, callMinutes = CALL_MINUTES): void => {
    acts.push({ id: `${at}-${key}`, segment: at, when, do: what, callMinutes });
  };
  const before = schedule.segments[index - 1];
  if (before === undefined) return acts;
  if (openingOf(before) !== 'closed' && openingOf(segment) === 'closed') {
    add('close', index, 'start', `close the vent and the ${closure}`);
  }
  const wasHeated = !isLetFall(before);
  const isFall = isLetFall(segment);
  if (heat === 'electric') {
    const isLessHeat = isFall || (segment.kind === 'ramp' && segment.toC < targetC(schedule, index - 1));
    if (wasHeated && isLessHeat) add('off', index, 'start', 'check that it lets go', LOOK_MINUTES);
    return acts;
  }
  const fromC = targetC(schedule, index - 1);
  if (segment.kind === 'hold') {
    const cameUp = before.kind === 'ramp' && fromC >= targetBefore(schedule, index - 1);
    if (cameUp) add('down', index - 1, { beforeEndS: TURN_BEFORE_S }, `turn down to hold ${fromC}`);
    else if (before.kind === 'ramp')
      add('catch', index - 1, { beforeEndS: TURN_BEFORE_S }, `be there to hold ${fromC}`);
    return acts;
  }
  const isAfterHold = before.kind === 'hold';
  if (isAfterHold && before.minutes >= SHORT_HOLD_MIN) {
    add('stand', index - 1, { beforeEndS: STAND_S }, 'stand at the valve', STAND_CALL_MINUTES);
  }
  const over = isAfterHold ? 'hold over: ' : '';
  const soon = isAfterHold ? AT_HAND_MINUTES : CALL_MINUTES;
  if (isFall) {
    if (wasHeated) add('off', index, 'start', `${over}gas off first, damper after`, soon);
  } else if (segment.toC < fromC) {
    add('fall', index, 'start', `${over}turn down to fall ${segment.rateCPerH} °C/h`, soon);
  } else if (isAfterHold || before.rateCPerH !== segment.rateCPerH) {
    const pace = segment.rateCPerH === 'flat-out' ? 'flat out' : `${segment.rateCPerH} °C/h`;
    add('pace', index, 'start', `${over}turn the valve for ${pace}`, soon);
  }
  return acts;
}

function openingOf(segment: Segment): Opening {
  return segment.opening ?? 'closed';
}

function targetBefore(schedule: Schedule, index: number): number {
  return index === 0 ? Number.NEGATIVE_INFINITY : targetC(schedule, index - 1);
}

/** Around one bend of the plan: the same segment, or the end of one and the start of the next. */
function isNear(one: AskedAct, other: AskedAct): boolean {
  return bendOf(one) === bendOf(other) || one.segment === other.segment;
}

function bendOf({ segment, when }: AskedAct): number {
  return when === 'start' ? segment : segment + 1;
}

/** To stand at the valve is no call of its own where the schedule calls for what is then done there. */
const AT_THE_VALVE = ['turn-down', 'heat-off', 'pace'] as const;

function speakOfOne(said: AskedAct, own: AskedAct): boolean {
  const saidThings = thingsIn(said.do);
  if (own.do === 'stand at the valve') {
    return bendOf(said) === bendOf(own) && said.when !== 'start' && AT_THE_VALVE.some((thing) => saidThings.has(thing));
  }
  return haveCommon(saidThings, thingsIn(own.do));
}
