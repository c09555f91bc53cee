/** A place in a JSON value: `chamber`, `data.chamber`, `sensors.0.celsius`. */

/** @returns undefined where there is nothing at this place; a name that holds dots itself is found whole */
export function jsonAt(value: unknown, place: string): unknown {
  if (typeof value !== 'object' || value === null) return undefined;
  if (Object.hasOwn(value, place)) return (value as Record<string, unknown>)[place];
  let part: unknown = value;
  for (const step of place.split('.')) {
    if (typeof part !== 'object' || part === null || !Object.hasOwn(part, step)) return undefined;
    part = (part as Record<string, unknown>)[step];
  }
  return part;
}

/** The text of a number, a word or a switch as a line would have it; undefined for a group or a list. */
export function textOfJson(value: unknown): string | undefined {
  if (value === null) return '';
  return typeof value === 'number' || typeof value === 'string' || typeof value === 'boolean'
    ? String(value)
    : undefined;
}

/** @returns undefined for a line that is no JSON */
export function parsedJson(line: string): unknown {
  try {
    return JSON.parse(line) as unknown;
  } catch {
    // A line that only looks like JSON: garbled, or another shape.
    return undefined;
  }
}
