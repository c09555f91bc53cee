/** Finding a firing again: by its day, kiln, schedule, alert, or any word that was written about it. */
import type { Chronicle } from '../core/report/chronicle.ts';
import type { RowQuery } from '../server/record-desk.ts';
import type { FiringRow } from '../wire/live-messages.ts';
import type { Afterwords } from './afterwords.ts';

/** All that was said of a firing in words, for the search: small letters, accents left out. */
export function haystackOf(row: FiringRow, story: Chronicle, words: Afterwords): string {
  const said = [
    row.id,
    row.kilnName,
    row.scheduleName ?? '',
    story.schedule?.notes ?? '',
    story.schedule?.glass ?? '',
    ...Object.keys(row.alerts),
    ...story.acts.flatMap((act) => [act.what, act.value ?? '', act.by]),
    ...words.notes.flatMap((note) => [note.text, note.by]),
    ...words.corrections.flatMap(({ is, why, by }) => [is, why, by]),
    ...words.signOffs.flatMap(({ meaning, by }) => [meaning, by]),
  ];
  return plain([...new Set(said)].join('\n'));
}

export function fits(
  { row, haystack }: { readonly row: FiringRow; readonly haystack: string },
  query: RowQuery,
): boolean {
  if (query.kiln !== undefined && row.kiln !== query.kiln) return false;
  if (query.schedule !== undefined && row.scheduleName !== query.schedule) return false;
  if (query.alert !== undefined && row.alerts[query.alert] === undefined) return false;
  if (query.fromMs !== undefined && row.startedAtMs < query.fromMs) return false;
  if (query.toMs !== undefined && row.startedAtMs >= query.toMs) return false;
  const words = plain(query.text ?? '')
    .split(/\s+/)
    .filter(Boolean);
  return words.every((word) => haystack.includes(word));
}

function plain(text: string): string {
  return text
    .normalize('NFD')
    .replace(/\p{Mark}/gu, '')
    .toLowerCase();
}
