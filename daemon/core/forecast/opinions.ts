/**
 * Many plain ways to foresee, asked at every look. None is right always; `trust.ts` finds which to believe now.
 *
 *   as it is      nothing changes
 *   lines         the pace of one window, dying away in a time of its own (Newton's law of cooling)
 *   two paces     a quick pace that dies soon upon a slow one that lasts
 *   turning       a quick pace that goes on turning as it lately did, as behind a slow couple, and dies
 *   middle        back to the middle of where it has lately been
 *   plan          the plan ahead, some time late, with a deviation that is regained
 *   own pace      to the plan's next corner at the kiln's own pace, then on with the plan
 *   followers     a kiln steered after its plan, within what it can do; see `followers.ts`
 *
 * The last three know the plan: they say nothing of where the kiln goes if nobody turns it.
 */
import type { TimedC } from '../numbers/line-fit.ts';
import { FOLLOWER_COUNT, foretellFollowers } from './followers.ts';
import { type Line, WINDOW_COUNT, windowS } from './lines.ts';
import { JUDGED, LOOKS_S, lookS } from './looks.ts';
import { type Ability, fallenC, type PlanPath, pathReader } from './plan-path.ts';

/** What is known as the look is taken. */
export interface Sight {
  readonly now: TimedC;
  /** Lines of `WINDOW_COUNT` windows, the shortest first. */
  readonly lines: readonly Line[];
  /** How far the kiln has lately moved, for each judged look, °C. */
  readonly rangesC: readonly number[];
  /** The middle of that. */
  readonly middlesC: readonly number[];
  readonly ability: Ability;
  /** null where there is no plan. */
  readonly plan: { readonly ahead: PlanPath; readonly own: PlanPath; readonly past: readonly TimedC[] } | null;
}

/** A pace dies away in so many seconds: from a lamp's to a kiln's that goes on as it is. Ours. */
const DYING_S = [24, 80, 250, 800, 20_000] as const;
/** From this window on a pace lasts longer than the two shortest of them. */
const LONG_WINDOW = 4;
const LONG_DYING = 2;
/** Window and dying time of each line, by their places. */
const LINES = Array.from({ length: WINDOW_COUNT }, (_, window) =>
  DYING_S.flatMap((dyingS, d) => (d >= shortestDying(window) ? [{ window, dyingS }] : [])),
).flat();
/** Two windows by their place, and in what times their paces die. */
const TWO_WINDOWS = [
  [0, 2],
  [1, 3],
  [2, 4],
] as const;
const QUICK_S = [24, 144] as const;
const SLOW_S = [648, 20_000] as const;
/** A pace turns on by as much again as two windows differ, in so many seconds, and as long as three times that at most. */
const TURNING = [
  { windows: [0, 1], turnS: 10 },
  { windows: [1, 2], turnS: 20 },
] as const;
const TURNING_DIES_S = 80;
const TURNED_AFTER = 3;
/** Of the distance to the middle so much is kept. */
const KEPT_OF_MIDDLE = [Math.exp(-1), Math.exp(-1 / 3)] as const;
/** The window, counted from the shortest, that tells where the kiln is. */
const PRESENT_WINDOW = 1;
/** The kiln shows the plan so many seconds late, and regains a deviation in so many. */
const LATE_S = [0, 12, 60, 240] as const;
const REGAIN_S = [50, 500, 5000] as const;
const OWN_PACE_WINDOWS = [1, 3] as const;

const LINES_FROM = 1;
const TWO_FROM = LINES_FROM + LINES.length;
const TURNING_FROM = TWO_FROM + TWO_WINDOWS.length * QUICK_S.length * SLOW_S.length;
const MIDDLE_FROM = TURNING_FROM + TURNING.length;
const PLAN_FROM = MIDDLE_FROM + KEPT_OF_MIDDLE.length;
const OWN_FROM = PLAN_FROM + LATE_S.length * REGAIN_S.length;
const FOLLOWERS_FROM = OWN_FROM + 1 + OWN_PACE_WINDOWS.length;
export const OPINION_COUNT = FOLLOWERS_FROM + FOLLOWER_COUNT;
/** From here on an opinion knows the plan. */
export const KNOWS_PLAN_FROM = PLAN_FROM;

