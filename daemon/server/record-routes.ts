/** The questions about past firings and their records. */
import type { FastifyReply, FastifyRequest } from 'fastify';
import { RequestError } from '../errors.ts';
import { MOST_PHOTO_BYTES } from '../wire/photo-limits.ts';
import { correctionBody, photoQuery, signOffBody } from '../wire/rest-bodies.ts';
import { noPicture } from './picture-body.ts';
import { readBody } from './read-body.ts';
import type { RecordDesk, RowQuery } from './record-desk.ts';
import type { Route } from './route.ts';

const MOST_ROWS = 1000;
const done = { ok: true };

/** @param firingId the id in a request's address, @throws RequestError */
export function recordRoutes(records: RecordDesk, firingId: (request: FastifyRequest) => string): readonly Route[] {
  const file = async (reply: FastifyReply, type: string, name: string, content: Promise<NodeJS.ReadableStream>) => {
    const stream = await content;
    reply.header('content-type', type).header('content-disposition', `attachment; filename="${name}"`);
    return reply.send(stream);
  };
  return [
    { method: 'GET', url: '/api/firings', answer: (request) => records.search(queryOf(request)) },
    { method: 'GET', url: '/api/firings/:id/proof', answer: (request) => records.proof(firingId(request)) },
    { method: 'GET', url: '/api/proof', answer: () => records.workshopProof() },
    {
      method: 'GET',
      url: '/api/firings/:id/export.zip',
      answer: (request, reply) => {
        const id = firingId(request);
        return file(reply, 'application/zip', `${id}.zip`, records.exportZip(id));
      },
    },
    {
      method: 'GET',
      url: '/api/firings/:id/report.pdf',
      answer: (request, reply) => {
        const id = firingId(request);
        return file(reply, 'application/pdf', `${id}.pdf`, records.reportPdf(id));
      },
    },
    {
      method: 'GET',
      url: '/api/firings/:id/readings.csv',
      answer: (request, reply) => {
        const id = firingId(request);
        return file(reply, 'text/csv; charset=utf-8', `${id}.csv`, records.readingsCsv(id));
      },
    },
    {
      method: 'POST',
      url: '/api/firings/:id/corrections',
      commands: true,
      answer: async (request) => {
        const right = 'by (a name), line (its number), is (what it should say) and why (up to 500 letters)';
        const { by, line, is, why } = readBody(correctionBody, request.body, right);
        await records.correct(firingId(request), by, line, is, why);
        return done;
      },
    },
    {
      method: 'POST',
      url: '/api/firings/:id/photos',
      pictureBytes: MOST_PHOTO_BYTES,
      answer: async (request, reply) => {
        const id = firingId(request);
        const { body } = request;
        if (!Buffer.isBuffer(body)) throw noPicture();
        const right = 'by (a name of up to 60 letters) and, if you like, text (up to 2,000 letters) in the address';
        const { by, text = '' } = readBody(photoQuery, { ...Object(request.query) }, right);
        const filed = await records.addPhoto(id, by, text, body);
        reply.status(201);
        return filed;
      },
    },
    {
      method: 'GET',
      url: '/api/firings/:id/photos/:name',
      answer: async (request, reply) => {
        const { name } = request.params as { name: string };
        const { media, bytes } = await records.photo(firingId(request), name);
        reply.header('content-type', media).header('content-disposition', 'inline');
        return reply.send(bytes);
      },
    },
    {
      method: 'POST',
      url: '/api/firings/:id/sign-offs',
      commands: true,
      answer: async (request) => {
        const right = 'by (a name of up to 60 letters) and meaning (what is signed for, up to 500 letters)';
        const { by, meaning } = readBody(signOffBody, request.body, right);
        await records.signOff(firingId(request), by, meaning);
        return done;
      },
    },
  ];
}

function queryOf(request: FastifyRequest): RowQuery {
  const asked = request.query as Readonly<Record<string, unknown>>;
  const text = (key: string): string | undefined => {
    const value = asked[key];
    if (value === undefined || value === '') return undefined;
    if (typeof value === 'string' && value.length <= 200) return value;
    throw new RequestError(400, { what: 'it is given twice or too long', where: key, right: 'up to 200 letters' });
  };
  const day = (key: string): number | undefined => {
    const value = text(key);
    const atMs = value === undefined ? undefined : Date.parse(value);
    if (atMs === undefined || Number.isFinite(atMs)) return atMs;
    throw new RequestError(400, { what: 'this is no day', where: key, right: 'a day such as 2026-11-25' });
  };
  const limit = text('limit');
  if (limit !== undefined && !(/^\d{1,4}$/.test(limit) && Number(limit) >= 1 && Number(limit) <= MOST_ROWS)) {
    throw new RequestError(400, { what: 'this is no number of firings', where: 'limit', right: `1 to ${MOST_ROWS}` });
  }
  return {
    text: text('text'),
    kiln: text('kiln'),
    schedule: text('schedule'),
    alert: text('alert'),
    fromMs: day('from'),
    toMs: day('to'),
    limit: limit === undefined ? undefined : Number(limit),
  };
}
