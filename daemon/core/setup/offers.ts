/** What was heard of an instrument -> each figure in it, with every way to read it, for a person to pick the kiln's. */
import type { FigureUnit } from '../plan/instrument.ts';
import type { ByteOrder, RegisterType } from '../plan/kiln.ts';
import { type FieldFound, type FieldPlace, fieldsFound } from '../reading/guess-line.ts';
import { registerWays } from '../reading/guess-registers.ts';
import type { CoupleLetter } from '../thermometry/its90-coefficients.ts';
import { type Likeness, type Meaning, meaningsOf, rankOf } from './ways.ts';

/** Where a figure stands. */
export type Spot =
  | { readonly kind: 'line'; readonly line: string; readonly place: FieldPlace }
  | { readonly kind: 'topic'; readonly topic: string; readonly path?: string }
  | { readonly kind: 'register'; readonly unit: number; readonly table: RegisterTable; readonly register: number };

export type RegisterTable = 'holding' | 'input';

export interface Way {
  /** Names it among the ways of its offer: `C`, `mV S`, `int16 ABCD 0.1 C`. */
  readonly key: string;
  readonly unit: FigureUnit;
  readonly letter?: CoupleLetter;
  /** Where a comma may part thousands or decimals. */
  readonly decimal?: 'point' | 'comma';
  readonly type?: RegisterType;
  readonly order?: ByteOrder;
  readonly scale?: number;
  readonly celsius: number;
  readonly remark: Likeness;
}

export interface Offer {
  /** Names it as long as the instrument speaks in the same manner. */
  readonly id: string;
  /** For the person: "2nd of 3", "data.t1", "kiln/top". */
  readonly where: string;
  /** As it came last. */
  readonly text: string;
  readonly spot: Spot;
  /** It has counted up evenly: a clock or a running number, no couple. */
  readonly isCounter: boolean;
  readonly ways: readonly Way[];
}

/** A person looks through no more. Ours. */
const MOST_OFFERS = 60;
const MOST_WAYS = 12;

/** @param lines as heard, the newest last */
export function offersOfLines(lines: readonly string[]): readonly Offer[] {
  const read = lines.map((line) => ({ line, fields: fieldsFound(line) })).filter(({ fields }) => fields.length > 0);
  const shown = usualOf(read);
  if (shown === undefined) return [];
  const offers = shown.fields.map((field): Offer => {
    const id = placeId(field.place);
    const course = read.flatMap(({ fields }) => fields.find(({ place }) => placeId(place) === id)?.figures[0] ?? []);
    return {
      id,
      where: placeWords(field.place),
      text: field.text,
      spot: { kind: 'line', line: shown.line, place: field.place },
      isCounter: isCounting(course.map(({ figure }) => figure)),
      ways: waysOfField(field),
    };
  });
  return inOrder(offers);
}

interface ReadLine {
  readonly line: string;
  readonly fields: readonly FieldFound[];
}

/** The newest of the lines that have most figures: a board's greeting or a word of trouble is not what it usually says. */
function usualOf(read: readonly ReadLine[]): ReadLine | undefined {
  const counts = new Map<number, number>();
  for (const { fields } of read) counts.set(fields.length, (counts.get(fields.length) ?? 0) + 1);
  const most = Math.max(...counts.values());
  return read.findLast(({ fields }) => counts.get(fields.length) === most);
}

export interface TopicHeard {
  readonly topic: string;
  /** Payloads, the newest last. */
  readonly texts: readonly string[];
}

export function offersOfTopics(topics: readonly TopicHeard[]): readonly Offer[] {
  const offers = topics.flatMap(({ topic, texts }) => {
    const last = texts.at(-1) ?? '';
    return fieldsFound(last).flatMap((field): Offer[] => {
      const at = topicPath(field.place, last);
      if (at === undefined) return [];
      const { path } = at;
      const course = texts.flatMap(
        (text) => fieldsFound(text).find(({ place }) => placeId(place) === placeId(field.place))?.figures[0] ?? [],
      );
      return [
        {
          id: path === undefined ? topic : `${topic} ${path}`,
          where: path === undefined ? topic : `${path} in ${topic}`,
          text: field.text,
          spot: { kind: 'topic', topic, ...(path !== undefined && { path }) },
          isCounter: isCounting(course.map(({ figure }) => figure)),
          ways: waysOfField(field),
        },
      ];
    });
  });
  return inOrder(offers);
}