/** A pace is foreseen to last so long at least, and to take the kiln no further than this share of its latest way. */
const SURELY_S = 30;
const RANGE_RATIO = 1;
/** The plan cannot make a kiln climb so many times as fast as it ever did, or fall so much faster than by itself. */
const CLIMB_RATIO = 2.6;
const FALL_RATIO = 1.5;
const FOLLOWER_RATIO = 1.3;
const FREE_C = 0.5;
const STANDS_C = 0.5;

function shortestDying(window: number): number {
  return window < LONG_WINDOW ? 0 : LONG_DYING;
}

const reachS = (aheadS: number, dyingS: number): number => dyingS * (1 - Math.exp(-aheadS / dyingS));
const LINE_REACH_S = LOOKS_S.map((aheadS) => DYING_S.map((dyingS) => reachS(aheadS, dyingS)));
const QUICK_REACH_S = LOOKS_S.map((aheadS) => QUICK_S.map((dyingS) => reachS(aheadS, dyingS)));
const SLOW_REACH_S = LOOKS_S.map((aheadS) => SLOW_S.map((dyingS) => reachS(aheadS, dyingS)));
const TURNING_REACH_S = LOOKS_S.map((aheadS) => TURNING.map(({ turnS }) => aheadS - reachS(aheadS, turnS)));
const DIES_REACH_S = LOOKS_S.map((aheadS) => reachS(aheadS, TURNING_DIES_S));
const KEPT_RATIO = LOOKS_S.map((aheadS) => REGAIN_S.map((regainS) => Math.exp(-aheadS / regainS)));
/** The judged look whose range counts for each look. */
const RANGE_OF_LOOK = LOOKS_S.map((_, look) => {
  const place = JUDGED.findIndex((judged) => judged >= look);
  return place < 0 ? JUDGED.length - 1 : place;
});

/** Copied for each asking: bare doubles from the beginning, and no holes; see `EMPTY` in trust.ts. */
const NOTHING_SAID: readonly number[] = Array.from({ length: LOOKS_S.length * OPINION_COUNT }, () => Number.NaN);

/** What each opinion foresees at each look, °C; NaN where it has none. Look by look, opinion by opinion. */
export function askAll(sight: Sight): number[] {
  const said = NOTHING_SAID.slice();
  for (let look = 0; look < LOOKS_S.length; look++) {
    const base = look * OPINION_COUNT;
    said[base] = sight.now.celsius;
    askLines(sight, look, base, said);
    askTurning(sight, look, base, said);
    askMiddle(sight, look, base, said);
  }
  if (sight.plan !== null) askPlan(sight, sight.plan, said);
  return said;
}

/** What a pace like this may be expected to last, s, by how far it has brought the kiln lately. */
function lastingS(slopePerS: number, rangeC: number): number {
  return SURELY_S + (RANGE_RATIO * rangeC) / (Math.abs(slopePerS) + 1e-9);
}

/** A reach held back to what may be expected to last, smoothly. */
function heldS(reach: number, limitS: number): number {
  if (reach < 0.3 * limitS) return reach;
  const share = (reach / limitS) ** 2;
  return reach / Math.sqrt(Math.sqrt(1 + share * share));
}

