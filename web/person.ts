/** The name under which this device presses and logs. */
import { recall, remember } from './keepsakes.ts';
import { acts } from './wording.ts';

const LONGEST_NAME = 60;

export function nameAtTheBench(): string {
  const kept = recall('name')?.trim() ?? '';
  return kept === '' ? acts.fallbackName : kept.slice(0, LONGEST_NAME);
}

export function rememberName(name: string): void {
  remember('name', name.trim().slice(0, LONGEST_NAME));
}
