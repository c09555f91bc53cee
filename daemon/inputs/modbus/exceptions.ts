/** What an instrument says instead of values, in plain words (requirement C5; the codes are those of V1.1b3, section 7). */

const WORDS: Readonly<Record<number, string>> = {
  1: 'it does not know this function: try table: input in place of table: holding, or the other way round',
  2: 'it has no such register: correct its number (or base, where the manual counts from 1)',
  3: 'it does not give so many registers at once: correct its number or type',
  4: 'it has a fault of its own: switch it off and on, and look at its display',
  5: 'it has heard and needs time: it is asked again by itself',
  6: 'it is busy: it is asked again by itself',
  8: 'its memory has an error: switch it off and on, and look at its display',
  10: 'the gateway is there, but has no way to the instrument: look at how the gateway is set up',
  11: 'the gateway is there, the instrument is not: check its power, its wires and its unit number',
};

export function exceptionInWords(code: number): string {
  return WORDS[code] ?? `it refuses with the code ${code}, which no standard names: look into its manual`;
}

/** The instrument itself has spoken, so no later answer to the question is to be feared. */
export function isFinal(code: number): boolean {
  return code !== 10 && code !== 11;
}

/** It may answer when it is asked again in a moment. */
export function isPassing(code: number): boolean {
  return code === 5 || code === 6;
}

/** The same question gets the same refusal each time. */
export function isLasting(code: number): boolean {
  return code >= 1 && code <= 3;
}