function askLines({ lines, rangesC }: Sight, look: number, base: number, said: number[]): void {
  const rangeC = rangesC[RANGE_OF_LOOK[look] ?? 0] ?? 0;
  const reaches = LINE_REACH_S[look] ?? [];
  const quicks = QUICK_REACH_S[look] ?? [];
  const slows = SLOW_REACH_S[look] ?? [];
  let at = base + LINES_FROM;
  for (let k = 0; k < WINDOW_COUNT; k++) {
    const line = lines[k];
    if (line === undefined) return;
    const { levelC, slopePerS } = line;
    const limitS = lastingS(slopePerS, rangeC);
    for (let d = shortestDying(k); d < reaches.length; d++)
      said[at++] = levelC + slopePerS * heldS(reaches[d] ?? 0, limitS);
  }
  for (const [a, b] of TWO_WINDOWS) {
    const quick = lines[a];
    const slow = lines[b];
    if (quick === undefined || slow === undefined) return;
    const morePerS = quick.slopePerS - slow.slopePerS;
    const moreLimitS = lastingS(morePerS, rangeC);
    const slowLimitS = lastingS(slow.slopePerS, rangeC);
    for (let q = 0; q < quicks.length; q++) {
      const quickC = quick.levelC + morePerS * heldS(quicks[q] ?? 0, moreLimitS);
      for (let s = 0; s < slows.length; s++) {
        said[at++] = quickC + slow.slopePerS * heldS(slows[s] ?? 0, slowLimitS);
      }
    }
  }
}

function askTurning({ lines, rangesC }: Sight, look: number, base: number, said: number[]): void {
  const rangeC = rangesC[RANGE_OF_LOOK[look] ?? 0] ?? 0;
  for (let i = 0; i < TURNING.length; i++) {
    const turning = TURNING[i];
    if (turning === undefined) return;
    const quick = lines[turning.windows[0]];
    const slow = lines[turning.windows[1]];
    if (quick === undefined || slow === undefined) return;
    const morePerS = quick.slopePerS - slow.slopePerS;
    const reach = heldS(TURNING_REACH_S[look]?.[i] ?? 0, lastingS(morePerS, rangeC));
    said[base + TURNING_FROM + i] =
      quick.levelC +
      quick.slopePerS * heldS(DIES_REACH_S[look] ?? 0, lastingS(quick.slopePerS, rangeC)) +
      morePerS * Math.min(reach, TURNED_AFTER * turning.turnS);
  }
}

function askMiddle({ lines, middlesC }: Sight, look: number, base: number, said: number[]): void {
  const presentC = lines[PRESENT_WINDOW]?.levelC;
  const middleC = middlesC[RANGE_OF_LOOK[look] ?? 0];
  if (presentC === undefined || middleC === undefined) return;
  for (let i = 0; i < KEPT_OF_MIDDLE.length; i++) {
    said[base + MIDDLE_FROM + i] = middleC + (presentC - middleC) * (KEPT_OF_MIDDLE[i] ?? 0);
  }
}

function askPlan(sight: Sight, plan: NonNullable<Sight['plan']>, said: number[]): void {
  const { now, lines, ability } = sight;
  const middle = lines[2] ?? { levelC: now.celsius, slopePerS: 0 };
  const climbPerS = Math.max(ability.climbPerS, middle.slopePerS, 1e-5);
  const limits = LOOKS_S.map((aheadS) => ({
    highC: now.celsius + Math.max(climbPerS * CLIMB_RATIO * aheadS, FREE_C),
    lowC:
      Math.min(fallenC(now.celsius, ability.fallS / FALL_RATIO, aheadS), now.celsius + middle.slopePerS * aheadS) -
      FREE_C,
  }));
  const within = (celsius: number, look: number): number => {
    const limit = limits[look];
    if (limit === undefined) return celsius;
    return celsius > limit.highC ? limit.highC : Math.max(celsius, limit.lowC);
  };
  askPlanItself(sight, plan, within, said);
  askOwnPace(sight, plan, within, said);
  const read = pathReader(plan.ahead, ability.fallS);
  foretellFollowers(
    {
      fromC: middle.levelC,
      slopePerS: middle.slopePerS,
      climbPerS: climbPerS * FOLLOWER_RATIO,
      fallS: ability.fallS / FOLLOWER_RATIO,
    },
    (aheadS) => read(now.atMs + aheadS * 1000),
    (follower, look, celsius) => {
      said[look * OPINION_COUNT + FOLLOWERS_FROM + follower] = celsius;
    },
  );
}

