/** What an alert is called in a word or two: by its kind, by what heats the kiln, by its cause where that is known. */
import type { AlertEvent, AlertKind, Heat } from './wire-types.ts';
import { alertWord, causeWord, heatLostWord } from './wording.ts';

/** @param heat null where it is not known any more, as of a kiln that has left the configuration */
export function kindWord(kind: AlertKind, heat: Heat | null): string {
  return kind === 'heat-lost' && heat !== null ? heatLostWord[heat] : alertWord[kind];
}

export function wordOfAlert({ alert, cause }: Pick<AlertEvent, 'alert' | 'cause'>, heat: Heat | null): string {
  // A newer daemon may know causes that this page does not: then the kind's own word stands.
  const known = alert === 'sensor-fault' && cause !== undefined ? causeWord[cause] : undefined;
  return known ?? kindWord(alert, heat);
}
