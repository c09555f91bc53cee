/**
 * The things that a hand touches or an eye looks for at a kiln, known by the words that name them: so that an act that
 * was logged answers the call that asked for it, and what a schedule asks for is not asked twice.
 */

export type Thing =
  | 'light'
  | 'heat-off'
  | 'turn-down'
  | 'pace'
  | 'close-vent'
  | 'open-vent'
  | 'close-door'
  | 'ports'
  | 'damper'
  | 'crack'
  | 'unload'
  | 'gloss'
  | 'cone'
  | 'trial';

/** Tried on the words without articles, in small letters. */
const WORDS: readonly (readonly [Thing, RegExp])[] = [
  ['light', /\b(light it|light (gas|burner|flame|kiln)|start controller)\b|^light$/],
  ['heat-off', /\b((gas|heat|burner|flame) off|switch(ed)? off|off at wall|lets? go)\b/],
  ['turn-down', /\b(turn(ed)? ((gas|heat|valve) )?down|(gas|heat|valve) down|stand by|stand at)\b/],
  ['pace', /\b(turn valve (for|to)|turn(ed)? ((gas|heat|valve) )?up|(gas|heat|valve) up)\b/],
  ['close-vent', /\b(close|shut)\b.*\bvent\b/],
  ['open-vent', /\b(vent open|open vent)\b/],
  ['close-door', /\b(close|shut)\b.*\b(door|lid)\b/],
  ['ports', /\b(ports?|spyhole plugged|plug spyhole|bung)\b/],
  ['damper', /\bdamper\b/],
  ['crack', /\bcrack\b/],
  ['unload', /\bunload\b/],
  ['gloss', /\bgloss\b/],
  ['cone', /\bcone\b/],
  ['trial', /\btrial\b/],
];

/** `crack the door or lid` and `Crack it` speak of one thing. */
export function thingsIn(text: string): ReadonlySet<Thing> {
  const said = plain(text);
  const found = WORDS.filter(([, words]) => words.test(said)).map(([thing]) => thing);
  // The damper comes after the gas: a call for the gas is not answered by the damper alone.
  return new Set(found.includes('heat-off') ? found.filter((thing) => thing !== 'damper') : found);
}

/** What was done, by an act's name and value as the page logs them: `valve` `mark 3`, `flame` `out`. */
export function thingsDone(what: string, value: string | undefined, isUp: boolean): ReadonlySet<Thing> {
  const how = (value ?? '').toLowerCase();
  switch (what.toLowerCase()) {
    case 'valve':
    case 'gas pressure':
      if (isUp) return new Set(['pace']);
      return new Set(/(^|\D)0+([.,]0+)?($|[^\d.,])/.test(how) ? ['heat-off', 'turn-down'] : ['turn-down', 'pace']);
    case 'flame':
    case 'heat':
      if (how === 'lit' || how === 'on') return new Set(['light']);
      return new Set(how === 'out' || how === 'off' ? ['heat-off', 'turn-down'] : []);
    case 'vent':
      return new Set([how === 'open' ? 'open-vent' : 'close-vent']);
    case 'door':
    case 'lid':
      return new Set([how === 'open' ? 'crack' : 'close-door']);
    case 'bung':
      return new Set(['ports']);
    default:
      return thingsIn(`${what} ${value ?? ''}`);
  }
}

/** The same words, whatever their case, articles and spaces. */
export function isSameSaying(one: string, other: string): boolean {
  return plain(one) === plain(other);
}

export function haveCommon(one: ReadonlySet<Thing>, other: ReadonlySet<Thing>): boolean {
  return [...one].some((thing) => other.has(thing));
}

function plain(text: string): string {
  return text
    .toLowerCase()
    .replace(/\b(the|a|an)\b/g, ' ')
    .replace(/\s+/g, ' ')
    .trim();
}
