/**
 * The painter at the kiln: looks every few minutes, aims at the climb the plan wants, turns the valve in coarse marks
 * and too far, comes late or not at all if told so, and reacts when called. At an electric kiln only lid and switch are
 * left to do.
 */
import type { AlertKind, Phase } from '../daemon/core/events.ts';
import type { SeededRandom } from '../daemon/core/numbers/seeded-random.ts';
import { peakC, type Ramp, type Schedule, type Segment, targetC } from '../daemon/core/plan/schedule.ts';
import { type OperatorAct, operatorHand } from './operator-hand.ts';

export interface OperatorSpec {
  /** Between two looks on the way up, give or take a third. */
  readonly looksEveryS: number;
  /** Between two looks while standing at the valve: in a hold and near the top. */
  readonly standsEveryS: number;
  /** The finest turn of the valve. */
  readonly markStep: number;
  /** 1 turns as far as he believes to be right; above that he overcorrects. */
  readonly overcorrectRatio: number;
  /** His feel: what one mark more does to the climb in the end. */
  readonly climbPerMarkCPerH: number;
  /** His feel: the mark that keeps 660 °C. */
  readonly holdMark: number;
  /** He turns down so many °C below the top, since the kiln coasts. */
  readonly turnsDownBeforeC: number;
  readonly late?: LateHand | undefined;
  /** Goes on an errand in the middle of a climb. */
  readonly leaves?: LeavingHand | undefined;
  /** The pace he aims at, as a share of the plan's: a timid or a hasty hand. 1 where nothing is said. */
  readonly paceRatio?: number | undefined;
  /** Once he has propped the door he does not think of it again until called. */
  readonly forgetsDoor?: boolean | undefined;
  /** After the last hold the gas stays on until so many minutes have gone; null: until called. */
  readonly forgetsGas?: { readonly minutes: number | null } | undefined;
  /** Ends a hold so many minutes before its time. */
  readonly endsHoldEarlyMinutes?: number | undefined;
  /** From being called to standing at the kiln. */
  readonly walkS: number;
  readonly propRatio: number;
  readonly crackRatio: number;
}

/** Away near the top. */
export interface LateHand {
  /** Goes when so many °C are left. */
  readonly goesBeforeC: number;
  /** Comes back so long after the turn was due; null: only when called. */
  readonly minutes: number | null;
  /** Marks that he gives it before he goes, so that it gets on without him. */
  readonly opensBy: number;
}

/** Away on the way up. */
export interface LeavingHand {
  /** From this temperature on, or so many degrees below the plan's top, he leaves the valve alone. */
  readonly atC?: number | undefined;
  readonly belowTopC?: number | undefined;
  /** Marks that he gives it before he goes. */
  readonly opensBy: number;
  /** Comes back by himself after so long; where nothing is said, only when called. */
  readonly minutes?: number | undefined;
}

export const carefulOperator: OperatorSpec = {
  looksEveryS: 240,
  standsEveryS: 60,
  markStep: 0.25,
  overcorrectRatio: 1.2,
  climbPerMarkCPerH: 60,
  holdMark: 6,
  turnsDownBeforeC: 6,
  walkS: 60,
  propRatio: 0.015,
  crackRatio: 0.12,
};

export interface Operator {
  /**
   * Once a second: what he does now. `shownC` is what the instrument shows, null where it shows nothing; `programme` the
   * segment that an electric kiln's controller shows.
   */
  step(atMs: number, shownC: number | null, programme?: number): readonly OperatorAct[];
  told(atMs: number, alert: AlertKind, phase: Phase): void;
  /** Where he believes the firing to be: index into the segments, their length when the plan is over. */
  segment(): number;
  /** What he himself does wrong, in the order in which it begins. */
  slips(): readonly Slip[];
}

/** Something that the hand left undone or did badly, and which kind of alert that should bring. */
export interface Slip {
  readonly brings: AlertKind;
  readonly sinceMs: number;
  /** When he made it good; null while he has not. */
  readonly untilMs: number | null;
}

/** A hand that aims below or above these shares of the plan's pace does not fire by the plan. Ours. */
const TIMID = 0.8;
const HASTY = 1.5;
/** Gas off so late is no slip: the paint does not mind. Ours. */
const LATE_GAS_MINUTES = 3;
/** Airing before a relight, as installers teach it. Common practice, no source. */
const AIRING_S = 480;

