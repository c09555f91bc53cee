/** Reads what a page sent against its schema; a wrong body becomes one sentence that names every fault. */
import { RequestError } from '../errors.ts';

interface Issue {
  readonly code?: string | undefined;
  readonly path: readonly PropertyKey[];
  readonly message: string;
  readonly keys?: readonly string[];
  readonly input?: unknown;
}

/** The part of a schema that is used here. */
export interface BodySchema<T> {
  safeParse(
    body: unknown,
  ):
    | { readonly success: true; readonly data: T }
    | { readonly success: false; readonly error: { readonly issues: readonly Issue[] } };
}

/**
 * @param right what the body should hold, as the refusal says it
 * @throws RequestError 400
 */
export function readBody<T>(schema: BodySchema<T>, body: unknown, right: string): T {
  if (typeof body !== 'object' || body === null || Array.isArray(body)) {
    throw new RequestError(400, { what: 'it is not a JSON object', where: 'the body', right });
  }
  const read = schema.safeParse(body);
  if (read.success) return read.data;
  const { issues } = read.error;
  const where = [...new Set(issues.flatMap((issue) => places(issue)))].join(', ');
  throw new RequestError(400, { what: issues.map((issue) => sentence(issue, body)).join('; '), where, right });
}

function places(issue: Issue): readonly string[] {
  if (issue.code === 'unrecognized_keys') return [...(issue.keys ?? [])];
  return [issue.path.map(String).join('.') || 'the body'];
}

function sentence(issue: Issue, body: object): string {
  const name = issue.path.map(String).join('.');
  if (issue.code === 'unrecognized_keys') return `${(issue.keys ?? []).join(', ')} is not known here`;
  const first = issue.path[0];
  if (first !== undefined && !Object.hasOwn(body, first)) return `${name} is missing`;
  switch (issue.code) {
    case 'too_big':
      return `${name} is too large`;
    case 'too_small':
      return `${name} is too small or empty`;
    default:
      return `${name} is not of the right kind`;
  }
}
