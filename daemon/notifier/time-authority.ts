/** Asks a time-stamping authority over HTTP (RFC 3161, section 3.4). It learns a hash, and nothing of the firing. */
import { NotifyError } from '../errors.ts';

/** @throws NotifyError where no answer of an authority came; what the answer says is not looked at here */
export type AskAuthority = (request: Uint8Array, stopping: AbortSignal) => Promise<Buffer>;

/** An authority answers in a second or two. Our choice. */
const GIVEN_UP_MS = 20_000;
/** An answer with its certificates has some 6 kB. */
const MOST_BYTES = 65_536;

export function timeAuthority(url: string, givenUpMs: number = GIVEN_UP_MS): AskAuthority {
  const refuse = (why: string, cause?: unknown): NotifyError =>
    new NotifyError('authority-silent', `The time authority ${url} ${why}.`, { cause });
  return async (request, stopping) => {
    const late = AbortSignal.timeout(givenUpMs);
    const signal = AbortSignal.any([late, stopping]);
    try {
      const headers = { 'content-type': 'application/timestamp-query', accept: 'application/timestamp-reply' };
      const answer = await fetch(url, { method: 'POST', headers, body: request, signal });
      if (!answer.ok) throw refuse(`answers ${answer.status}`);
      if (!(answer.headers.get('content-type') ?? '').startsWith('application/timestamp-reply')) {
        throw refuse('answers, but not as a time authority does');
      }
      return await bodyOf(answer, refuse);
    } catch (error) {
      if (error instanceof NotifyError) throw error;
      if (late.aborted) throw refuse(`does not answer within ${givenUpMs / 1000} s`, error);
      throw refuse(`cannot be reached${causeOf(error)}`, error);
    }
  };
}

async function bodyOf(answer: Response, refuse: (why: string) => NotifyError): Promise<Buffer> {
  const parts: Uint8Array[] = [];
  let bytes = 0;
  for await (const part of answer.body ?? []) {
    bytes += part.length;
    if (bytes > MOST_BYTES) throw refuse(`answers with more than ${MOST_BYTES} bytes`);
    parts.push(part);
  }
  return Buffer.concat(parts);
}

/** fetch() hides the system's own word one level down. */
function causeOf(error: unknown): string {
  const cause = error instanceof Error ? error.cause : undefined;
  const code = cause instanceof Error && 'code' in cause ? cause.code : undefined;
  return typeof code === 'string' ? ` (${code})` : '';
}
