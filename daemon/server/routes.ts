/** The questions and deeds of `/api`, each handed to the desk. */
import type { FastifyInstance, FastifyRequest } from 'fastify';
import { RequestError } from '../errors.ts';
import {
  actBody,
  beginBody,
  endBody,
  listBody,
  noteBody,
  planBody,
  putAsideBody,
  resetBody,
  seenBody,
  switchOffBody,
  switchOnBody,
} from '../wire/rest-bodies.ts';
import type { Desk } from './desk.ts';
import { readBody } from './read-body.ts';
import type { RecordDesk } from './record-desk.ts';
import { recordRoutes } from './record-routes.ts';
import type { Route } from './route.ts';
import type { SetupDesk } from './setup-desk.ts';
import { setupRoutes } from './setup-routes.ts';

/** Where nobody gives a name. */
const nobody = 'the page';
/** Most points of one curve: a wide screen has some 4,000 columns. */
const maxPoints = 5000;
const defaultPoints = 600;

/**
 * Adds every route, and for each address the refusal of the methods it does not know.
 * `mayCommand` says whether this request comes from the workshop's own machine.
 */
export function addRoutes(
  app: FastifyInstance,
  desk: Desk,
  mayCommand: (request: FastifyRequest) => boolean,
  records?: RecordDesk,
  setup?: SetupDesk,
): void {
  const ofRecords = records === undefined ? [] : recordRoutes(records, firingId);
  const ofSetup = setup === undefined ? [] : setupRoutes(setup);
  const isOfRecords = (route: Route): boolean =>
    ofRecords.some((other) => other.method === route.method && other.url === route.url);
  const routes = [...routesOf(desk, mayCommand).filter((route) => !isOfRecords(route)), ...ofRecords, ...ofSetup];
  for (const { method, url, commands, pictureBytes, answer } of routes) {
    app.route({
      method,
      url,
      ...(pictureBytes !== undefined && { bodyLimit: pictureBytes, config: { takesPicture: true } }),
      handler: async (request, reply) => {
        if (commands && !mayCommand(request)) throw fromNetwork();
        reply.header('cache-control', 'no-store');
        return answer(request, reply);
      },
    });
  }
  for (const url of new Set(routes.map((route) => route.url))) {
    const known = routes.filter((route) => route.url === url).map((route) => route.method);
    const right = known.join(' or ');
    app.route({
      method: (['GET', 'POST', 'PUT'] as const).filter((method) => !known.includes(method)),
      url,
      exposeHeadRoute: false,
      handler: async (_request, reply) => {
        reply.header('allow', known.join(', '));
        throw new RequestError(405, { what: 'this cannot be asked this way', where: 'the method', right });
      },
    });
  }
}

