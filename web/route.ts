/** Which screen the address names: `#/`, `#/firings`, `#/firings/<id>`, `#/begin`, `#/screen`. */
export type ScreenKey = 'watch' | 'firings' | 'begin' | 'screen';

export interface Route {
  readonly screen: ScreenKey;
  /** A firing's id on the screen `firings`. */
  readonly firing: string | null;
}

export function readRoute(hash: string): Route {
  const [first, second] = hash.replace(/^#\/?/, '').split('/');
  if (first === 'firings') return { screen: 'firings', firing: second ? decodeSafely(second) : null };
  if (first === 'begin') return { screen: 'begin', firing: null };
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
  screen: '#/screen',
  firing: (id: string) => `#/firings/${encodeURIComponent(id)}`,
};
