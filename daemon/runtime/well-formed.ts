/** Text as people and pages send it may hold half a letter (a lone surrogate), which no file can: it becomes U+FFFD. */

/** The same data with every text in it whole. */
export function wellFormed<T>(value: T): T {
  return clean(value) as T;
}

function clean(value: unknown): unknown {
  if (typeof value === 'string') return value.toWellFormed();
  if (Array.isArray(value)) return value.map(clean);
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(Object.entries(value).map(([key, one]) => [key.toWellFormed(), clean(one)]));
}
