/** The same figure for ever, while the kiln must have moved, or its noise at least. */
import { clamp, S_PER_MIN, secondsBetween } from '../../numbers/units.ts';
import {
  type Detector,
  type DetectorContext,
  degrees,
  isShown,
  type OtherSensor,
  type SensorFault,
  type Shown,
} from './detector.ts';

export interface FrozenState {
  /** The run of equal figures. */
  readonly run: Run | null;
  /** The last figure leapt out of the run: if the next says the same as the run again, it was a glitch. */
  readonly hasLeapt: boolean;
  /** The sensor has moved at all: before that, a kiln that is not yet lit stands still. */
  readonly hasMoved: boolean;
  readonly firstC: number | null;
  readonly lastCalmC: number | null;
  readonly habit: Habit;
  readonly fault: SensorFault | null;
}

interface Run {
  readonly celsius: number;
  readonly sinceMs: number;
  readonly atMs: number;
  readonly count: number;
  /** The others as it began. */
  readonly others: readonly OtherSensor[];
  /** How often in a row they have been far from there. */
  readonly movedCount: number;
  /** Since when the plan has gone up or down without a break within this run. */
  readonly movingSinceMs: number | null;
}

/** What this instrument's figures usually do, learned before the present run. */
interface Habit {
  readonly figureCount: number;
  /** Share of figures that are the same as the one before. */
  readonly equalRatio: number;
  /** The smallest difference seen between two figures: the last digit, °C; null while there was none. */
  readonly digitC: number | null;
  /** Scatter of one figure about the line through its neighbours, °C. */
  readonly noiseC: number;
  /** How fast the figures go, up or down, over some minutes. */
  readonly pacePerS: number;
  /** Share of changes that took back the one before, as noise does at the edge of a digit; and the last change. */
  readonly flickerRatio: number;
  readonly lastByC: number;
  /** The last figure of the run before the present one. */
  readonly last: Shown | null;
}

const NO_HABIT: Habit = {
  figureCount: 0,
  equalRatio: 0,
  digitC: null,
  noiseC: 0,
  pacePerS: 0,
  flickerRatio: 0,
  lastByC: 0,
  last: null,
};
/** Over some twenty figures: noise and equality; over some minutes: the pace. */
const LEARN_RATIO = 0.05;
const PACE_S = 3 * S_PER_MIN;
const LEARNED_COUNT = 20;

const LEAST_COUNT = 5;
/** Once in 10⁸ runs: a hundred firings make some 10⁷ figures. */
const ONCE_IN = 1e8;
/** Where the plan has let it fall for minutes and it stands, only a forgotten hold is as likely, and that flickers on. */
const OVERDUE_ONCE_IN = 1e4;
/** Without any digit that repeats: a gateway may still send a figure twice. */
const LEAST_CHANCE = 0.02;
/** Where figures repeat this often, counting them says nothing. */
const MOST_CHANCE = 0.93;
const FREE_CHANCE = 0.5;
const FREE_DIGITS = 2;
/** Longer than between the sparsest readings. */
const PAUSE_S = 5 * S_PER_MIN;
/** A gateway that waits for its instrument says the last figure again; from memory. In a hold nothing is urgent. */
const MOVING_S = 45;
const HOLD_S = 5 * S_PER_MIN;
/** Coarse digits: so many of them should have gone by. */
const DIGITS = 5;
const COARSE_C = 0.2;
/** Figures without any scatter are somebody's arithmetic; they may well stand still. */
const LEAST_NOISE_RATIO = 0.15;
const LEAST_FLICKER_RATIO = 0.05;
/**
 * What hardly ever took a change back may rest within a digit in its hold: the scatter that it showed was its climb's.
 * Source: recorded laboratory furnaces, thinned to 20 s and rounded to a tenth or a quarter, say the same for an hour.
 */
const RESTLESS_RATIO = 0.1;
/** Of tenths, what takes back as many of its changes flickers by noise as large as they are: no rest keeps that within one. Ours. */
const FLICKERING_RATIO = 0.3;
/**
 * The crest of a hand's wave may stand within a degree for three minutes, and within a smaller digit for less: over its
 * top a wave falls with the square of the time. Ours; of 830 firings of five kinds of simulated kilns no sound climb stood
 * for more than 140 s within a degree, so reckoned.
 */
const CREST_S = 4 * S_PER_MIN;
/**
 * A climb that turns shows ever smaller steps on its way to the crest: where so many digits and its noise should have gone by,
 * what stands within one has not turned, and by how often it repeated as it climbed it climbs no more. Over the top of a
 * relay's stroke finer digits than a quarter stand as long as quarters do, and a gateway says its last figure again for
 * seconds. Ours: in 750 simulated firings the longest stand of a sound couple in its climb, by the hand, went by eleven.
 */
