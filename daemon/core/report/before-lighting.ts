/** The list before lighting as it stands for a kiln whose painter has not made one yet. Common practice, no source. */
import type { KilnSetup } from '../plan/kiln.ts';

export function usualList(kiln: Pick<KilnSetup, 'heat' | 'closure'>): readonly string[] {
  const both = ['Pieces the right way up: stain side checked', 'Shelf dressed and dry', 'Extraction on, flue clear'];
  return kiln.heat === 'gas'
    ? [
        ...both,
        'Carbon monoxide alarm works',
        'Bottle full enough, no leak by soap water',
        'Bung and spyhole glasses at hand',
      ]
    : [...both, `Elements whole, ${kiln.closure} closes`, 'Controller shows the right programme'];
}