function routesOf(desk: Desk, mayCommand: (request: FastifyRequest) => boolean): readonly Route[] {
  return [
    { method: 'GET', url: '/api/state', answer: (request) => desk.snapshot(mayCommand(request)) },
    { method: 'GET', url: '/api/firings', answer: () => desk.firings() },
    { method: 'GET', url: '/api/firings/:id', answer: (request) => desk.firing(firingId(request)) },
    {
      method: 'GET',
      url: '/api/firings/:id/curve',
      answer: (request) => desk.curve(firingId(request), pointsAsked(request)),
    },
    {
      method: 'GET',
      url: '/api/firings/:id/last-time',
      answer: async (request) => ({ lastTime: await desk.lastTime(firingId(request)) }),
    },
    {
      method: 'GET',
      url: '/api/kilns/:id/before-lighting',
      answer: (request) => desk.beforeLighting(idOf(request), roomAsked(request)),
    },
    {
      method: 'GET',
      url: '/api/kilns/:id/calendar',
      answer: (request) => desk.calendar(idOf(request), scheduleAsked(request)),
    },
    { method: 'GET', url: '/health', answer: () => health(desk) },
    {
      method: 'GET',
      url: '/live',
      answer: () => {
        throw new RequestError(426, { what: 'this is the live feed', where: '/live', right: 'a WebSocket' });
      },
    },
    {
      method: 'POST',
      url: '/api/firings',
      commands: true,
      answer: async (request, reply) => {
        const right = 'kiln (its id) and, if it is known, schedule (a key of the shelf or a whole schedule)';
        const body = readBody(beginBody, request.body, right);
        const begun = await desk.begin(body.kiln, body.schedule, body.by ?? nobody);
        reply.status(201);
        return { id: begun.id };
      },
    },
    {
      method: 'POST',
      url: '/api/firings/:id/end',
      commands: true,
      answer: async (request) => {
        const body = readBody(endBody, request.body, 'by (a name of up to 60 letters), or nothing: {}');
        await desk.deed(firingId(request), body.by ?? nobody, { deed: 'end' });
        return done;
      },
    },
    {
      method: 'PUT',
      url: '/api/firings/:id/schedule',
      commands: true,
      answer: async (request) => {
        const right = 'schedule (a key of the shelf or a whole schedule) and, if you like, by (a name)';
        const body = readBody(planBody, request.body, right);
        await desk.plan(firingId(request), body.schedule, body.by ?? nobody);
        return done;
      },
    },
    {
      method: 'POST',
      url: '/api/firings/:id/notes',
      commands: true,
      answer: async (request) => {
        const body = readBody(noteBody, request.body, 'by (a name of up to 60 letters) and text (up to 2,000 letters)');
        await desk.deed(firingId(request), body.by, { deed: 'note', text: body.text });
        return done;
      },
    },
    {
      method: 'POST',
      url: '/api/firings/:id/acts',
      answer: async (request) => {
        const right = 'what (up to 80 letters), by (a name of up to 60 letters) and, if there is one, value';
        const { what, value, by, correctsAtMs } = readBody(actBody, request.body, right);
        await desk.deed(firingId(request), by, {
          deed: 'act',
          what,
          ...(value === undefined ? {} : { value }),
          ...(correctsAtMs === undefined ? {} : { correctsAtMs }),
        });
        return done;
      },
    },
    {
      method: 'POST',
      url: '/api/firings/:id/list',
      answer: async (request) => {
        const right = 'by (a name), items (up to 40 of {text, isDone}) and, if somebody looked, roomC';
        const { by, items, roomC } = readBody(listBody, request.body, right);
        await desk.deed(firingId(request), by, { deed: 'list', items, ...(roomC === undefined ? {} : { roomC }) });
        return done;
      },
    },
    {
      method: 'POST',
      url: '/api/alerts/:id/seen',
      answer: async (request) => {
        const alertId = idOf(request);
        const body = readBody(seenBody, request.body, 'by (a name of up to 60 letters)');
        await desk.alertDeed(alertId, body.by, { deed: 'seen', alertId });
        return done;
      },
    },
    {
      method: 'POST',
      url: '/api/alerts/:id/put-aside',
      answer: async (request) => {
        const alertId = idOf(request);
        const right = 'by (a name of up to 60 letters) and minutes (a whole number from 1 to 30)';
        const { by, minutes } = readBody(putAsideBody, request.body, right);
        await desk.alertDeed(alertId, by, { deed: 'put-aside', alertId, minutes });
        return done;
      },
    },
    {
      method: 'POST',
      url: '/api/alerts/:id/reset',
      answer: async (request) => {
        const alertId = idOf(request);
        const { by } = readBody(resetBody, request.body, 'by (a name of up to 60 letters)');
        await desk.alertDeed(alertId, by, { deed: 'reset', alertId });
        return done;
      },
    },
    {
      method: 'POST',
      url: '/api/firings/:id/switch-off',
      commands: true,
      answer: async (request) => {
        const right = 'by (a name of up to 60 letters), alert (a kind of alert) and why (3 to 200 letters)';
        const { by, alert, why } = readBody(switchOffBody, request.body, right);
        await desk.deed(firingId(request), by, { deed: 'switch-off', alert, why });
        return done;
      },
    },
    {
      method: 'POST',
      url: '/api/firings/:id/switch-on',
      commands: true,
      answer: async (request) => {
        const right = 'by (a name of up to 60 letters) and alert (a kind of alert)';
        const { by, alert } = readBody(switchOnBody, request.body, right);
        await desk.deed(firingId(request), by, { deed: 'switch-on', alert });
        return done;
      },
    },
  ];
}

const done = { ok: true };

function health(desk: Desk): { ok: true } {
  if (desk.isHealthy()) return { ok: true };
  throw new RequestError(503, {
    what: 'readings are not being judged',
    where: 'the watch',
    right: 'to go to the kiln and to restart the daemon',
  });
}

function idOf(request: FastifyRequest): string {
  const { id } = request.params as { id: string };
  return id;
}

/** Ids are made by the program: anything that could lead a file's path elsewhere is none of them. */
function firingId(request: FastifyRequest): string {
  const id = idOf(request);
  if (/^[A-Za-z0-9_-][A-Za-z0-9._:-]*$/.test(id)) return id;
  throw new RequestError(404, {
    what: 'there is no such firing',
    where: 'the id',
    right: 'an id that /api/firings lists',
  });
}

function pointsAsked(request: FastifyRequest): number {
  const { points } = request.query as { points?: unknown };
  if (points === undefined) return defaultPoints;
  const count = typeof points === 'string' && /^\d{1,6}$/.test(points) ? Number(points) : Number.NaN;
  if (count >= 2 && count <= maxPoints) return count;
  throw new RequestError(400, {
    what: 'this is no number of points',
    where: 'points',
    right: `a whole number from 2 to ${maxPoints}`,
  });
}

function roomAsked(request: FastifyRequest): number | undefined {
  const { roomC } = request.query as { roomC?: unknown };
  if (roomC === undefined || roomC === '') return undefined;
  const celsius = typeof roomC === 'string' && /^-?\d{1,2}(\.\d{1,2})?$/.test(roomC) ? Number(roomC) : Number.NaN;
  if (celsius >= -40 && celsius <= 60) return celsius;
  throw new RequestError(400, {
    what: 'this is no temperature of a room',
    where: 'roomC',
    right: 'degrees Celsius from -40 to 60, such as 18.5',
  });
}

function scheduleAsked(request: FastifyRequest): string {
  const { schedule } = request.query as { schedule?: unknown };
  if (typeof schedule === 'string' && schedule !== '') return schedule;
  throw new RequestError(400, {
    what: 'no schedule is named',
    where: 'schedule',
    right: 'a key that /api/state lists',
  });
}

function fromNetwork(): RequestError {
  return new RequestError(403, {
    what: 'a firing is begun, ended, planned and annotated, and a kiln set up, only at the machine that watches the kilns',
    where: 'this device',
    right: 'to do it there; from here you can read, press "I\'ve seen it", log acts of the hand and file photographs',
  });
}