/** A payload is one value, or JSON; of other texts no place can be named. */
function topicPath(place: FieldPlace, text: string): { readonly path?: string } | undefined {
  if (place.kind === 'column') return place.count === 1 ? {} : undefined;
  return place.kind === 'name' && /^\s*[[{]/.test(text) ? { path: place.name } : undefined;
}

export interface BlockHeard {
  readonly unit: number;
  readonly table: RegisterTable;
  readonly register: number;
  readonly words: readonly number[];
}

/** Many instruments give the same in both tables: then one is enough. */
export function offersOfRegisters(blocks: readonly BlockHeard[]): readonly Offer[] {
  const isTwin = (block: BlockHeard): boolean =>
    block.table === 'input' &&
    blocks.some((other) => other.table === 'holding' && other.register === block.register && isSame(other, block));
  const differing = blocks.filter((block) => !isTwin(block));
  const offers = differing.flatMap(({ unit, table, register: first, words }) =>
    words.map((word, place): Offer => {
      const register = first + place;
      return {
        id: `unit ${unit} ${table} ${register}`,
        where: `${table} register ${register}`,
        text: String(word),
        spot: { kind: 'register', unit, table, register },
        isCounter: false,
        ways: waysOfRegister(words, place),
      };
    }),
  );
  const isPlain = ({ ways: [way] }: Offer): boolean => way !== undefined && rankOf(way.remark) === 0 && !isSwapped(way);
  return inOrder([...offers.filter(isPlain), ...offers.filter((offer) => !isPlain(offer))]);
}

/** Few instruments swap the bytes within a register (from memory); of many small numbers it makes something like a room. */
const isSwapped = ({ order }: Way): boolean => order === 'BADC' || order === 'DCBA';

function isSame(a: BlockHeard, b: BlockHeard): boolean {
  return a.unit === b.unit && a.words.join() === b.words.join();
}

function waysOfRegister(words: readonly number[], place: number): Way[] {
  // What stands at nought, or in registers that all do, says nothing.
  const ways = registerWays(words, place).filter(({ figure }) => figure !== 0);
  return ways
    .flatMap(({ type, order, scale, figure }) =>
      meaningsOf(figure)
        .filter(({ unit }) => unit !== 'mV')
        .map((one): Way => ({ ...one, key: `${type} ${order} ${scale} ${one.unit}`, type, order, scale })),
    )
    .sort((a, b) => rankOf(a.remark) - rankOf(b.remark) || Number(isSwapped(a)) - Number(isSwapped(b)))
    .slice(0, MOST_WAYS);
}

function waysOfField({ figures, unit, text }: FieldFound): Way[] {
  const isTwofold = figures.length > 1;
  return figures
    .flatMap(({ decimal, figure }) =>
      meaningsOf(figure)
        .filter((one) => unit === null || one.unit === unit)
        .map(
          (one): Way => ({
            ...one,
            key: isTwofold ? `${keyOf(one)} ${decimal}` : keyOf(one),
            // With commas between thousands it is read only where the point is said to be the decimal one.
            ...((isTwofold || (decimal === 'point' && text.includes(','))) && { decimal }),
          }),
        ),
    )
    .slice(0, MOST_WAYS);
}

function keyOf({ unit, letter }: Meaning): string {
  return letter === undefined ? unit : `${unit} ${letter}`;
}

/** So many steps that are all alike and none nought are no kiln's. Ours. */
const EVEN_STEPS = 5;

function isCounting(course: readonly number[]): boolean {
  const steps = course.slice(1).map((figure, i) => Math.round((figure - (course[i] ?? 0)) * 1e6) / 1e6);
  return steps.length >= EVEN_STEPS && steps[0] !== 0 && steps.every((step) => step === steps[0]);
}

/** What may be a kiln's first; as it was heard among those. */
function inOrder(offers: readonly Offer[]): readonly Offer[] {
  const isLikely = ({ ways, isCounter }: Offer): boolean => ways.length > 0 && !isCounter;
  // Of what stands twice under one name only the first can be meant.
  const single = offers.filter(({ id }, i) => offers.findIndex((other) => other.id === id) === i);
  return [...single.filter(isLikely), ...single.filter((offer) => !isLikely(offer))].slice(0, MOST_OFFERS);
}

function placeId(place: FieldPlace): string {
  switch (place.kind) {
    case 'column':
      return `column ${place.index + 1} of ${place.count}`;
    case 'name':
      return `name ${place.name}`;
    case 'number':
      return `number ${place.index + 1}`;
  }
}

function placeWords(place: FieldPlace): string {
  switch (place.kind) {
    case 'column':
      return place.count === 1 ? 'the whole line' : `${ordinal(place.index + 1)} of ${place.count}`;
    case 'name':
      return place.name;
    case 'number':
      return `${ordinal(place.index + 1)} number in the line`;
  }
}

function ordinal(count: number): string {
  const tail = count % 100 > 10 && count % 100 < 14 ? 'th' : (['th', 'st', 'nd', 'rd'][count % 10] ?? 'th');
  return `${count}${tail}`;
}
