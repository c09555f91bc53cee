/** Shares and sums over a scored set, for tables and picture. */
import type { FiringResult } from './alerts.ts';
import type { FalseAlert, FaultScore } from './alerts-score.ts';

export interface ScoredSet {
  readonly name: string;
  readonly results: readonly FiringResult[];
}

export interface Scored {
  readonly fault: FaultScore;
  readonly result: FiringResult;
}

export const scoredOf = (set: ScoredSet): Scored[] =>
  set.results.flatMap((result) => result.score.faults.map((fault) => ({ fault, result })));

export const isOnTime = ({ rightS, deadlineS }: FaultScore): boolean => rightS !== null && rightS <= deadlineS;
export const isStrictlyOnTime = ({ strictS, deadlineS }: FaultScore): boolean =>
  strictS !== null && strictS <= deadlineS;
export const share = <Item>(items: readonly Item[], is: (item: Item) => boolean): number =>
  items.length === 0 ? Number.NaN : (100 * items.filter(is).length) / items.length;
export const percent = (value: number): string => (Number.isNaN(value) ? '–' : value.toFixed(1));

/** Its deadline leaves the couple time to show anything of it: its lag, and two readings. */
export function couldBeSeen({ fault, result }: Scored): boolean {
  const { lagS, sampleS } = result.facts;
  return fault.deadlineS - fault.onsetS >= lagS + 2 * sampleS;
}

export function leads(scored: readonly Scored[]): number[] {
  return scored.flatMap(({ fault }) => (fault.rightS === null ? [] : [fault.deadlineS - fault.rightS]));
}

export function onsetsEach(scored: readonly Scored[]): number {
  const told = scored.filter((s) => s.fault.onsets > 0);
  return told.reduce((sum, s) => sum + s.fault.onsets, 0) / told.length;
}

export const mustTell = (set: ScoredSet): Scored[] => scoredOf(set).filter((s) => !s.fault.isMild);
export const byHeat = (set: ScoredSet, heat: 'gas' | 'electric'): FiringResult[] =>
  set.results.filter((r) => r.facts.heat === heat);
export const hoursOf = (results: readonly FiringResult[]): number =>
  results.reduce((sum, r) => sum + r.score.quietS, 0) / 3600;

export const falsePerHundredH = (
  results: readonly FiringResult[],
  is: (a: FalseAlert) => boolean = () => true,
): number => (100 * falseCount(results, is)) / hoursOf(results);

export const onTimePercent = (set: ScoredSet): number => share(mustTell(set), (s) => isOnTime(s.fault));

export function falseCount(results: readonly FiringResult[], is: (a: FalseAlert) => boolean = () => true): number {
  return results.reduce((sum, r) => sum + r.score.falseAlerts.filter(is).length, 0);
}

/** The items of each name, in the order in which the names first come. */
export function grouped<Item>(items: readonly Item[], nameOf: (item: Item) => string): Map<string, Item[]> {
  const groups = new Map<string, Item[]>();
  for (const item of items) {
    const name = nameOf(item);
    const group = groups.get(name);
    if (group === undefined) groups.set(name, [item]);
    else group.push(item);
  }
  return groups;
}
