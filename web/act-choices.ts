/** What a hand can do and an eye can see at a kiln, and how its value is put in. */
import type { KilnNow } from '../daemon/wire/live-messages.ts';
import { shownDegrees, unit } from './unit.ts';
import { actLabels } from './wording.ts';

export type Entry =
  /** A figure; `write` makes the value as the record keeps it. */
  | {
      readonly kind: 'figure';
      hint(): string;
      readonly step: number;
      /** What stands there at first. */
      start(): number;
      write(n: string): string;
    }
  | { readonly kind: 'choice'; readonly of: readonly string[] }
  /** Seen, without a value: one press logs it. */
  | { readonly kind: 'plain' };

export interface ActChoice {
  /** As it stands in the record. */
  readonly what: string;
  readonly label: string;
  readonly of: 'hand' | 'eye';
  /** The kilns that have it. */
  fits(kiln: Pick<KilnNow, 'heat' | 'closure'>): boolean;
  readonly entry: Entry;
}

type Heat = KilnNow['heat'];

function choice(
  what: keyof typeof actLabels,
  of: ActChoice['of'],
  entry: Entry,
  heat: Heat | 'any' = 'any',
  closure: KilnNow['closure'] | 'any' = 'any',
): ActChoice {
  const fits: ActChoice['fits'] = (kiln) =>
    (heat === 'any' || kiln.heat === heat) && (closure === 'any' || kiln.closure === closure);
  return { what, label: actLabels[what], of, entry, fits };
}

function mark(start: number): Entry {
  return { kind: 'figure', hint: () => 'mark', step: 0.5, start: () => start, write: (n) => `mark ${n}` };
}

const plain: Entry = { kind: 'plain' };

const choices: readonly ActChoice[] = [
  choice('valve', 'hand', mark(3), 'gas'),
  choice(
    'gas pressure',
    'hand',
    { kind: 'figure', hint: () => 'mbar', step: 1, start: () => 20, write: (n) => `${n} mbar` },
    'gas',
  ),
  choice('damper', 'hand', mark(3), 'gas'),
  choice('flame', 'hand', { kind: 'choice', of: ['lit', 'out'] }, 'gas'),
  choice('heat', 'hand', { kind: 'choice', of: ['on', 'off'] }, 'electric'),
  choice('bung', 'hand', { kind: 'choice', of: ['in', 'out'] }),
  choice('vent', 'hand', { kind: 'choice', of: ['open', 'closed'] }),
  choice('lid', 'hand', { kind: 'choice', of: ['open', 'closed'] }, 'any', 'lid'),
  choice('door', 'hand', { kind: 'choice', of: ['open', 'closed'] }, 'any', 'door'),
  choice('smoke stopped', 'eye', plain),
  choice('gloss seen', 'eye', plain),
  choice('cone down', 'eye', plain),
  choice('trial drawn', 'eye', plain),
  choice('hand pyrometer', 'eye', {
    kind: 'figure',
    hint: () => `°${unit()}`,
    step: 5,
    start: () => Math.round(shownDegrees(600)),
    // Kept in °C, however it is shown and typed here.
    write: (n) => `${Math.round(unit() === 'F' ? (Number(n) - 32) / 1.8 : Number(n))} °C`,
  }),
  choice('flame colour', 'eye', { kind: 'choice', of: ['clear', 'yellow', 'smoky'] }, 'gas'),
];

export function choicesFor(kiln: Pick<KilnNow, 'heat' | 'closure'>): readonly ActChoice[] {
  return choices.filter((one) => one.fits(kiln));
}

/** The choice by which an act was logged; null for words of another page. */
export function choiceOf(what: string): ActChoice | null {
  return choices.find((one) => one.what === what) ?? null;
}

/** The figure in a value: "3" of "mark 3"; of "655 °C" what this screen shows of it, as it was typed. */
export function figureOf(value: string | undefined): string | null {
  const figure = value?.match(/\d+(?:[.,]\d+)?/)?.[0] ?? null;
  return figure !== null && value?.includes('°C') ? String(Math.round(shownDegrees(Number(figure)))) : figure;
}

/** The figure that was logged last for this act: the next one is mostly near it. */
export function lastFigure(
  acts: readonly { readonly what: string; readonly value?: string | undefined }[],
  what: string,
): string | null {
  return figureOf(acts.findLast((act) => act.what === what && act.value !== undefined)?.value);
}

/** Digits with one point; a comma is taken for a point. Null when it is no figure from nought upwards. */
export function readFigure(typed: string): string | null {
  const tidy = typed.trim().replace(',', '.');
  return /^\d{1,5}(\.\d{1,3})?$/.test(tidy) ? String(Number(tidy)) : null;
}
