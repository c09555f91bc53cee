/** Takes a picture as the body of a request, where its address takes pictures. */
import type { FastifyInstance, FastifyRequest } from 'fastify';
import { RequestError } from '../errors.ts';
import { PHOTO_RIGHT } from '../wire/photo-limits.ts';

/** Each stands in memory as a whole until it is on the disk. */
const MOST_AT_ONCE = 3;
/** A slow network in a workshop takes this long for the largest picture (1.6 Mbit/s). */
export const PICTURE_TIMEOUT_MS = 60_000;

export function takesPicture(request: FastifyRequest): boolean {
  return Object(request.routeOptions.config).takesPicture === true;
}

export function acceptPictures(app: FastifyInstance): void {
  let open = 0;
  app.addContentTypeParser(/^image\//, async (request: FastifyRequest, payload: NodeJS.ReadableStream) => {
    if (!takesPicture(request)) {
      const fault = {
        what: 'the body is not said to be JSON',
        where: 'the header Content-Type',
        right: 'application/json',
      };
      throw new RequestError(415, fault);
    }
    if (open >= MOST_AT_ONCE) {
      const fault = { what: 'other pictures are being filed', where: 'the daemon', right: 'to try again in a moment' };
      throw new RequestError(503, fault);
    }
    open += 1;
    try {
      return await collect(payload, request.routeOptions.bodyLimit, Number(request.headers['content-length']));
    } finally {
      open -= 1;
    }
  });
}

async function collect(payload: NodeJS.ReadableStream, mostBytes: number, saidBytes: number): Promise<Buffer> {
  const tooLarge = (): RequestError =>
    new RequestError(413, { what: 'the picture is too large', where: 'the body', right: PHOTO_RIGHT });
  if (saidBytes > mostBytes) throw tooLarge();
  const parts: Buffer[] = [];
  let bytes = 0;
  for await (const part of payload) {
    parts.push(Buffer.from(part as Buffer));
    bytes += part.length;
    if (bytes > mostBytes) throw tooLarge();
  }
  return Buffer.concat(parts);
}

export function noPicture(): RequestError {
  return new RequestError(415, { what: 'this is no such picture', where: 'the body', right: PHOTO_RIGHT });
}
