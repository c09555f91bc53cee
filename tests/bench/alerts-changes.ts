/** What became better or worse since an earlier scoring, firing by firing. */
import type { FiringResult } from './alerts.ts';
import { isOnTime, type ScoredSet } from './alerts-sums.ts';

export function changesSince(before: readonly ScoredSet[], now: readonly ScoredSet[]): string {
  const earlier = new Map(before.flatMap((set) => set.results.map((r) => [r.facts.number, r] as const)));
  const changes = now.flatMap((set) => set.results.flatMap((r) => changesOf(earlier.get(r.facts.number), r)));
  const count = (word: string): number => changes.filter((line) => line.startsWith(word)).length;
  return [
    `since then: ${count('better')} better, ${count('worse')} worse, ${count('other')} otherwise`,
    ...changes.sort(),
    '',
  ].join('\n');
}

function changesOf(before: FiringResult | undefined, now: FiringResult): string[] {
  if (before === undefined) return [];
  const { number, fault } = now.facts;
  const of = `${number} ${fault ?? 'quiet'}`;
  return MEASURES.flatMap(({ what, of: measure }) => {
    const [was, is] = [measure(before), measure(now)];
    const words = `${of}: ${what} ${was.words} -> ${is.words}`;
    if (was.words === is.words) return [];
    const word = is.grade > was.grade ? 'better' : is.grade < was.grade ? 'worse' : 'other';
    return [`${word}  ${words}`];
  });
}

interface Measured {
  /** The more the better. */
  readonly grade: number;
  readonly words: string;
}

const MEASURES: readonly { readonly what: string; of(result: FiringResult): Measured }[] = [
  { what: 'faults', of: ({ score }) => graded(score.faults.map(toldHow)) },
  { what: 'wrong kinds', of: ({ score }) => fewer(score.faults.flatMap((f) => f.wrongKinds)) },
  { what: 'false alerts', of: ({ score }) => fewer(score.falseAlerts.map((a) => a.kind)) },
];

const GRADES = ['missed', 'late', 'on time'];

function toldHow(fault: FiringResult['score']['faults'][number]): string {
  if (fault.rightS === null) return 'missed';
  return isOnTime(fault) ? 'on time' : 'late';
}

const graded = (how: readonly string[]): Measured => ({
  grade: how.reduce((sum, word) => sum + GRADES.indexOf(word), 0),
  words: how.join(', '),
});

const fewer = (kinds: readonly string[]): Measured => ({
  grade: -kinds.length,
  words: kinds.length === 0 ? 'none' : [...kinds].sort().join(', '),
});