const GONE_DIGITS = 13;
const GONE_LEAST_C = 0.25;
const GONE_NOISES = 4;
const GONE_ONCE_IN = 1e5;
const GONE_S = 20;
/** Where a door moved, or the heat has just come on, one couple rests for a while as another turns. */
const OTHERS_S = 3 * S_PER_MIN;
const OTHERS_COUNT = 5;
/** At the beginning a thick sheath may rest as a bead climbs already. */
const LONG_COUNT = 60;
const OTHERS_MOVED_C = 6;
/** In a hold one couple may stand still while others still follow, and where it cools one is nearer to the door. */
const OTHERS_RESTLESS_C = 20;
/**
 * What went at this couple's own pace before and goes on so has not turned: then it rests as little as they do. So many
 * digits and so many times its noise must have gone by, and more than the thickest sheath has still to come when a kiln
 * comes to rest; paces of two places differ by as much. Ours.
 */
const BESIDE_DIGITS = 3;
const BESIDE_NOISES = 4;
const LAG_S = 72;
const LIKE_RATIO = 1.6;
const BESIDE_ONCE_IN = 1e3;
/** Below this, a kiln that is let fall may stand still for long. */
const COOLING_FROM_C = 200;
/** Below this a climb may only just have begun. */
const CLIMBING_FROM_C = 100;
const MOVED_C = 5;
/** A disturbed line says one wrong figure; a kiln does not go so far and back between three. From memory. */
const LEAPT_C = 10;

export const frozen: Detector<FrozenState> = {
  begin: { run: null, hasLeapt: false, hasMoved: false, firstC: null, lastCalmC: null, habit: NO_HABIT, fault: null },
  judge(state, sample, context) {
    if (!isShown(sample)) return { state, fault: state.fault };
    const { run: before } = state;
    // Said twice at one instant it is the same figure once.
    if (before !== null && before.celsius === sample.celsius && sample.atMs <= before.atMs) {
      return { state, fault: state.fault };
    }
    if (before !== null && !state.hasLeapt && leapsFrom(before, sample)) {
      return { state: { ...state, hasLeapt: true }, fault: state.fault };
    }
    const firstC = firstOf(state, context);
    const hasMoved = state.hasMoved || Math.abs(context.calmC - firstC) >= Math.max(MOVED_C, 5 * context.noiseC);
    const lastCalmC = context.calmC;
    const isMoving = context.heading === 'up' || context.heading === 'down';
    // What it said in a pause, or while a clock leapt, nobody knows.
    const hasPaused = state.fault === null && before !== null && secondsBetween(before.atMs, sample.atMs) > PAUSE_S;
    if (before === null || hasPaused || before.celsius !== sample.celsius) {
      const movingSinceMs = isMoving ? sample.atMs : null;
      const run: Run = {
        celsius: sample.celsius,
        sinceMs: sample.atMs,
        count: 1,
        atMs: sample.atMs,
        others: context.others,
        movedCount: 0,
        movingSinceMs,
      };
      const habit = hasPaused ? state.habit : learnChange(learnRun(state.habit, before), before, sample);
      return { state: { run, hasLeapt: false, hasMoved, firstC, lastCalmC, habit, fault: null }, fault: null };
    }
    const movedC = context.isOpen ? 0 : mostMoved(before.others, context.others);
    const run: Run = {
      celsius: before.celsius,
      sinceMs: before.sinceMs,
      count: before.count + 1,
      atMs: sample.atMs,
      others: before.others,
      movedCount: movedC > movedLimitC(state.habit, context) ? before.movedCount + 1 : 0,
      movingSinceMs: isMoving ? (before.movingSinceMs ?? sample.atMs) : null,
    };
    const why = state.fault === null ? whyFrozen(run, state.habit, hasMoved, context) : state.fault.sentence;
    const fault: SensorFault | null = why === null ? null : { cause: 'frozen', sinceMs: run.sinceMs, sentence: why };
    return { state: { run, hasLeapt: false, hasMoved, firstC, lastCalmC, habit: state.habit, fault }, fault };
  },
};

/** Out of a run of equal figures, by more than a kiln moves at once. */
function leapsFrom(run: Run, sample: Shown): boolean {
  return run.count >= LEAST_COUNT && Math.abs(sample.celsius - run.celsius) >= LEAPT_C;
}

/** A leap is no movement of the kiln: the first figure is moved with it. */
function firstOf({ firstC, lastCalmC }: FrozenState, { calmC }: DetectorContext): number {
  if (firstC === null || lastCalmC === null) return calmC;
  return Math.abs(calmC - lastCalmC) > MOVED_C ? firstC + calmC - lastCalmC : firstC;
}

