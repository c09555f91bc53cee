/**
 * Which screen the address names: `#/`, `#/firings`, `#/firings/<id>`, `#/compare/<id>,<id>`,
 * `#/proof`, `#/proof/<id>`, `#/begin`, `#/kilns`, `#/screen`.
 */
export type ScreenKey = 'watch' | 'firings' | 'compare' | 'proof' | 'begin' | 'kilns' | 'screen';

export interface Route {
  readonly screen: ScreenKey;
  /** A firing's id on the screens `firings` and `proof`. */
  readonly firing: string | null;
  /** Ids on the screen `compare`. */
  readonly compared?: readonly string[];
}

export function readRoute(hash: string): Route {
  const [first, second] = hash.replace(/^#\/?/, '').split('/');
  if (first === 'firings') return { screen: 'firings', firing: second ? decodeSafely(second) : null };
  if (first === 'proof') return { screen: 'proof', firing: second ? decodeSafely(second) : null };
  if (first === 'compare') {
    return { screen: 'compare', firing: null, compared: (second ?? '').split(',').filter(Boolean).map(decodeSafely) };
  }
  if (first === 'begin') return { screen: 'begin', firing: null };
  if (first === 'kilns') return { screen: 'kilns', firing: null };
  if (first === 'screen') return { screen: 'screen', firing: null };
  return { screen: 'watch', firing: null };
}

function decodeSafely(part: string): string {
  try {
    return decodeURIComponent(part);
  } catch {
    return part; // A mangled address: the daemon will say that there is no such firing.
  }
}

export const address = {
  watch: '#/',
  firings: '#/firings',
  begin: '#/begin',
  kilns: '#/kilns',
  screen: '#/screen',
  proof: '#/proof',
  proofOf: (id: string) => `#/proof/${encodeURIComponent(id)}`,
  compare: (ids: readonly string[]) => `#/compare/${ids.map(encodeURIComponent).join(',')}`,
  firing: (id: string) => `#/firings/${encodeURIComponent(id)}`,
};
