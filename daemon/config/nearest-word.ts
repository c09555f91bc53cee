/** Finds the word that somebody most likely meant. */

/** The known word that `word` is a slip of, or undefined where none is near: at most a third of its letters wrong, or one contains the other. */
export function nearestWord(word: string, known: readonly string[]): string | undefined {
  const asked = plain(word);
  if (asked === '') return undefined;
  const ranked = known
    .map((candidate) => ({ candidate, distance: distance(asked, plain(candidate)) }))
    .sort((a, b) => a.distance - b.distance);
  const best = ranked[0];
  if (best !== undefined && best.distance <= Math.max(1, Math.floor(asked.length / 3))) return best.candidate;
  return known.find((candidate) => {
    const name = plain(candidate);
    return (asked.length >= 3 && name.startsWith(asked)) || (name.length >= 3 && asked.startsWith(name));
  });
}

/** `rate_c_per_h`, `rateCPerH` and `RateCperH` are one word. */
function plain(word: string): string {
  return word.toLowerCase().replace(/[^\p{L}\p{N}]/gu, '');
}

/** Levenshtein's distance: how many letters to change, add or leave out. */
function distance(a: string, b: string): number {
  let row = Array.from({ length: b.length + 1 }, (_, i) => i);
  for (let i = 1; i <= a.length; i++) {
    const next = [i];
    for (let j = 1; j <= b.length; j++) {
      const swap = (row[j - 1] ?? 0) + (a[i - 1] === b[j - 1] ? 0 : 1);
      next.push(Math.min(swap, (row[j] ?? 0) + 1, (next[j - 1] ?? 0) + 1));
    }
    row = next;
  }
  return row[b.length] ?? 0;
}