/** All of a run's figures but its first were equal to the one before, and scattered not at all. */
function learnRun(habit: Habit, run: Run | null): Habit {
  if (run === null || run.count < 2) return habit;
  const kept = (1 - LEARN_RATIO) ** (run.count - 1);
  return {
    ...habit,
    equalRatio: 1 - (1 - habit.equalRatio) * kept,
    noiseC: habit.noiseC * kept,
    figureCount: habit.figureCount + run.count - 1,
  };
}

/** A figure that differs from the run before it. */
function learnChange(habit: Habit, run: Run | null, sample: Shown): Habit {
  const figureCount = habit.figureCount + 1;
  if (run === null) return { ...habit, figureCount };
  const betweenS = secondsBetween(run.atMs, sample.atMs);
  const byC = sample.celsius - run.celsius;
  if (betweenS <= 0) return { ...habit, figureCount };
  const everyMs = run.count < 2 ? null : (run.atMs - run.sinceMs) / (run.count - 1);
  const before = everyMs === null ? habit.last : { atMs: run.atMs - everyMs, celsius: run.celsius };
  const offC = before === null ? habit.noiseC : scatterC(before, run, sample, habit.noiseC);
  const stoodS = secondsBetween(run.sinceMs, sample.atMs);
  return {
    figureCount,
    equalRatio: habit.equalRatio * (1 - LEARN_RATIO),
    digitC: Math.min(habit.digitC ?? Number.POSITIVE_INFINITY, Math.abs(byC)),
    noiseC: habit.noiseC + LEARN_RATIO * (offC - habit.noiseC),
    pacePerS: habit.pacePerS + clamp(stoodS / PACE_S, 0, 1) * (byC / stoodS - habit.pacePerS),
    flickerRatio: habit.flickerRatio + LEARN_RATIO * ((byC * habit.lastByC < 0 ? 1 : 0) - habit.flickerRatio),
    lastByC: byC,
    last: { atMs: run.atMs, celsius: run.celsius },
  };
}

/** How far the middle one of three lies off the line through the others; mean size over standard deviation, √(2/π). */
function scatterC(a: Shown, b: Shown, c: Shown, noiseC: number): number {
  if (c.atMs <= a.atMs) return noiseC;
  const share = secondsBetween(a.atMs, b.atMs) / secondsBetween(a.atMs, c.atMs);
  const offC = Math.abs(b.celsius - a.celsius - share * (c.celsius - a.celsius));
  const spread = Math.sqrt(1 + share * share + (1 - share) * (1 - share));
  return Math.min(offC / spread / 0.8, 3 * noiseC + 0.5);
}

function whyFrozen(run: Run, habit: Habit, hasMoved: boolean, context: DetectorContext): string | null {
  if (run.count < LEAST_COUNT) return null;
  const stoodS = secondsBetween(run.sinceMs, run.atMs);
  const stands = `${context.sensor} has said ${degrees(run.celsius)} for ${minutes(stoodS)}`;
  const haveMoved = hasMoved || run.movedCount >= LONG_COUNT;
  if (haveMoved && run.movedCount >= OTHERS_COUNT && stoodS >= OTHERS_S)
    return `${stands} while the others went on: it is frozen.`;
  if (!hasMoved || habit.figureCount < LEARNED_COUNT) return null;
  const movingS = run.movingSinceMs === null ? 0 : secondsBetween(run.movingSinceMs, run.atMs);
  const isHeated = context.heading === 'up' && context.heat === 'on' && run.celsius > CLIMBING_FROM_C;
  const isCooling = context.heading === 'down' && context.heat === 'off' && run.celsius > COOLING_FROM_C;
  const mustMove = isHeated || isCooling;
  if (mustMove && !context.isOpen && isLeftBehind(run, habit, context.others)) {
    return `${stands} while the others go on as it came itself: it is frozen.`;
  }
  if (isHeated && !context.isOpen && context.others.length === 0 && isReal(habit) && hasGoneBy(run, habit)) {
    return `${stands}, far longer than a climb at its pace can: it is frozen.`;
  }
  const chance = chanceOfEqual(habit);
  const isUnlikely = (onceIn: number): boolean =>
    chance <= MOST_CHANCE && run.count * Math.log(chance) < -Math.log(onceIn);
  const pacePerS = Math.abs(habit.pacePerS);
  // Within one coarse digit a kiln may rest for long: then it must have been on the move as well.
  const isFree =
    chance <= FREE_CHANCE ||
    ((habit.digitC ?? 1) < COARSE_C && habit.flickerRatio >= FLICKERING_RATIO) ||
    // What it stood in a hold before says nothing of the climb that follows.
    (mustMove && pacePerS * movingS >= FREE_DIGITS * (habit.digitC ?? 1));
  const isOverdue = context.heading === 'down' && run.celsius > COOLING_FROM_C && stoodS >= HOLD_S;
  if (
    (isFree &&
      isUnlikely(ONCE_IN) &&
      stoodS >= (mustMove ? MOVING_S : HOLD_S) &&
      (mustMove || habit.flickerRatio >= RESTLESS_RATIO)) ||
    (isOverdue && isUnlikely(OVERDUE_ONCE_IN))
  ) {
    return `${stands} to the last digit, and even a steady kiln flickers: it is frozen.`;
  }
  const digitC = habit.digitC ?? 1;
  // What went the way of the plan and stops within a digit; a kiln that rests has slowed down before.
  const wentOn = isHeated ? habit.pacePerS > 0 : habit.pacePerS < 0;
  const isMissed = wentOn && pacePerS * movingS >= DIGITS * digitC;
  const isCoarse = digitC >= COARSE_C && isReal(habit);
  if (isCoarse && mustMove && isMissed && movingS >= CREST_S * Math.sqrt(Math.min(digitC, 1))) {
    return `${stands} though the kiln must move: it is frozen.`;
  }
  return null;
}

