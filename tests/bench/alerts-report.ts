/** What the scorer prints: tables by kind and by fault, false alerts, the totals beside the goals, and single firings. */
import { faults as catalogue } from '../../simulators/faults/catalogue.ts';
import type { FiringResult } from './alerts.ts';
import { AHEAD_S, addBands, type BandCount, type Stretch } from './alerts-bands.ts';
import type { FalseAlert, FaultScore } from './alerts-score.ts';
import {
  byHeat,
  couldBeSeen,
  falseCount,
  falsePerHundredH,
  grouped,
  hoursOf,
  isOnTime,
  isStrictlyOnTime,
  leads,
  mustTell,
  onsetsEach,
  onTimePercent,
  percent,
  type Scored,
  type ScoredSet,
  scoredOf,
  share,
} from './alerts-sums.ts';
import { figure, median, quantile, table } from './figures.ts';

export function report(set: ScoredSet, beside: ScoredSet | undefined): string {
  const sets = beside === undefined ? [set] : [set, beside];
  return [
    table('totals', ['', ...sets.map((s) => s.name), 'goal'], totals(sets)),
    faultTable(`by kind, ${set.name}`, set, (s) => s.fault.kind),
    faultTable(`by fault, ${set.name}`, set, (s) => s.result.facts.fault ?? 'quiet'),
    falseTable(set),
    latencyTable(set),
    bandTable(set),
    besides(set),
  ].join('\n');
}

/** Minutes and seconds with their sign. */
export function clock(seconds: number): string {
  if (seconds === Number.POSITIVE_INFINITY) return 'never';
  if (!Number.isFinite(seconds)) return '–';
  const s = Math.round(Math.abs(seconds));
  return `${seconds < 0 ? '-' : ''}${Math.floor(s / 60)}:${String(s % 60).padStart(2, '0')}`;
}

function totals(sets: readonly ScoredSet[]): string[][] {
  const rows: [string, (set: ScoredSet) => string, string][] = [
    ['firings', (set) => String(set.results.length), ''],
    ['faults that had to be told', (set) => String(mustTell(set).length), ''],
    ['detected %', (set) => percent(share(mustTell(set), (s) => s.fault.rightS !== null)), '97'],
    ['on time %', (set) => percent(onTimePercent(set)), '92'],
    ['  of those whose deadline leaves lag and two samples, n', (set) => String(seen(set).length), ''],
    ['  on time %', (set) => percent(share(seen(set), (s) => isOnTime(s.fault))), ''],
    ['on time by its very kind %', (set) => percent(share(mustTell(set), (s) => isStrictlyOnTime(s.fault))), ''],
    ['the same with mild ones, n', (set) => String(scoredOf(set).length), ''],
    ['  detected %', (set) => percent(share(scoredOf(set), (s) => s.fault.rightS !== null)), ''],
    ['  on time %', (set) => percent(share(scoredOf(set), (s) => isOnTime(s.fault))), ''],
    ['onsets a fault', (set) => figure(onsetsEach(scoredOf(set))), '1.3'],
    ['wrong kind %', (set) => percent(share(scoredOf(set), (s) => s.fault.wrongKinds.length > 0)), '3'],
    ['  wrong explanation first %', (set) => percent(share(scoredOf(set), (s) => s.fault.wrongFirst.length > 0)), ''],
    ['  sensor-fault with its right cause %', (set) => percent(share(namedCauses(set), Boolean)), ''],
    ['false per 100 h', (set) => falseRate(set.results), '1.0'],
    ['  electric', (set) => falseRate(byHeat(set, 'electric')), '0.5'],
    ['  gas', (set) => falseRate(byHeat(set, 'gas')), '2'],
    ['  that were "happening"', (set) => falseRate(set.results, (a) => a.wasHappening), '0.1'],
    ['  notes among them', (set) => falseRate(set.results, (a) => a.priority === 'note'), ''],
    ['  true of the glass, though no fault was meant', (set) => falseRate(set.results, (a) => a.isTrueByGlass), ''],
    ['hours without a fault', (set) => figure(hoursOf(set.results)), ''],
  ];
  return rows.map(([name, of, goal]) => [name, ...sets.map(of), goal]);
}

const namedCauses = (set: ScoredSet): boolean[] => scoredOf(set).flatMap((s) => s.fault.namesCause ?? []);
const seen = (set: ScoredSet): Scored[] => mustTell(set).filter(couldBeSeen);

function falseRate(results: readonly FiringResult[], is?: (a: FalseAlert) => boolean): string {
  return figure(falsePerHundredH(results, is));
}

