/**
 * When the readings of a firing first left those of the sound one: the same kiln, hand, couples and noise, where nothing goes
 * wrong. Before that nobody could know of the fault; what is told earlier was foreseen. So it bounds what can be on time.
 */
import { type CorpusFiring, type CorpusParts, fireForScoring, NO_VALUE, SENSOR_BITS } from './alerts-corpus.ts';
import { grouped, isOnTime, mustTell, percent, type Scored, type ScoredSet, share } from './alerts-sums.ts';
import type { Built } from './built.ts';
import { table } from './figures.ts';

/** How far off a reading must be, °C, beyond twice the couple's own noise. Sound kilns, hands and relays swing by 1 to 5. */
const APART_C = [1, 2, 3, 5] as const;

export type BestParts = CorpusParts & Pick<Built, 'scenarioFile'>;

/** What is compared: each couple's noise, °C, in the order of the firing's sensors. */
export interface Pair {
  readonly firing: Pick<CorpusFiring, 'rows'>;
  readonly sound: Pick<CorpusFiring, 'rows'>;
  readonly noiseC: readonly number[];
}

export function soundOf(built: BestParts, firing: CorpusFiring): Pair {
  const { number } = firing;
  const data = built.corpus.corpusData(number);
  const scenario = built.scenarioFile.parseScenario(
    { ...data, happenings: [] },
    `corpus ${number}, nothing goes wrong`,
  );
  const sound = fireForScoring({ ...built, corpus: { ...built.corpus, corpusScenario: () => scenario } }, number);
  // A coarse step scatters as its own share of itself does.
  const noiseC = scenario.couples.map(({ noiseC: own, stepC }) => Math.max(own ?? 0, (stepC ?? 0) / Math.sqrt(12)));
  return { firing, sound, noiseC };
}

/**
 * @param apartC how far off, °C, beyond twice the noise
 * @returns true seconds of the first reading since `sinceS` that is so far off, has no figure where the sound one has,
 *   or came with another word of the lid; null where there is none
 */
export function apartFromS({ firing, sound, noiseC }: Pair, sinceS: number, apartC: number): number | null {
  const keyOf = ({ cameMs, flags }: CorpusFiring['rows'], row: number): number =>
    (cameMs[row] ?? 0) * (SENSOR_BITS + 1) + ((flags[row] ?? 0) & SENSOR_BITS);
  const own = new Map<number, number>();
  firing.rows.cameMs.forEach((_, row) => void own.set(keyOf(firing.rows, row), row));
  const { cameMs, milliC, flags } = sound.rows;
  const lastMs = firing.rows.cameMs[firing.rows.cameMs.length - 1] ?? 0;
  for (let row = 0; row < cameMs.length; row++) {
    const atMs = cameMs[row] ?? 0;
    if (atMs < sinceS * 1000 || milliC[row] === NO_VALUE) continue;
    if (atMs > lastMs) return null;
    const found = own.get(keyOf(sound.rows, row));
    const shownMilliC = found === undefined ? NO_VALUE : firing.rows.milliC[found];
    const isLidOther = found !== undefined && firing.rows.flags[found] !== flags[row];
    if (shownMilliC === NO_VALUE || shownMilliC === undefined || isLidOther) return atMs / 1000;
    const offC = Math.abs(shownMilliC - (milliC[row] ?? 0)) / 1000;
    if (offC > apartC + 2 * (noiseC[(flags[row] ?? 0) & SENSOR_BITS] ?? 0)) return atMs / 1000;
  }
  return null;
}

interface Shown {
  readonly scored: Scored;
  /** For each of `APART_C` whether it was so far off by the deadline, or was told by then. */
  readonly couldBeTold: readonly boolean[];
}

/** For each kind how many could have been on time, had they been told as soon as a reading was so far off. */
export function atBestTable(set: ScoredSet, pairOf: (number: number) => Pair): string {
  const all = mustTell(set).map((scored) => shownIn(scored, pairOf));
  const kinds = [...grouped(all, ({ scored }) => scored.fault.kind)].sort(([a], [b]) => (a < b ? -1 : 1));
  const row = (name: string, some: readonly Shown[]): string[] => [
    name,
    String(some.length),
    percent(share(some, ({ scored }) => isOnTime(scored.fault))),
    ...APART_C.map((_, i) => percent(share(some, ({ couldBeTold }) => couldBeTold[i] === true))),
  ];
  return table(
    `on time at best, ${set.name}: told by the deadline, or by then so far from the same firing without the fault`,
    ['', 'n', 'on time %', ...APART_C.map((c) => `${c} °C %`)],
    [...kinds.map(([kind, some]) => row(kind, some)), row('all', all)],
  );
}

function shownIn(scored: Scored, pairOf: (number: number) => Pair): Shown {
  const { fault, result } = scored;
  if (isOnTime(fault)) return { scored, couldBeTold: APART_C.map(() => true) };
  const pair = pairOf(result.facts.number);
  const couldBeTold = APART_C.map(
    (c) => (apartFromS(pair, fault.onsetS, c) ?? Number.POSITIVE_INFINITY) <= fault.deadlineS,
  );
  return { scored, couldBeTold };
}
