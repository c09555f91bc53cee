/** One figure of an instrument that nobody has described yet -> every temperature that it may mean (requirement C6). */
import type { FigureUnit } from '../plan/instrument.ts';
import { inCelsius } from '../reading/degrees.ts';
import { tipC } from '../thermometry/cold-junction.ts';
import type { CoupleLetter } from '../thermometry/its90-coefficients.ts';

export interface Meaning {
  readonly unit: FigureUnit;
  /** Of millivolts, which couple gives them. */
  readonly letter?: CoupleLetter;
  readonly celsius: number;
  /** What a kiln, a room or a winter's day has to do with it. */
  readonly remark: Likeness;
}

export type Likeness = 'like a room' | 'like a warm kiln' | 'like a hot kiln' | 'like a cold shed';

/** The terminals of an instrument that adds no cold end: a room's temperature. Ours. */
export const TERMINALS_C = 22;

/** Where each likeness ends, °C. Ours; no kiln for glass goes beyond 1350, and few workshops below -20. */
const COLDEST_C = -20;
const COLD_SHED_BELOW_C = 8;
const ROOM_BELOW_C = 40;
const WARM_BELOW_C = 120;
const HOTTEST_C = 1350;

/** Nearest first to what a kiln that waits to be set up shows. */
const ORDER: readonly Likeness[] = ['like a room', 'like a warm kiln', 'like a hot kiln', 'like a cold shed'];

/** The letters as often as they are met in kilns. Common practice, no source. */
const LETTERS = ['K', 'S', 'N', 'R', 'J', 'B', 'T', 'E'] as const satisfies readonly CoupleLetter[];
/** No couple gives more (type E at 1000 °C), and none much less than nothing. */
const MOST_MV = 77;
const LEAST_MV = -3;

/** Only what a kiln may be like; the likeliest first. A figure that can be none of these has no meaning. */
export function meaningsOf(figure: number): readonly Meaning[] {
  if (!Number.isFinite(figure)) return [];
  const degrees = (['C', 'F', 'K'] as const).flatMap((unit) => meaning(unit, inCelsius(figure, unit)));
  const volts = figure < LEAST_MV || figure > MOST_MV ? [] : LETTERS.flatMap((letter) => inVolts(figure, letter));
  const byLikeness = (a: Meaning, b: Meaning): number => rankOf(a.remark) - rankOf(b.remark);
  // Volts come before degrees only where they alone are like a room: most instruments speak in degrees.
  const all = [...degrees.sort(byLikeness), ...volts.sort(byLikeness)];
  return [...all.filter(isLikeRoom), ...all.filter((one) => !isLikeRoom(one))];
}

const isLikeRoom = ({ remark }: Meaning): boolean => rankOf(remark) === 0;

function inVolts(figureMv: number, letter: CoupleLetter): Meaning[] {
  const tip = tipC(letter, figureMv, TERMINALS_C);
  return tip.ok ? meaning('mV', tip.temperatureC).map((one) => ({ ...one, letter })) : [];
}

function meaning(unit: FigureUnit, celsius: number): Meaning[] {
  const remark = likenessOf(celsius);
  return remark === undefined ? [] : [{ unit, celsius: Math.round(celsius * 100) / 100, remark }];
}

/** @returns undefined for what no kiln and no workshop is like */
export function likenessOf(celsius: number): Likeness | undefined {
  if (!(celsius >= COLDEST_C && celsius <= HOTTEST_C)) return undefined;
  if (celsius < COLD_SHED_BELOW_C) return 'like a cold shed';
  if (celsius < ROOM_BELOW_C) return 'like a room';
  return celsius < WARM_BELOW_C ? 'like a warm kiln' : 'like a hot kiln';
}

export function rankOf(remark: Likeness): number {
  return ORDER.indexOf(remark);
}
