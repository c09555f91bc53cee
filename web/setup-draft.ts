/** What a person has chosen so far of a kiln that is being set up. Pure. */
import type { EarNow, NewKiln, PortFound, SensorForm } from '../daemon/wire/setup.ts';
import { setup as words } from './wording.ts';

export type Offer = EarNow['offers'][number];
export type Way = Offer['ways'][number];

export interface Pick {
  readonly offer: string;
  readonly way: string;
  readonly sensor: string;
  readonly letter: NewKiln['picks'][number]['letter'];
}

/** As many instruments leave the shelf; the others by how often they are met. Common practice, no source. */
export const BAUDS = [9600, 115_200, 19_200, 57_600, 38_400, 4800, 2400, 1200] as const;
export const PARITIES = ['none', 'even', 'odd'] as const;

/** Its folder says nothing to a person. */
export function portName(path: string): string {
  return path.split('/').at(-1) ?? path;
}

export function portNote({ usedBy, line }: PortFound): string {
  if (usedBy === null) return words.places.port;
  return line === null ? words.usedBy(usedBy) : words.sharedWith(usedBy);
}

export const LETTERS = ['K', 'S', 'N', 'R', 'J', 'B', 'T', 'E'] as const;

/** The way that was tapped; tapped again it is taken back. Of one figure only one way can be true. */
export function tapped(picks: readonly Pick[], offer: Offer, way: Way): readonly Pick[] {
  const known = picks.find((pick) => pick.offer === offer.id);
  if (known?.way === way.key) return picks.filter((pick) => pick !== known);
  const letter = way.letter ?? known?.letter ?? 'K';
  if (known !== undefined) return picks.map((pick) => (pick === known ? { ...pick, way: way.key, letter } : pick));
  return [...picks, { offer: offer.id, way: way.key, sensor: nameFor(picks, offer), letter }];
}

/** Its own name where the instrument gives it one that can stand: `data.shelf`, `kilns/gas/shelf`. */
function nameFor(picks: readonly Pick[], { spot }: Offer): string {
  const own =
    spot.kind === 'topic'
      ? (spot.path ?? spot.topic)
      : spot.kind === 'line' && spot.place.kind === 'name'
        ? spot.place.name
        : '';
  const last = own.split(/[./]/).findLast((part) => !/^\d*$/.test(part)) ?? '';
  const isFree = (name: string): boolean => picks.every((pick) => pick.sensor !== name);
  if (/^\p{L}[\p{L}\p{N} _-]{0,30}$/u.test(last) && !last.endsWith(' ') && last !== 'lid' && isFree(last)) return last;
  for (let count = picks.length; ; count++) {
    const name = words.newSensor(count);
    if (isFree(name)) return name;
  }
}

/** What was picked of what is heard now; an instrument that speaks otherwise takes its figures with it. */
export function stillHeard(picks: readonly Pick[], ear: EarNow | null): readonly Pick[] {
  if (ear === null) return [];
  return picks.filter((pick) =>
    ear.offers.some((offer) => offer.id === pick.offer && offer.ways.some((way) => way.key === pick.way)),
  );
}

/** A correction as it is typed: by how much, at what temperature, and how sure that is. */
export interface Correction {
  readonly byC: string;
  readonly atC: string;
  readonly withinC: string;
}

export function correctionTexts(correction: SensorForm['correction']): Correction {
  if (correction === null || correction === 'certificate') return { byC: '', atC: '', withinC: '' };
  const { correctionC, atC, uncertaintyC } = correction;
  return { byC: String(correctionC), atC: String(atC), withinC: String(uncertaintyC) };
}

/** Empty is none. @returns 'unclear' where one of the three is no number */
export function correctionFrom(texts: Correction, was: SensorForm['correction']): SensorForm['correction'] | 'unclear' {
  if (was === 'certificate') return 'certificate';
  if (texts.byC.trim() === '') return null;
  const correctionC = figureIn(texts.byC);
  const atC = figureIn(texts.atC);
  const uncertaintyC = figureIn(texts.withinC);
  if (correctionC === null || atC === null || uncertaintyC === null || uncertaintyC < 0) return 'unclear';
  return { atC, correctionC, uncertaintyC };
}

/** With a point or a comma, and any of the signs for less than nothing. */
function figureIn(text: string): number | null {
  const plain = text.trim().replace(',', '.').replace(/^[−–]/, '-');
  return /^[+-]?\d{1,4}(\.\d{1,3})?$/.test(plain) ? Number(plain) : null;
}
