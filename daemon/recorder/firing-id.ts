/** Names of firings: made by the program, safe as a folder's name, and in order of time when sorted by name. */
import { RecordError } from '../errors.ts';

const idPattern = /^[0-9A-Za-z-]{1,64}$/;

/**
 * The id of a new firing, such as `20261125T101500Z-gas-3f9a`.
 *
 * @param atMs UTC ms
 * @param kilnId letters and digits of it are kept, 32 characters at most
 * @param randomHex a few hexadecimal digits, so that two firings of one second differ
 */
export function newFiringId(atMs: number, kilnId: string, randomHex: string): string {
  const time = new Date(atMs).toISOString().replace(/[-:]|\.\d+/g, '');
  const kiln = kilnId.replace(/[^0-9A-Za-z]+/g, '-').slice(0, 32);
  return requireFiringId([time, kiln.replace(/^-|-$/g, ''), randomHex].filter((part) => part !== '').join('-'));
}

export function isFiringId(text: string): boolean {
  return idPattern.test(text);
}

/** The text itself, if it can be an id: such a one never leads out of the folder of firings. @throws RecordError */
export function requireFiringId(text: string): string {
  if (isFiringId(text)) return text;
  const shown = JSON.stringify(text.slice(0, 80));
  throw new RecordError('unknown-firing', `${shown} is no firing's id: ids have up to 64 letters, digits and hyphens.`);
}
