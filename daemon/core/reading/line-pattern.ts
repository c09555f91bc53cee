/**
 * A declared pattern of a line: its text with the name of a sensor in braces where that sensor's figure stands, and `{-}`
 * for what differs and is of no concern: `T1: {shelf} C, fan {-}`. A run of blanks counts as one.
 *
 * No regular expression: a field goes up to the next piece of text, so matching takes one pass whatever comes
 * (requirement C10).
 */

export type PatternPart =
  | { readonly kind: 'text'; readonly text: string }
  | { readonly kind: 'field'; readonly name: string };

/** `{-}`, as in a list of columns. */
const SKIPPED = '-';

export function patternParts(pattern: string): readonly PatternPart[] {
  return oneBlankEach(pattern)
    .split(/(\{[^{}]*\})/)
    .filter((piece) => piece !== '')
    .map((piece) =>
      piece.startsWith('{') && piece.endsWith('}')
        ? { kind: 'field', name: piece.slice(1, -1).trim() }
        : { kind: 'text', text: piece },
    );
}

/** Where one figure ends and the next begins could not be told. */
export function hasFieldsSideBySide(parts: readonly PatternPart[]): boolean {
  return parts.some((part, i) => part.kind === 'field' && parts[i + 1]?.kind === 'field');
}

/** What stands at each name, `{-}` left out; undefined for a line of another pattern. */
export function matchPattern(
  line: string,
  parts: readonly PatternPart[],
): readonly (readonly [string, string])[] | undefined {
  const text = oneBlankEach(line);
  const fields: (readonly [string, string])[] = [];
  let at = 0;
  for (const [i, part] of parts.entries()) {
    if (part.kind === 'text') {
      if (!text.startsWith(part.text, at)) return undefined;
      at += part.text.length;
      continue;
    }
    const next = parts[i + 1];
    const end = next?.kind === 'text' ? text.indexOf(next.text, at) : text.length;
    if (end < 0) return undefined;
    if (part.name !== SKIPPED) fields.push([part.name, text.slice(at, end).trim()]);
    at = end;
  }
  return at === text.length ? fields : undefined;
}

function oneBlankEach(text: string): string {
  return text.trim().replace(/[ \t]+/g, ' ');
}
