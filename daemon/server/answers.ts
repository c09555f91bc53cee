/** The shape of every refusal, and the headers of every answer. */
import { type Fault, RequestError } from '../errors.ts';
import type { Refusal } from './guard.ts';

/** Styles set by a chart through the CSSOM are no inline styles; `data:` is for small pictures that the build inlines. */
const contentPolicy = [
  "default-src 'self'",
  "style-src 'self'",
  "img-src 'self' data:",
  "object-src 'none'",
  "base-uri 'none'",
  "form-action 'self'",
  "frame-ancestors 'none'",
].join('; ');

export const safeHeaders: Readonly<Record<string, string>> = {
  'content-security-policy': contentPolicy,
  'x-content-type-options': 'nosniff',
  'referrer-policy': 'no-referrer',
  'cross-origin-resource-policy': 'same-origin',
};

export function errorBody(fault: Fault): { error: Fault } {
  return { error: { what: fault.what, where: fault.where, right: fault.right } };
}

/** What the HTTP library calls its troubles, in our words. Anything not listed is our own failing. */
const knownTroubles: Readonly<Record<string, Refusal>> = {
  FST_ERR_CTP_INVALID_MEDIA_TYPE: {
    status: 415,
    fault: { what: 'the body is not said to be JSON', where: 'the header Content-Type', right: 'application/json' },
  },
  FST_ERR_CTP_BODY_TOO_LARGE: {
    status: 413,
    fault: { what: 'it is too large', where: 'the body', right: 'at most 64 kB' },
  },
  FST_ERR_CTP_EMPTY_JSON_BODY: {
    status: 400,
    fault: { what: 'it is empty', where: 'the body', right: 'a JSON object' },
  },
  FST_ERR_CTP_INVALID_JSON_BODY: {
    status: 400,
    fault: { what: 'it is not JSON', where: 'the body', right: 'a JSON object' },
  },
  FST_ERR_CTP_INVALID_CONTENT_LENGTH: {
    status: 400,
    fault: { what: 'it is not as long as its header says', where: 'the body', right: 'a Content-Length that fits' },
  },
  FST_ERR_BAD_URL: {
    status: 400,
    fault: { what: 'it cannot be read', where: 'the address', right: 'percent signs followed by UTF-8 bytes' },
  },
  FST_ERR_MAX_PARAM_LENGTH: {
    status: 404,
    fault: { what: 'no id is as long as this', where: 'the address', right: 'an id that the page shows' },
  },
};

/** The refusal for anything thrown while answering, or null where it is no fault of the asker. */
export function refusalOf(error: unknown): Refusal | null {
  if (error instanceof RequestError) return { status: error.status, fault: error.fault };
  if (!(error instanceof Error)) return null;
  const code = 'code' in error && typeof error.code === 'string' ? error.code : '';
  const known = knownTroubles[code];
  if (known !== undefined) return known;
  return null;
}

export const ourFailing: Refusal = {
  status: 500,
  fault: { what: 'this could not be answered', where: 'the daemon', right: 'to look into its log and to try again' },
};

/** One line of plain text: control characters and line ends of whatever was sent stand as a dot. */
export function oneLine(text: string): string {
  // biome-ignore lint/suspicious/noControlCharactersInRegex: these are the characters to take out
  return text.replace(/[\u0000-\u001f\u007f-\u009f\u2028\u2029]/g, '·').slice(0, 300);
}
