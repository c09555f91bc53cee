/** Before lighting a cold kiln's couples must show one temperature, and the room's: checked by itself. */
import type { CouplesWord } from '../inputs.ts';

/** Further apart than this a couple, its plug or its letter is wrong. Requirement of the list before lighting. */
const AGREE_C = 3;
/** Above this the kiln is warm from the last firing, and its couples rightly differ. Common practice, no source. */
const COLD_C = 40;

export interface LastOf {
  readonly name: string;
  readonly celsius: number | null;
}

/** @param roomC what the room's own thermometer shows, if somebody looked */
export function couplesWord(sensors: readonly LastOf[], roomC: number | undefined): CouplesWord {
  const silent = sensors.filter((s) => s.celsius === null);
  const told = sensors.flatMap(({ name, celsius }) => (celsius === null ? [] : [{ name, celsius }]));
  const [first] = told;
  if (first === undefined) return { agree: null, sentence: 'No couple has spoken yet.' };
  if (silent.length > 0) return { agree: false, sentence: `No reading from ${silent.map((s) => s.name).join(', ')}.` };
  const low = told.reduce((least, s) => (s.celsius < least.celsius ? s : least), first);
  const high = told.reduce((most, s) => (s.celsius > most.celsius ? s : most), first);
  if (high.celsius > COLD_C) {
    const sentence = `The kiln is still at ${whole(high.celsius)}: its couples can be compared once it is cold.`;
    return { agree: null, sentence };
  }
  if (high.celsius - low.celsius > AGREE_C) {
    const pair = `${low.name} shows ${tenth(low.celsius)}, ${high.name} ${tenth(high.celsius)}`;
    return { agree: false, sentence: `The couples differ: ${pair}. Look at plugs and letters before lighting.` };
  }
  if (roomC === undefined) {
    if (told.length > 1) {
      return { agree: true, sentence: `The couples agree: ${tenth(low.celsius)} to ${tenth(high.celsius)}.` };
    }
    return {
      agree: null,
      sentence: `${first.name} shows ${tenth(first.celsius)}: write what the room’s thermometer shows.`,
    };
  }
  const furthest = Math.abs(low.celsius - roomC) > Math.abs(high.celsius - roomC) ? low : high;
  if (Math.abs(furthest.celsius - roomC) > AGREE_C) {
    const pair = `${furthest.name} shows ${tenth(furthest.celsius)}, the room ${tenth(roomC)}`;
    return { agree: false, sentence: `Off the room’s thermometer: ${pair}. Look at plug, letter and thermometer.` };
  }
  const range = told.length > 1 ? `${tenth(low.celsius)} to ${tenth(high.celsius)}` : tenth(first.celsius);
  return { agree: true, sentence: `As warm as the room: ${range}, the room ${tenth(roomC)}.` };
}

function whole(celsius: number): string {
  return String(Math.round(celsius));
}

function tenth(celsius: number): string {
  return celsius.toFixed(1);
}