function faultTable(title: string, set: ScoredSet, nameOf: (s: Scored) => string): string {
  const groups = grouped(scoredOf(set), nameOf);
  return table(
    title,
    [
      '',
      'n',
      'mild',
      'detected %',
      'on time %',
      'strict %',
      'lead, median',
      '10th %',
      'onsets',
      'wrong kind %',
      'wrong kinds',
    ],
    [...groups].map(([name, all]) => {
      const must = all.filter((s) => !s.fault.isMild);
      const lead = leads(must);
      return [
        name,
        String(must.length),
        String(all.length - must.length),
        percent(share(must, (s) => s.fault.rightS !== null)),
        percent(share(must, (s) => isOnTime(s.fault))),
        percent(share(must, (s) => isStrictlyOnTime(s.fault))),
        clock(median(lead)),
        clock(quantile(lead, 0.1)),
        figure(onsetsEach(all)),
        percent(share(all, (s) => s.fault.wrongKinds.length > 0)),
        counted(all.flatMap((s) => s.fault.wrongKinds)),
      ];
    }),
  );
}

function counted(names: readonly string[]): string {
  const groups = [...grouped(names, (name) => name)].sort((a, b) => b[1].length - a[1].length);
  return groups.map(([name, all]) => `${name} ${all.length}`).join(', ');
}

function falseTable(set: ScoredSet): string {
  const groups = new Map<string, FiringResult[]>();
  for (const [name, of] of grouped(set.results, twinOf)) groups.set(name, of);
  return table(
    `false alerts, ${set.name}`,
    ['', 'hours', 'alerts', 'happening', 'notes', 'per 100 h', 'kinds'],
    [...groups]
      .sort((a, b) => falseCount(b[1]) - falseCount(a[1]))
      .map(([name, results]) => [
        name,
        figure(hoursOf(results)),
        String(falseCount(results)),
        String(falseCount(results, (a) => a.wasHappening)),
        String(falseCount(results, (a) => a.priority === 'note')),
        falseRate(results),
        counted(results.flatMap((r) => r.score.falseAlerts.map((a) => a.kind))),
      ]),
  );
}

function twinOf({ facts, meant }: FiringResult): string {
  if (facts.fault === null) return `quiet, ${facts.heat}`;
  if (meant.brings !== null) return `before a fault, ${facts.heat}`;
  return `${facts.fault} (like ${catalogue[facts.fault]?.looksLike ?? 'nothing'})`;
}

const LATENCIES: readonly [string, string, readonly string[], ((r: FiringResult, f: FaultScore) => boolean)?][] = [
  ['flame out, power gone', '0:45', ['the wind blows the flame out', 'a fuse goes', 'power fails in the hold']],
  ['relay stuck in the hold', '0:35', ['the relay welds at the top']],
  ['heat on in the fall', '0:30', ['the programme begins again']],
  [
    'opened hot, with a switch',
    'sample + 5 s',
    ['opened while it cools', 'opened in the hold', 'opened a little again and again', 'not closed after the smoke'],
    (r) => r.facts.hasLidSwitch,
  ],
  [
    'opened above 470, without',
    '1:00',
    ['opened in the hold', 'opened a little again and again'],
    (r) => !r.facts.hasLidSwitch,
  ],
  ['reversed leads', '1:30', ['the couple is wired the wrong way round']],
];

/** From the onset to the first right alert, where couple and sampling are quick and where they are not. */
function latencyTable(set: ScoredSet): string {
  const isQuick = ({ facts }: FiringResult): boolean => facts.sampleS <= 5 && facts.lagS <= 20;
  const cells = (scored: readonly Scored[]): string[] => {
    const latencies = scored.map(({ fault }) => (fault.rightS ?? Number.POSITIVE_INFINITY) - fault.onsetS);
    return [String(scored.length), clock(median(latencies)), clock(quantile(latencies, 0.9))];
  };
  return table(
    `from the onset to the first right alert, ${set.name}; quick: sampled each 5 s or oftener, lag up to 20 s`,
    ['', 'goal', 'quick: n', 'median', '90th %', 'slow: n', 'median', '90th %'],
    LATENCIES.map(([name, goal, faults, is]) => {
      const all = scoredOf(set).filter(
        ({ fault, result }) => faults.includes(result.facts.fault ?? '') && (is?.(result, fault) ?? true),
      );
      const quick = all.filter((s) => isQuick(s.result));
      const slow = all.filter((s) => !isQuick(s.result));
      return [name, goal, ...cells(quick), ...cells(slow)];
    }),
  );
}

