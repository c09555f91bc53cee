/** The questions of the page on which a kiln is set up; only from the workshop's own machine. */
import { newKilnBody, placeBody } from '../wire/setup.ts';
import { readBody } from './read-body.ts';
import type { Route } from './route.ts';
import type { SetupDesk } from './setup-desk.ts';

const PLACE =
  'kind (serial, tcp, mqtt, modbus-rtu or modbus-tcp) with port and baud, address, url, or what else belongs to it';
const KILN = 'name, heat (gas or electric), closure (lid or door) and picks, each {sensor, letter, offer, way}';

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
