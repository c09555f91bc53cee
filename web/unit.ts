/** Degrees as this screen shows them. Only what is shown: whatever is sent, kept or judged stays in °C. */
export type Unit = 'C' | 'F';

let chosen: Unit = 'C';

export function unit(): Unit {
  return chosen;
}

export function setUnit(next: Unit): void {
  chosen = next;
}

/** 100 °C is 212 °F. */
export function shownDegrees(celsius: number): number {
  return chosen === 'C' ? celsius : celsius * 1.8 + 32;
}

/** A difference or a rate: 100 °C of it are 180 °F. */
export function shownDifference(deltaC: number): number {
  return chosen === 'C' ? deltaC : deltaC * 1.8;
}

/**
 * A sentence of the daemon, whose degrees are °C, as this screen shows degrees. Only what is surely a temperature is
 * turned: a number with °C, or a bare one between 20 and 1400 that is no time, no minutes, no mark and no count.
 */
export function inShownUnit(sentence: string): string {
  if (chosen === 'C') return sentence;
  return sentence
    .replace(
      /(\d+(?:\.\d+)?)(\s*°C\/h|\s*°C an hour|\s*°C a minute| an hour\b| a minute\b)/g,
      (_, n: string, per: string) => mark(shownDifference(Number(n)), n, per.replace('°C', '°F')),
    )
    .replace(/(\d+(?:\.\d+)?)(\s*°C)\b/g, (_, n: string) => mark(shownDegrees(Number(n)), n, ' °F'))
    .replace(BARE, (n: string) => (Number(n) < 20 || Number(n) > 1400 ? n : written(shownDegrees(Number(n)), n)))
    .replaceAll(DONE, '');
}

/** Set before a number that is turned already. */
const DONE = '\u2060';
const BARE =
  /(?<![\d.,\u2060]|\d:|\b(?:mark|kiln|Kiln|part|segment|of|± ?) ?)\d{2,4}(?:\.\d+)?(?!\d|:\d|[.,]\d|\s*(?:min\b|minutes?\b|s\b|seconds?\b|h\b|hours?\b|of\b|mm\b|mbar\b|%|lines\b|°F))/g;

function mark(value: number, like: string, after: string): string {
  return `${DONE}${written(value, like)}${after}`;
}

/** As many decimals as it had. */
function written(value: number, like: string): string {
  return value.toFixed(like.split('.')[1]?.length ?? 0);
}
