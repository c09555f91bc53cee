/** What the search form asks for, as the daemon takes it. */

/** As the address takes them; an empty field asks for nothing. */
export interface SearchFields {
  readonly text: string;
  readonly kiln: string;
  readonly schedule: string;
  readonly alert: string;
  readonly from: string;
  readonly to: string;
}

export const EMPTY_SEARCH: SearchFields = { text: '', kiln: '', schedule: '', alert: '', from: '', to: '' };

/** Days are those on the wall of the workshop: the last one is asked for whole. */
export function queryOf(
  fields: SearchFields,
  utcOffsetMinutes: number,
  limit: number,
): Readonly<Record<string, string>> {
  const { from, to, ...others } = fields;
  const startOf = (day: string, more: number): string =>
    new Date(Date.parse(`${day}T00:00:00Z`) + more - utcOffsetMinutes * 60_000).toISOString();
  const query: Record<string, string> = { limit: String(limit) };
  for (const [key, value] of Object.entries(others)) if (value.trim() !== '') query[key] = value.trim();
  if (Number.isFinite(Date.parse(from))) query.from = startOf(from, 0);
  if (Number.isFinite(Date.parse(to))) query.to = startOf(to, 86_400_000);
  return query;
}
