/** The questions of the page on which a kiln is set up; only from the workshop's own machine. */

import type { FastifyRequest } from 'fastify';
import { kilnFormBody, newKilnBody, placeBody } from '../wire/setup.ts';
import { readBody } from './read-body.ts';
import type { Route } from './route.ts';
import type { SetupDesk } from './setup-desk.ts';

const PLACE =
  'kind (serial, tcp, mqtt, modbus-rtu or modbus-tcp) with port and baud, address, url, or what else belongs to it';
const KILN = 'name, heat (gas or electric), closure (lid or door) and picks, each {sensor, letter, offer, way}';

const FORM =
  'name, heat, closure, inputs and sensors, each {was, name, letter, unit, correction, register, spot}, as /api/setup/kilns gives them';

export function setupRoutes(desk: SetupDesk): readonly Route[] {
  return [
    { method: 'GET', url: '/api/setup/places', commands: true, answer: () => desk.places() },
    { method: 'GET', url: '/api/setup/ear', commands: true, answer: () => ({ ear: desk.heard() }) },
    {
      method: 'PUT',
      url: '/api/setup/ear',
      commands: true,
      answer: async (request) => ({ ear: await desk.listenAt(readBody(placeBody, request.body, PLACE)) }),
    },
    {
      method: 'POST',
      url: '/api/setup/ear/stop',
      commands: true,
      answer: async () => {
        await desk.stopListening();
        return { ok: true };
      },
    },
    { method: 'GET', url: '/api/setup/kilns', commands: true, answer: () => desk.forms() },
    {
      method: 'PUT',
      url: '/api/setup/kilns/:id',
      commands: true,
      answer: async (request) => {
        await desk.change({ id: idIn(request), ...readBody(kilnFormBody, request.body, FORM) });
        return { ok: true };
      },
    },
    {
      method: 'POST',
      url: '/api/setup/kilns/:id/remove',
      commands: true,
      answer: async (request) => {
        await desk.remove(idIn(request));
        return { ok: true };
      },
    },
    {
      method: 'POST',
      url: '/api/setup/kilns',
      commands: true,
      answer: async (request, reply) => {
        const added = await desk.add(readBody(newKilnBody, request.body, KILN));
        reply.status(201);
        return added;
      },
    },
  ];
}

function idIn(request: FastifyRequest): string {
  return (request.params as { readonly id: string }).id;
}