/** All the others go on at about the pace at which it went itself until this run. */
function isLeftBehind(run: Run, habit: Habit, others: readonly OtherSensor[]): boolean {
  const { equalRatio, pacePerS } = habit;
  if (run.count * Math.log(Math.max(equalRatio, LEAST_CHANCE)) > -Math.log(BESIDE_ONCE_IN)) return false;
  const wentC = Math.abs(pacePerS) * secondsBetween(run.sinceMs, run.atMs);
  const leastC = Math.max(
    BESIDE_DIGITS * (habit.digitC ?? 1) + BESIDE_NOISES * habit.noiseC,
    LAG_S * Math.abs(pacePerS),
    wentC / LIKE_RATIO,
  );
  const moves = others.flatMap(({ name, celsius }) => {
    const then = run.others.find((o) => o.name === name);
    return then === undefined ? [] : [(celsius - then.celsius) * Math.sign(pacePerS)];
  });
  return moves.length > 0 && moves.every((byC) => byC >= leastC && byC <= LIKE_RATIO * wentC);
}

function isReal({ noiseC, digitC, flickerRatio }: Habit): boolean {
  return noiseC >= LEAST_NOISE_RATIO * (digitC ?? 1) || flickerRatio >= LEAST_FLICKER_RATIO;
}

/** Alone, where none beside it says more: what went up at this pace would be far from here by now, and no turn stands for so long. */
function hasGoneBy({ count, atMs, movingSinceMs }: Run, habit: Habit): boolean {
  const { equalRatio, pacePerS, digitC, noiseC, flickerRatio, lastByC } = habit;
  const movingS = movingSinceMs === null ? 0 : secondsBetween(movingSinceMs, atMs);
  if (movingS < GONE_S) return false;
  // What came down to where it stands is in a trough of its way, unless its figures flicker anyway.
  if (lastByC < 0 && flickerRatio < FLICKERING_RATIO) return false;
  const climbsOn = (count - 1) * Math.log(Math.max(equalRatio, LEAST_CHANCE)) > -Math.log(GONE_ONCE_IN);
  const digitsC = GONE_DIGITS * Math.max(digitC ?? 1, GONE_LEAST_C);
  return !climbsOn && pacePerS * movingS >= digitsC + GONE_NOISES * noiseC;
}

/** The most that the chance of an equal figure can be in a kiln that stands still: the noise stays within half a digit. */
function chanceOfEqual({ equalRatio, digitC, noiseC }: Habit): number {
  const halfDigits = noiseC > 0 && digitC !== null ? digitC / (2 * 0.8 * noiseC) : Number.POSITIVE_INFINITY;
  return clamp(Math.max(equalRatio, withinSigmas(halfDigits)), LEAST_CHANCE, 1);
}

/** Share of a normal distribution within so many standard deviations; a plain fit, good to 0.01. From memory. */
function withinSigmas(sigmas: number): number {
  return Math.sqrt(1 - Math.exp((-2 * sigmas * sigmas) / Math.PI));
}

function movedLimitC({ digitC }: Habit, { heading }: DetectorContext): number {
  return Math.max(
    heading === 'level' || heading === 'down' ? OTHERS_RESTLESS_C : OTHERS_MOVED_C,
    4 * Math.min(digitC ?? 1, 1),
  );
}

/** By how much most of them have moved, at least; of two, both: one may have its own trouble. */
function mostMoved(before: readonly OtherSensor[], now: readonly OtherSensor[]): number {
  if (now.length === 0) return 0;
  const moves = now.map(({ name, celsius }) => {
    const then = before.find((o) => o.name === name);
    return then === undefined ? 0 : Math.abs(celsius - then.celsius);
  });
  moves.sort((a, b) => a - b);
  return moves[(moves.length - 1) >> 1] ?? 0;
}

function minutes(durationS: number): string {
  const whole = Math.round(durationS / S_PER_MIN);
  return whole <= 1 ? 'a minute' : `${whole} minutes`;
}