function bandTable(set: ScoredSet): string {
  const quiet = set.results.filter((r) => r.meant.brings === null);
  const row = (name: string, results: readonly FiringResult[], stretch: Stretch | null): string[] => {
    const counts = addBands(results.map((r) => r.bands.filter((b) => stretch === null || b.stretch === stretch)));
    return [
      name,
      ...AHEAD_S.flatMap((aheadS) => {
        const of = counts.filter((c) => c.aheadS === aheadS);
        const sum = (key: Exclude<keyof BandCount, 'stretch'>): number => of.reduce((all, c) => all + c[key], 0);
        const n = sum('count');
        return [percent((100 * sum('within')) / n), figure(Math.sqrt(sum('squaredC') / n))];
      }),
    ];
  };
  return table(
    `the forecast's band, ${set.name}: share of later readings within it %, and the forecast's rms error °C`,
    ['', ...AHEAD_S.flatMap((s) => [`${s / 60} min %`, '°C'])],
    [
      row('no fault, climb', quiet, 'climb'),
      row('no fault, hold', quiet, 'hold'),
      row('no fault, fall', quiet, 'fall'),
      row('no fault, all', quiet, null),
      row('all firings', set.results, null),
    ],
  );
}

/** What the figures leave out. */
function besides(set: ScoredSet): string {
  const nothing = set.results.filter((r) => r.score.cameToNothing);
  const after = set.results.flatMap((r) => r.score.after);
  return [
    `Came to nothing before the watch ended, and not counted: ${nothing.map((r) => `${r.facts.number} ${r.facts.fault}`).join('; ') || 'none'}.`,
    `Told when all faults were over, and not counted: ${after.length} (${counted(after)}).`,
  ].join('\n');
}

/** Everything that was told in one firing, beside what really happened. */
export function listFiring({ facts, told, score, watchedS }: FiringResult): string {
  const { number, fault, heat, sampleS, couple, lagS } = facts;
  const [first] = score.faults;
  const onsetS = first?.onsetS ?? 0;
  const harmS = first?.harmS ?? null;
  const head = `${number}  ${fault ?? 'quiet'}  ${heat}, each ${sampleS} s, ${couple} (${Math.round(lagS)} s)${facts.hasLidSwitch ? ', switch' : ''}, watched ${clock(watchedS / 60)} h`;
  const truth = score.faults.map(
    (f) =>
      `   truth: ${f.kind} at ${at(f.onsetS)}, harm ${at(f.harmS)}, ends ${at(f.endsS)}, deadline +${clock(f.deadlineS - f.onsetS)}${f.isMild ? ' (mild)' : ''}: ${verdict(f)}`,
  );
  const harms = facts.harms.map((h) => `   glass: ${h.harm} ${at(h.fromS)} to ${at(h.untilS)}`);
  const lines = told.map((t) => {
    const since = score.faults.length === 0 ? '' : ` onset${sign(t.atS - onsetS)}`;
    const toHarm = harmS === null ? '' : ` harm${sign(t.atS - harmS)}`;
    const lead = t.leadS === undefined || t.phase === 'over' ? '' : ` lead ${clock(t.leadS)}`;
    const cause = [t.sensor, t.cause].filter((word) => word !== undefined).join(' ');
    const held = t.heldBackBy === undefined ? '' : ` held back by #${t.heldBackBy.split('-').pop()}`;
    const isFalse = score.falseAlerts.some((a) => a.id === t.id) ? ' FALSE' : '';
    return `   ${at(t.atS)}${since}${toHarm}  ${t.kind} ${t.phase} ${t.priority}${isFalse}${held}${lead} ${cause} #${t.id.split('-').pop()}: ${t.message}`;
  });
  return [head, ...truth, ...harms, ...lines].join('\n');
}

function verdict(f: FaultScore): string {
  const wrong = f.wrongKinds.length > 0 ? `; wrong ${f.wrongKinds.join(', ')}` : '';
  if (f.rightS === null) return `MISSED${wrong}`;
  const how = isOnTime(f) ? 'on time' : 'LATE';
  return `${how}, ${f.rightKind} lead ${clock(f.deadlineS - f.rightS)}, onsets ${f.onsets}${wrong}`;
}

const sign = (seconds: number): string => `${seconds < 0 ? '' : '+'}${clock(seconds)}`;

/** Hours, minutes and seconds from the firing's start. */
function at(seconds: number | null): string {
  if (seconds === null) return 'none';
  const s = Math.round(seconds);
  const two = (n: number): string => String(n).padStart(2, '0');
  return `${Math.floor(s / 3600)}:${two(Math.floor(s / 60) % 60)}:${two(s % 60)}`;
}
