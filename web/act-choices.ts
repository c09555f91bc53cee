/** What a hand can do and an eye can see at a kiln, and how its value is put in. */
import type { KilnNow } from '../daemon/wire/live-messages.ts';

export type Entry =
  /** A figure; `write` makes the value as the record keeps it. */
  | {
      readonly kind: 'figure';
      readonly hint: string;
      readonly step: number;
      readonly start: number;
      write(n: string): string;
    }
  | { readonly kind: 'choice'; readonly of: readonly string[] }
  /** Done or seen, without a value. */
  | { readonly kind: 'plain' };

export interface ActChoice {
  /** As it stands in the record. */
  readonly what: string;
  readonly label: string;
  readonly heat: 'both' | KilnNow['heat'];
  readonly entry: Entry;
}

const choices: readonly ActChoice[] = [
  {
    what: 'valve',
    label: 'Valve',
    heat: 'gas',
    entry: { kind: 'figure', hint: 'mark', step: 0.5, start: 3, write: (n) => `mark ${n}` },
  },
  {
    what: 'gas pressure',
    label: 'Gas pressure',
    heat: 'gas',
    entry: { kind: 'figure', hint: 'mbar', step: 1, start: 20, write: (n) => `${n} mbar` },
  },
  {
    what: 'damper',
    label: 'Damper',
    heat: 'gas',
    entry: { kind: 'figure', hint: 'mark', step: 0.5, start: 3, write: (n) => `mark ${n}` },
  },
  { what: 'flame', label: 'Flame', heat: 'gas', entry: { kind: 'choice', of: ['lit', 'out'] } },
  { what: 'heat', label: 'Heat', heat: 'electric', entry: { kind: 'choice', of: ['on', 'off'] } },
  { what: 'bung', label: 'Bung', heat: 'both', entry: { kind: 'choice', of: ['in', 'out'] } },
  { what: 'vent', label: 'Vent', heat: 'both', entry: { kind: 'choice', of: ['open', 'closed'] } },
  { what: 'gloss seen', label: 'Gloss seen', heat: 'both', entry: { kind: 'plain' } },
  { what: 'smoke stopped', label: 'Smoke stopped', heat: 'both', entry: { kind: 'plain' } },
];

export function choicesFor(heat: KilnNow['heat']): readonly ActChoice[] {
  return choices.filter((choice) => choice.heat === 'both' || choice.heat === heat);
}

/** The figure that was logged last for this act: the next one is mostly near it. */
export function lastFigure(
  acts: readonly { readonly what: string; readonly value?: string | undefined }[],
  what: string,
): string | null {
  const last = acts.findLast((act) => act.what === what && act.value !== undefined);
  return last?.value?.match(/\d+(?:[.,]\d+)?/)?.[0] ?? null;
}

/** Digits with one point; a comma is taken for a point. Null when it is no figure from nought upwards. */
export function readFigure(typed: string): string | null {
  const tidy = typed.trim().replace(',', '.');
  return /^\d{1,5}(\.\d{1,3})?$/.test(tidy) ? String(Number(tidy)) : null;
}
