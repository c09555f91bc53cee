/** A rehearsal as a person reads it: the segments, where the kiln can't follow, and the calendar of hands. */
import { timeOfDay } from '../numbers/time-of-day.ts';
import type { Schedule } from '../plan/schedule.ts';
import { hours } from './fit-words.ts';
import type { Rehearsal, RehearsedHands, RehearsedSegment, When } from './rehearse.ts';

export interface SaidOf {
  readonly name: string;
  readonly closure: 'lid' | 'door';
  readonly utcOffsetMinutes: number;
  /** Only a lower bound is known of the kiln's heat. */
  readonly heatIsAtLeast: boolean;
  /** How late the kiln answers could not be told from its firings. */
  readonly lagIsUnknown: boolean;
}

export function rehearsalLines(rehearsal: Rehearsal, schedule: Schedule, kiln: SaidOf): string[] {
  const clock = (atMs: number): string => timeOfDay(atMs, kiln.utcOffsetMinutes);
  return [
    `${schedule.name} in ${kiln.name}, begun at ${clock(rehearsal.startedAtMs)}:`,
    ...rehearsal.segments.map((s) => segmentLine(s, schedule, clock)),
    ...rehearsal.segments.flatMap((s) => shortLine(s, kiln)),
    'Someone must be there:',
    ...rehearsal.hands.map((h) => handsLine(h, clock)),
    ...coolLines(rehearsal, kiln, clock),
    ...doubtLines(schedule, kiln),
  ];
}

type Clock = (atMs: number) => string;

function segmentLine(ran: RehearsedSegment, schedule: Schedule, clock: Clock): string {
  const planned = schedule.segments[ran.segment];
  const what = planned?.kind === 'hold' ? `hold ${ran.goalC}` : `to ${ran.goalC}`;
  const end = ran.isReached ? `${clock(ran.endsAt.atMs)}${plusMinus(ran.endsAt)}` : `rests at ${Math.round(ran.endC)}`;
  return `${ran.segment + 1}. ${clock(ran.startsAt.atMs)} to ${end}: ${what} °C`;
}

function shortLine(ran: RehearsedSegment, kiln: SaidOf): string[] {
  const said = kiln.heatIsAtLeast ? ', with the most heat that was ever seen of it' : '';
  if (!ran.isReached) {
    return [
      `Segment ${ran.segment + 1}: it does not get to ${ran.goalC}, but rests at about ${Math.round(ran.endC)}${said}.`,
    ];
  }
  const { short } = ran;
  if (short === null) return [];
  const way = ran.goalC >= ran.startC ? 'climb' : 'fall';
  return [
    `Segment ${ran.segment + 1}: from about ${Math.round(short.fromC)} it can't ${way} ${short.askedCPerH} °C/h; it sinks to ${Math.round(short.slowestCPerH)} and comes ${hours(short.lateS)} late${said}.`,
  ];
}

function handsLine(hands: RehearsedHands, clock: Clock): string {
  const until = hands.toMs - hands.fromMs >= 60_000 ? `–${clock(hands.toMs)}` : '';
  return `${clock(hands.fromMs)}${until}  ${hands.do} (${Math.round(hands.shownC)} °C; call at ${clock(hands.callAtMs)})`;
}

function coolLines({ cracksAt, unloadsAt, safeOpenC }: Rehearsal, kiln: SaidOf, clock: Clock): string[] {
  const said = (what: string, at: When | null): string[] =>
    at === null
      ? [`When you can ${what} is more than two days off.`]
      : [`You can ${what} about ${clock(at.atMs)}${plusMinus(at)}.`];
  return [
    ...said(`crack the ${kiln.closure} (${safeOpenC} °C)`, cracksAt),
    ...said('unload (50 °C), if it stays shut till then,', unloadsAt),
  ];
}

function doubtLines(schedule: Schedule, kiln: SaidOf): string[] {
  const isPropped = schedule.segments.some((s) => s.opening === 'propped');
  const late = kiln.lagIsUnknown
    ? ['How late this kiln answers is not known yet, so where to turn down is a guess: come early.']
    : [];
  const propped = isPropped
    ? [`Reckoned as if the ${kiln.closure} were shut throughout: propped, it climbs a little slower.`]
    : [];
  return [...late, ...propped];
}

function plusMinus({ earliestMs, latestMs }: When): string {
  const half = (latestMs - earliestMs) / 2000;
  return half < 90 ? '' : ` ± ${hours(half)}`;
}
