/**
 * Two couples of one kiln whose distance leaps: for some minutes they were as far apart, and from one minute to the next, and
 * from then on, they are further apart or nearer. What the kiln does comes to both, if to one of them through a thicker
 * sheath: then their distance bends. A relay may swing both as it likes, and a door be propped: the leap is plain between
 * them where it is lost in each one's own figures.
 */
import { S_PER_MIN, secondsBetween } from '../numbers/units.ts';
import type { Apart } from './coming-apart.ts';
import { apartC, type Of, otherOf, type PairMinute, rulingOf } from './parting.ts';

export interface LeaptApart extends Apart {
  readonly left: 'ruling' | 'other';
}

/** Minutes on either side; the one in which it leapt is between them. */
const SIDE = 5;
/** Sparse readings make sparse means. */
const WITHIN_S = (2 * SIDE + 4) * S_PER_MIN;
/**
 * So far they leap, beyond what they stray on either side. Of 620 pairs of couples of simulated kilns that were heated, with
 * the door shut or propped, only those did that of which one leapt or slid; and a bead beside a thick sheath as a flame
 * went out. Ours.
 */
const LEAPS_C = 15;
const STRAYS_RATIO = 6;
/** The one that stays goes on as it went but for this share of the leap. */
const STAYS_RATIO = 0.4;
/** A thick sheath shows this much later what a bead shows: as the flame is turned they part by so much of its change of pace. From memory. */
const BEHIND_S = 100;
/** A cold kiln is uneven. */
const FROM_C = 200;

/** Whether they have leapt apart, some minutes before the last of `minutes`. */
export function findLeap(minutes: readonly PairMinute[]): LeaptApart | null {
  if (minutes[minutes.length - 1]?.isHeated !== true) return null;
  const since = minutes.slice(-SIDE);
  const before = minutes.slice(-2 * SIDE - 1, -SIDE - 1);
  const [start] = before;
  const from = before[SIDE - 1];
  const to = since[0];
  const last = since[SIDE - 1];
  if (start === undefined || from === undefined || to === undefined || last === undefined) return null;
  const beforeC = middleC(before);
  const byC = middleC(since) - beforeC;
  if (Math.abs(byC) < LEAPS_C) return null;
  if (Math.abs(byC) < STRAYS_RATIO * Math.max(straysC(before, beforeC), straysC(since, beforeC + byC))) return null;
  if (start.rulingC < FROM_C || secondsBetween(start.atMs, last.atMs) > WITHIN_S) return null;
  if (!minutes.slice(-2 * SIDE - 1).every((m) => m.isHeated)) return null;
  const turnsPerS = (of: Of): number => Math.abs(paceOf(of, to, last) - paceOf(of, start, from));
  if (Math.abs(byC) < LEAPS_C + BEHIND_S * Math.min(turnsPerS(rulingOf), turnsPerS(otherOf))) return null;
  const leapsC = (of: Of): number => {
    const pacePerS = (paceOf(of, start, from) + paceOf(of, to, last)) / 2;
    return of(to) - of(from) - pacePerS * secondsBetween(from.atMs, to.atMs);
  };
  const stays = (of: Of): boolean => Math.abs(leapsC(of)) < STAYS_RATIO * Math.abs(byC);
  const leap = { sinceMs: to.atMs, beforeC, byC } as const;
  if (stays(otherOf)) return { ...leap, left: 'ruling' };
  if (!stays(rulingOf)) return null;
  // A bead falls at once where a flame goes out, and a thick sheath after it.
  const wentC = rulingOf(last) - rulingOf(from) - paceOf(rulingOf, start, from) * secondsBetween(from.atMs, last.atMs);
  return byC < 0 && wentC < STAYS_RATIO * byC ? null : { ...leap, left: 'other' };
}

/** Whether one may have leapt so lately that the minutes since do not yet say which: two means may share the leap. */
export function mayHaveLeapt(minutes: readonly PairMinute[]): boolean {
  const lately = minutes.slice(-SIDE - 3);
  return lately.slice(2).some((minute, i) => {
    const before = lately[i];
    return before !== undefined && Math.abs(apartC(minute) - apartC(before)) >= LEAPS_C;
  });
}

function paceOf(of: Of, from: PairMinute, to: PairMinute): number {
  return (of(to) - of(from)) / secondsBetween(from.atMs, to.atMs);
}

function middleC(minutes: readonly PairMinute[]): number {
  const sorted = minutes.map(apartC).sort((a, b) => a - b);
  return sorted[sorted.length >> 1] ?? 0;
}

/** How far the farthest of them is from their middle. */
function straysC(minutes: readonly PairMinute[], middle: number): number {
  return Math.max(...minutes.map((m) => Math.abs(apartC(m) - middle)));
}
