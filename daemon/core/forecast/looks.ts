/** How far ahead is looked: at which distances, and at which of them the ways to foresee are judged by what came true. */

/** s. Close together where a plan's corner would be blurred otherwise. */
export const LOOKS_S: readonly number[] = [
  4, 8, 15, 30, 60, 90, 120, 180, 240, 300, 420, 600, 750, 900, 1200, 1500, 1800,
];
/** Indices into `LOOKS_S` of the distances that are judged. */
export const JUDGED: readonly number[] = [4, 8, 15, 30, 60, 120, 300, 600, 1200].map((s) => LOOKS_S.indexOf(s));

export function lookS(look: number): number {
  return LOOKS_S[look] ?? 0;
}

export function judgedS(judged: number): number {
  return lookS(JUDGED[judged] ?? 0);
}
