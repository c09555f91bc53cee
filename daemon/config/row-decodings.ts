/** How core is to read the rows of a recorded curve. */
import type { KilnSetup } from '../core/plan/kiln.ts';
import { LID } from './input-parts.ts';

/** The sensor column of a row is its channel. */
export function rowDecodings(sensors: readonly string[]): KilnSetup['decodings'] {
  return { rows: { kind: 'channels', channels: Object.fromEntries([...sensors, LID].map((name) => [name, name])) } };
}
