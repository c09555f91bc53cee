/** What is asked of `npm run bench -- alerts`. */
import type { Rival } from './alerts-rival-feed.ts';

export interface AlertOptions {
  readonly sets: readonly SetName[];
  /** A fault by name, or a kind of alert. */
  readonly only: string | null;
  readonly numbers: readonly number[] | null;
  readonly every: number;
  readonly workers: number;
  readonly watcher: Watcher;
  readonly plot: string | null;
  readonly json: string | null;
  /** The results of an earlier run, to be compared with. */
  readonly than: string | null;
  readonly list: boolean;
  readonly atBest: boolean;
}

export type SetName = 'tuning' | 'fresh';

/** Whose alerts are scored: Spyhole's own, or those of a plain watcher that says how hard the corpus is. */
export type Watcher = 'spyhole' | Rival;
const WATCHERS: readonly string[] = ['spyhole', 'thresholds', 'line'] satisfies readonly Watcher[];

/** Rules are tuned on the first; the second is never looked into one by one before the rules are done. */
export const FIRST_NUMBER: Readonly<Record<SetName, number>> = { tuning: 1, fresh: 5001 };

const USAGE =
  'Write npm run bench -- alerts [tuning | fresh] [--only "FAULT OR KIND"] [--numbers 12,40] [--every N] [--watcher spyhole, thresholds or line] [--list] [--at-best] [--workers 1 or 2] [--plot FILE.svg] [--json FILE] [--than FILE].';

/** @throws Error with one sentence */
export function readOptions(args: readonly string[]): AlertOptions {
  const words: string[] = [];
  const values = new Map<string, string>();
  for (let i = 0; i < args.length; i++) {
    const arg = args[i] ?? '';
    if (!arg.startsWith('--')) words.push(arg);
    else if (arg === '--list' || arg === '--at-best') values.set(arg, '');
    else values.set(arg, args[++i] ?? '');
  }
  const takeValue = ['--only', '--numbers', '--every', '--workers', '--watcher', '--plot', '--json', '--than'];
  const known = [...takeValue, '--list', '--at-best'];
  const isSet = (word: string): word is SetName => word in FIRST_NUMBER;
  const sets = words.filter(isSet);
  if (sets.length !== words.length || [...values.keys()].some((name) => !known.includes(name))) throw new Error(USAGE);
  const whole = (name: string, usual: number): number => {
    const value = values.has(name) ? Number(values.get(name)) : usual;
    if (!Number.isInteger(value) || value < 1) throw new Error(`${name} is not a whole number from 1 on. ${USAGE}`);
    return value;
  };
  const numbers = values.get('--numbers')?.split(',').map(Number) ?? null;
  if (numbers?.some((n) => !Number.isInteger(n) || n < 1)) throw new Error(`--numbers takes whole numbers. ${USAGE}`);
  const watcher = values.get('--watcher') ?? 'spyhole';
  if (!isWatcher(watcher)) throw new Error(`--watcher takes ${WATCHERS.join(', ')}. ${USAGE}`);
  const only = values.get('--only') ?? null;
  return {
    sets: sets.length > 0 ? sets : ['fresh', 'tuning'],
    only,
    numbers,
    every: whole('--every', 1),
    workers: Math.min(2, whole('--workers', 1)),
    watcher,
    plot: values.get('--plot') ?? null,
    json: values.get('--json') ?? null,
    than: values.get('--than') ?? null,
    list: values.has('--list') || only !== null || numbers !== null,
    atBest: values.has('--at-best'),
  };
}

const isWatcher = (word: string): word is Watcher => WATCHERS.includes(word);
