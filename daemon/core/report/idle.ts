/** The sentence of a kiln that is not being fired. */
import type { KilnSetup } from '../plan/kiln.ts';

export function idleSentence(kiln: KilnSetup, celsius: number | null, beginsByHand: boolean): string {
  if (celsius === null) return 'No reading yet. Look at the cable, the plug and the kiln entry of the configuration.';
  const now = Math.round(celsius);
  if (now > 50) return `No firing. The kiln is at ${now}. Keep the ${kiln.closure} shut.`;
  return beginsByHand
    ? `No firing. The kiln is at ${now}. Choose a plan, then light it.`
    : `No firing. The kiln is at ${now}.`;
}
