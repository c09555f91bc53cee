/** A record that goes on after a power cut, with what core had said of its last lines but could no longer write. */
import type { FiringEvent } from '../core/events.ts';
import type { FiringState } from '../core/state.ts';
import { canonicalLine } from '../recorder/canonical.ts';
import type { Line } from '../recorder/recorder.ts';
import { eventEntry, type Opening } from './record-lines.ts';
import { relive } from './relive.ts';

const SAID = ['alert', 'call', 'gap'];

/**
 * An input and what was said of it go into one write, but a power cut may tear that write: then the input stands in
 * the record and its alert does not, and nobody was told. Such words are `unsaid`: to be written and told at the return.
 */
export function reliveUnfinished(
  opening: Opening,
  lines: readonly Line[],
): { readonly state: FiringState; readonly unsaid: readonly FiringEvent[] } {
  const said: { readonly event: FiringEvent; readonly text: string }[] = [];
  const state = relive(opening, lines, (event) => {
    const entry = eventEntry(event);
    if (entry !== undefined) said.push({ event, text: canonicalLine(entry) });
  });
  const written = lines.filter((line) => SAID.includes(line.type)).map(({ n: _n, prev: _prev, ...entry }) => entry);
  // Where lines are missing from the middle, since a disk refused for hours, nothing can be said of the end.
  const isWhole = written.every((entry, i) => canonicalLine(entry) === said[i]?.text);
  return { state, unsaid: isWhole ? said.slice(written.length).map(({ event }) => event) : [] };
}