type Within = (celsius: number, look: number) => number;

function askPlanItself(
  { now, ability }: Sight,
  { ahead, past }: NonNullable<Sight['plan']>,
  within: Within,
  said: number[],
): void {
  const withPast = [...past, ...ahead.filter((corner) => corner.atMs > now.atMs)];
  for (let l = 0; l < LATE_S.length; l++) {
    const lateMs = (LATE_S[l] ?? 0) * 1000;
    const path = lateMs === 0 ? ahead : withPast;
    const read = pathReader(path, ability.fallS);
    const offC = now.celsius - read(now.atMs - lateMs);
    for (let look = 0; look < LOOKS_S.length; look++) {
      const plannedC = read(now.atMs + lookS(look) * 1000 - lateMs);
      const at = look * OPINION_COUNT + PLAN_FROM + l * REGAIN_S.length;
      for (let r = 0; r < REGAIN_S.length; r++) {
        said[at + r] = within(plannedC + offC * (KEPT_RATIO[look]?.[r] ?? 0), look);
      }
    }
  }
}

function askOwnPace(
  { now, lines, ability }: Sight,
  { own }: NonNullable<Sight['plan']>,
  within: Within,
  said: number[],
): void {
  const read = pathReader(own, ability.fallS);
  for (let look = 0; look < LOOKS_S.length; look++) {
    said[look * OPINION_COUNT + OWN_FROM] = within(read(now.atMs + lookS(look) * 1000), look);
  }
  const corner = own[1];
  if (corner === undefined) return;
  for (let w = 0; w < OWN_PACE_WINDOWS.length; w++) {
    const line = lines[OWN_PACE_WINDOWS[w] ?? 0];
    if (line === undefined) continue;
    const leftC = corner.celsius - now.celsius;
    if (Math.abs(leftC) < STANDS_C || leftC * line.slopePerS <= 0) continue;
    const thereS = leftC / line.slopePerS;
    const after = pathReader(own, ability.fallS);
    for (let look = 0; look < LOOKS_S.length; look++) {
      const aheadS = lookS(look);
      said[look * OPINION_COUNT + OWN_FROM + 1 + w] =
        aheadS <= thereS ? line.levelC + line.slopePerS * aheadS : after(corner.atMs + (aheadS - thereS) * 1000);
    }
  }
}

/**
 * How far each opinion is believed at each judged look before it has proved anything: weights, only their ratios count.
 * @param intervalS the usual spacing of the readings, that the windows are chosen for
 */
export function firstWeights(intervalS: number): readonly (readonly number[])[] {
  return JUDGED.map((look) => Array.from({ length: OPINION_COUNT }, (_, i) => firstWeight(i, lookS(look), intervalS)));
}

function firstWeight(opinion: number, aheadS: number, intervalS: number): number {
  if (opinion === 0) return 0.3;
  if (opinion < TWO_FROM) {
    const { window, dyingS } = LINES[opinion - LINES_FROM] ?? { window: 0, dyingS: 1 };
    // Best where the window is a twelfth of the way ahead and the pace dies in one and a half of it.
    const offWindow = (Math.log(windowS(window, intervalS) / aheadS) + 2.5) / 1.2;
    const offDying = Math.log(dyingS / (0.7 * aheadS + 100));
    return 0.7 * Math.exp(-0.5 * (offWindow * offWindow + offDying * offDying));
  }
  if (opinion < TURNING_FROM) return 0.25;
  if (opinion < MIDDLE_FROM) return 1.5;
  if (opinion < PLAN_FROM) return 0.3;
  if (opinion < OWN_FROM) return 0.6;
  if (opinion === OWN_FROM) return 2.5;
  if (opinion < FOLLOWERS_FROM) return 1.25;
  return 0.4;
}