export function operator(
  spec: OperatorSpec,
  heat: 'gas' | 'electric',
  schedule: Schedule,
  random: SeededRandom,
): Operator {
  const hand = operatorHand(heat, spec.markStep);
  const paceRatio = spec.paceRatio ?? 1;
  const leavesAtC =
    spec.leaves?.belowTopC === undefined ? (spec.leaves?.atC ?? 0) : peakC(schedule) - spec.leaves.belowTopC;
  let forgotGas = false;
  /** The door that he forgot: never thought of yet, left as it is, or seen to. */
  let forgottenDoor: 'not-yet' | 'left' | 'seen-to' = 'not-yet';
  let index = -1;
  let startC = 0;
  let startMs = 0;
  let nextLookMs = Number.NEGATIVE_INFINITY;
  let lookedMs = 0;
  let lookedC = 0;
  let atValve = false;
  let dueMs: number | null = null;
  let backMs = Number.NEGATIVE_INFINITY;
  let left = false;
  let wentAway = false;
  let nowMs = 0;
  const slips: { brings: AlertKind; sinceMs: number; untilMs: number | null }[] = [];

  const slipBegins = (brings: AlertKind): void => {
    slips.push({ brings, sinceMs: nowMs, untilMs: null });
  };
  const slipEnds = (brings: AlertKind): void => {
    for (const slip of slips) if (slip.brings === brings && slip.untilMs === null) slip.untilMs = nowMs;
  };

  const holdMarkAt = (celsius: number): number => (spec.holdMark * celsius) / 660;

  const needsHeat = (from: number): boolean =>
    schedule.segments
      .slice(from)
      .some((s) => s.kind === 'hold' || typeof s.rateCPerH === 'number' || s.rateCPerH === 'flat-out');

  const isClimb = (s: Segment | undefined, fromC: number): s is Ramp => s?.kind === 'ramp' && s.toC > fromC;

  function enter(next: number, shownC: number): void {
    index = next;
    startC = shownC;
    startMs = nowMs;
    lookedMs = nowMs;
    lookedC = shownC;
    atValve = false;
    const segment = schedule.segments[index];
    if (segment === undefined) return;
    if (segment.opening === 'propped') hand.setDoor(spec.propRatio, 'propped');
    else if (segment.opening === 'free' && !needsHeat(index)) hand.setDoor(spec.crackRatio, 'cracked');
    else if (spec.forgetsDoor === true && hand.doorRatio() > 0 && forgottenDoor === 'not-yet') {
      forgottenDoor = 'left';
      slipBegins('lid-open-hot');
    } else if (forgottenDoor !== 'left') hand.setDoor(0, 'closed');
    if (heat === 'electric') return;
    if (segment.kind === 'hold') return;
    if (segment.rateCPerH === 'let-fall') {
      if (needsHeat(index + 1)) hand.setValve(0.5);
      else if (spec.forgetsGas === undefined || forgotGas) hand.gasOff();
      else {
        forgotGas = true;
        const { minutes } = spec.forgetsGas;
        if (minutes === null || minutes > LATE_GAS_MINUTES) slipBegins('hold-long');
        if (minutes !== null) hand.later(minutes * 60, 'gas', 'off', { control: 'gas-off' });
      }
      return;
    }
    hand.lightUp();
    if (segment.rateCPerH === 'flat-out') hand.setValve(segment.toC > shownC ? 10 : 0.5);
    else {
      const sign = segment.toC > shownC ? 1 : -1;
      hand.setValve(holdMarkAt(shownC) + (sign * paceRatio * segment.rateCPerH) / spec.climbPerMarkCPerH);
    }
  }

  /** A turn of the valve for the difference between the wanted climb and the one seen since the last look. */
  function steer(shownC: number, wantedCPerH: number, strength: number): void {
    const sinceS = (nowMs - lookedMs) / 1000;
    if (sinceS < 20) return;
    const seenCPerH = ((shownC - lookedC) / sinceS) * 3600;
    const offCPerH = wantedCPerH - seenCPerH;
    const bearableCPerH = Math.max(12, 0.12 * Math.abs(wantedCPerH));
    if (Math.abs(offCPerH) > bearableCPerH) {
      // Nobody turns by more than a quarter of what burns: the cold kiln answers far more strongly than the hot one.
      const boldest = Math.max(spec.markStep, hand.mark() / 4);
      const turn = (strength * offCPerH) / spec.climbPerMarkCPerH;
      hand.setValve(hand.mark() + Math.max(-boldest, Math.min(boldest, turn)));
    }
  }

  function lookAtRamp(segment: Ramp, shownC: number): void {
    if (typeof segment.rateCPerH !== 'number') return;
    const sign = segment.toC > startC ? 1 : -1;
    const ranH = (nowMs - startMs) / 3_600_000;
    const paceCPerH = paceRatio * segment.rateCPerH;
    const plannedC = startC + sign * paceCPerH * ranH;
    // Catches up within about half an hour, but not at more than a third over the wanted pace.
    const catchUp = Math.max(-paceCPerH / 3, Math.min(paceCPerH / 3, (plannedC - shownC) * 2));
    steer(shownC, sign * paceCPerH + catchUp, 0.5 * spec.overcorrectRatio);
  }

  function lookAtHold(shownC: number): void {
    const offC = targetC(schedule, index) - shownC;
    steer(shownC, Math.max(-120, Math.min(120, offC * 15)), 0.35 * spec.overcorrectRatio);
  }

  /** True while he is not there to see or turn anything. */
  function isAway(segment: Ramp, shownC: number): boolean {
    const next = schedule.segments[index + 1];
    const topC = segment.toC;
    const isTop =
      isClimb(segment, startC) &&
      next?.kind === 'hold' &&
      topC >= Math.max(...schedule.segments.map((s) => (s.kind === 'ramp' ? s.toC : 0)));
    const goesNow = spec.leaves !== undefined && !left && isClimb(segment, startC) && shownC >= leavesAtC;
    if (spec.leaves && goesNow) {
      left = true;
      if (spec.leaves.minutes !== undefined) backMs = nowMs + spec.leaves.minutes * 60_000;
      hand.setValve(hand.mark() + spec.leaves.opensBy);
      return true;
    }
    if (left && nowMs < backMs) return true;
    if (left && backMs === Number.NEGATIVE_INFINITY) return true;
    if (!isTop) return false;
    if (dueMs === null && shownC >= topC - spec.turnsDownBeforeC) {
      dueMs = nowMs;
      if (spec.late) slipBegins('overshoot');
      if (spec.late && backMs === Number.NEGATIVE_INFINITY) {
        backMs = spec.late.minutes === null ? Number.POSITIVE_INFINITY : nowMs + spec.late.minutes * 60_000;
      }
    }
    if (spec.late === undefined) return false;
    if (dueMs !== null || backMs > nowMs) return nowMs < backMs;
    if (backMs > Number.NEGATIVE_INFINITY || shownC < topC - spec.late.goesBeforeC) return false;
    if (!wentAway) hand.setValve(hand.mark() + spec.late.opensBy);
    wentAway = true;
    return true;
  }

  function look(shownC: number): void {
    const segment = schedule.segments[index];
    if (segment === undefined) return;
    if (segment.kind === 'hold') {
      lookAtHold(shownC);
      return;
    }
    const next = schedule.segments[index + 1];
    if (heat === 'gas' && isClimb(segment, startC) && next?.kind === 'hold') {
      if (!atValve && shownC >= segment.toC - spec.turnsDownBeforeC) {
        atValve = true;
        const lateC = shownC - (segment.toC - spec.turnsDownBeforeC);
        hand.setValve(holdMarkAt(segment.toC) - 0.15 * lateC);
        return;
      }
      if (atValve) {
        steer(shownC, Math.max(-120, Math.min(120, (segment.toC - shownC) * 15)), 0.35 * spec.overcorrectRatio);
        return;
      }
    }
    lookAtRamp(segment, shownC);
  }

  /** Gas off at once, the damper open to air it; only then lit again, at the mark it had. */
  function airAndRelight(mark: number): void {
    hand.later(spec.walkS, 'gas', 'off', { control: 'gas-off' });
    hand.later(spec.walkS, 'damper', 'open', { control: 'damper', openRatio: 1 });
    hand.later(spec.walkS + AIRING_S, 'flame', 'lit', { control: 'light' });
    hand.later(spec.walkS + AIRING_S, 'valve', `mark ${mark}`, { control: 'valve', mark });
    hand.later(spec.walkS + AIRING_S, 'damper', 'a fifth open', { control: 'damper', openRatio: 0.2 });
  }

  function segmentIsOver(segment: Segment, shownC: number): boolean {
    if (segment.kind === 'hold') {
      const early = Math.min(spec.endsHoldEarlyMinutes ?? 0, segment.minutes);
      return nowMs - startMs >= (segment.minutes - early) * 60_000;
    }
    return segment.toC >= startC ? shownC >= segment.toC - 1 : shownC <= segment.toC + 0.5;
  }

  return {
    step(atMs, shownC, programme) {
      nowMs = atMs;
      const acts = hand.begin(atMs);
      if (dueMs !== null && nowMs >= backMs) slipEnds('overshoot');
      if (forgotGas && !hand.hasGas()) slipEnds('hold-long');
      if (hand.doorRatio() === 0) slipEnds('lid-open-hot');
      if (shownC === null) return acts;
      if (index < 0) {
        if (paceRatio < TIMID) slipBegins('running-late');
        if (paceRatio > HASTY) slipBegins('heating-too-fast');
        enter(0, shownC);
      }
      const segment = schedule.segments[index];
      if (segment === undefined) return acts;
      // A controller's own word counts while it has heat to give; how cold the kiln is he sees for himself.
      if (segment.kind === 'ramp' && isAway(segment, shownC)) return acts;
      if (programme !== undefined && needsHeat(index) ? programme > index : segmentIsOver(segment, shownC)) {
        const fromHold = segment.kind === 'hold';
        if (fromHold && (spec.endsHoldEarlyMinutes ?? 0) > 0.2 * segment.minutes) slipBegins('hold-short');
        const wasClimb = isClimb(segment, startC);
        if (wasClimb && schedule.segments[index + 1]?.kind === 'hold' && !atValve) look(shownC);
        enter(index + 1, shownC);
        nextLookMs = atMs + (fromHold ? spec.looksEveryS : spec.standsEveryS) * 1000;
        return acts;
      }
      const nearTop = heat === 'gas' && isClimb(segment, startC) && shownC >= segment.toC - spec.turnsDownBeforeC;
      if (atMs < nextLookMs && !(nearTop && !atValve)) return acts;
      look(shownC);
      lookedMs = atMs;
      lookedC = shownC;
      const stands = segment.kind === 'hold' || nearTop || atValve;
      const everyS = stands ? spec.standsEveryS : spec.looksEveryS;
      nextLookMs = atMs + everyS * 1000 * (stands ? 1 : 1 + (random.next() - 0.5) / 1.5);
      return acts;
    },
    told(atMs, alert, phase) {
      if (phase === 'over') return;
      nowMs = atMs;
      const thereMs = atMs + spec.walkS * 1000;
      switch (alert) {
        case 'overshoot':
          if (left || spec.late) backMs = backMs === Number.NEGATIVE_INFINITY ? thereMs : Math.min(backMs, thereMs);
          return;
        case 'stalled-ramp':
          if (left) backMs = thereMs;
          if (heat === 'gas') hand.later(spec.walkS, 'bottle', 'changed', { control: 'new-bottle' });
          return;
        case 'heat-lost':
          if (!hand.hasGas()) return;
          if (left) backMs = thereMs;
          airAndRelight(hand.mark());
          return;
        case 'lid-open-hot':
          forgottenDoor = 'seen-to';
          hand.later(spec.walkS, 'door', 'closed', { control: 'door', openRatio: 0 });
          return;
        case 'uncontrolled-heat':
        case 'hold-long':
          if (heat === 'electric') hand.later(spec.walkS, 'switch', 'off', { control: 'switch', on: false });
          else {
            hand.later(spec.walkS, 'gas', 'off', { control: 'gas-off' });
            // Where the knob turns and the flame stays, the bottle is shut.
            if (alert === 'uncontrolled-heat') hand.later(spec.walkS + 30, 'bottle', 'shut', { control: 'gas-off' });
          }
          return;
        case 'running-late':
        case 'heating-too-fast':
        case 'cooling-too-fast':
        case 'hold-short':
        case 'sensor-fault':
        case 'sensors-disagree':
        case 'silence':
        case 'clock-trouble':
        case 'record-trouble':
          return;
      }
    },
    segment: () => index,
    slips: () => slips,
  };
}
