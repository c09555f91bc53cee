/** The few things this browser remembers: the name at the bench, the page's brightness, the kiln in view. */
export type Keepsake = 'name' | 'theme' | 'kiln' | 'reach' | 'sound' | 'unit' | 'bell';

function key(keepsake: Keepsake): string {
  return `spyhole.${keepsake}`;
}

export function recall(keepsake: Keepsake): string | null {
  try {
    return localStorage.getItem(key(keepsake));
  } catch {
    return null; // Storage is forbidden in this browser: the page works without memory.
  }
}

export function remember(keepsake: Keepsake, value: string): void {
  try {
    localStorage.setItem(key(keepsake), value);
  } catch {
    // As above: the choice holds until the page is closed.
  }
}
