/** Words about a firing: notes, corrections that point at older lines, and sign-offs. Each is a line of its own. */
import type { Photo } from '../core/inputs.ts';
import { RequestError } from '../errors.ts';
import { readPhoto } from '../recorder/photo-files.ts';
import type { Entry, Line } from '../recorder/recorder.ts';
import type { Correction, Note, SignOff } from '../wire/live-messages.ts';

/** What somebody wants to add to a firing that is over. */
export type Words =
  | { readonly kind: 'note'; readonly by: string; readonly text: string; readonly photo?: Photo | undefined }
  | {
      readonly kind: 'correction';
      readonly by: string;
      readonly line: number;
      readonly is: string;
      readonly why: string;
    }
  | { readonly kind: 'sign-off'; readonly by: string; readonly meaning: string };

/**
 * The line that holds them.
 *
 * @param head hash of the record's last line, which a sign-off names
 * @throws RequestError for a correction of a line that nobody wrote by hand
 */
export function wordsEntry(words: Words, lines: readonly Line[], head: string, atMs: number): Entry {
  const { by } = words;
  switch (words.kind) {
    case 'note':
      return {
        type: 'note',
        t: atMs,
        by,
        text: words.text,
        ...(words.photo !== undefined && { photo: { ...words.photo } }),
      };
    case 'correction': {
      const was = handWritten(lines[words.line - 1]);
      if (was !== null) return { type: 'correction', t: atMs, by, line: words.line, was, is: words.is, why: words.why };
      throw new RequestError(409, {
        what: `line ${words.line} was not written by hand, so there is nothing to set right in it`,
        where: 'line',
        right:
          'the line of an act or a note, as the page of the firing shows it; what an instrument said stands as it is',
      });
    }
    case 'sign-off':
      return { type: 'sign-off', t: atMs, by, meaning: words.meaning, lines: lines.length, head };
  }
}

/** What a line says in the words of whoever wrote it, later corrections left aside; null for any other line. */
function handWritten(line: Line | undefined): string | null {
  if (line === undefined) return null;
  if (line.type === 'note') return String(line.text);
  if (line.type !== 'act') return null;
  const said = Object(line.said) as { text?: string; what?: string; value?: string };
  if (line.deed === 'note') return said.text ?? '';
  if (line.deed === 'act') return [said.what, said.value].filter(Boolean).join(' ');
  return null;
}

/** Deeds that stand among the acts of a firing. */
const ON_PAGE: ReadonlySet<string> = new Set(['act', 'switch-off', 'switch-on']);

export interface Afterwords {
  readonly notes: readonly Note[];
  readonly corrections: readonly Correction[];
  readonly signOffs: readonly SignOff[];
  /** Line numbers of acts of the hand, in their order. */
  readonly actLines: readonly number[];
}

/** The photograph that a note's line names, whether it was written while the firing was on or later. */
export function photoOf(line: Line): Photo | null {
  if (line.type === 'note') return readPhoto(line.photo);
  return line.type === 'act' && line.deed === 'note' ? readPhoto(Object(line.said).photo) : null;
}

/** All words in a record, those written while the firing was on among them. */
export function readAfterwords(lines: readonly Line[]): Afterwords {
  const notes: Note[] = [];
  const corrections: Correction[] = [];
  const signOffs: SignOff[] = [];
  const actLines: number[] = [];
  for (const line of lines) {
    const base = { atMs: line.t, by: String(line.by ?? '') };
    const photo = photoOf(line) ?? undefined;
    if (line.type === 'note') notes.push({ ...base, text: String(line.text), photo, line: line.n });
    else if (line.type === 'act' && line.deed === 'note') {
      notes.push({ ...base, text: String(Object(line.said).text ?? ''), photo, line: line.n });
    } else if (line.type === 'act' && ON_PAGE.has(String(line.deed))) actLines.push(line.n);
    else if (line.type === 'correction') {
      const { was, is, why } = line;
      corrections.push({ ...base, line: Number(line.line), was: String(was), is: String(is), why: String(why) });
    } else if (line.type === 'sign-off') {
      signOffs.push({ ...base, meaning: String(line.meaning), lines: Number(line.lines), head: String(line.head) });
    }
  }
  return { notes, corrections, signOffs, actLines };
}
