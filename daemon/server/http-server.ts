/** The page, the questions of `/api` and the live feed, on one port. */
import type { IncomingMessage } from 'node:http';
import type { Socket } from 'node:net';
import { hostname, networkInterfaces } from 'node:os';
import fastify, { type FastifyInstance, type FastifyReply } from 'fastify';
import { RequestError, ServerError } from '../errors.ts';
import type { Clock } from '../runtime/clock.ts';
import { allowedHosts, hostName } from './allowed-hosts.ts';
import { errorBody, oneLine, ourFailing, refusalOf, safeHeaders } from './answers.ts';
import { isLoopback, isOwnMachine } from './caller.ts';
import type { Desk } from './desk.ts';
import { guard, type Refusal } from './guard.ts';
import { liveFeed, refuse } from './live-feed.ts';
import { acceptPictures, PICTURE_TIMEOUT_MS, takesPicture } from './picture-body.ts';
import type { RecordDesk } from './record-desk.ts';
import { addRoutes } from './routes.ts';
import type { SetupDesk } from './setup-desk.ts';
import { deedLimit, sparingLog } from './sparing.ts';
import { readWebFiles, sendWebFile, type WebFiles } from './web-files.ts';

/**
 * A sender that is slower than this is cut off, within a second of it. All three are needed: with the first alone
 * a slow body was measured to stay open for 90 s.
 */
const requestTimeoutMs = 5000;
const headersTimeoutMs = 5000;
const connectionsCheckingMs = 1000;
/** A browser may use its connection again for this long. */
const keepAliveMs = 10_000;
/** A connection on which nothing moves, such as a reader that stopped reading. The live feed is exempt. */
const idleMs = 30_000;
const maxBodyBytes = 64 * 1024;
const maxConnections = 800;
/** One device of the network cannot take all of them. */
const maxConnectionsEach = 100;
/** Each deed is a line in the record for ever: a person presses far less often than this. */
const maxDeedsPerMinute = 60;
const maxRefusalsLoggedPerMinute = 20;

export interface ServerOptions {
  /** The records of past firings; without them there are no exports. */
  readonly records?: RecordDesk;
  /** Sets kilns up; without it none can be from the page. */
  readonly setup?: SetupDesk;
  /** A name or address of this machine; `0.0.0.0` or `::` for all of them. */
  readonly host: string;
  /** 0 for any free port. */
  readonly port: number;
  /** More names by which this server may be called, such as that of a proxy. */
  readonly hosts: readonly string[];
  readonly webDir: string;
  readonly log: (sentence: string) => void;
  readonly clock: Clock;
}

export interface RunningServer {
  readonly url: string;
  readonly port: number;
  close(): Promise<void>;
}

/** @throws ServerError with one sentence when it cannot listen there */
export async function startServer(desk: Desk, options: ServerOptions): Promise<RunningServer> {
  const app = buildApp(desk, options, await readWebFiles(options.webDir));
  // "localhost" would be two sockets, one for each family, with limits of their own.
  const listenHost = options.host === 'localhost' ? '127.0.0.1' : options.host.replace(/^\[|\]$/g, '');
  try {
    await app.listen({ host: listenHost, port: options.port });
  } catch (error) {
    await app.close();
    throw new ServerError('listen', listenSentence(error, options), { cause: error });
  }
  const port = portOf(app);
  const named = hostName(options.host);
  const shown = named === '0.0.0.0' ? '127.0.0.1' : named === '[::]' ? '[::1]' : named;
  return { url: `http://${shown}:${port}`, port, close: () => app.close() };
}

/** The whole server but for its port: what is asked of it can also be injected. */
export function buildApp(desk: Desk, options: ServerOptions, files: WebFiles): FastifyInstance {
  const { log, clock } = options;
  const app = fastify({
    bodyLimit: maxBodyBytes,
    requestTimeout: PICTURE_TIMEOUT_MS,
    keepAliveTimeout: keepAliveMs,
    connectionTimeout: idleMs,
    forceCloseConnections: true,
    routerOptions: { maxParamLength: 200 },
    http: {
      headersTimeout: headersTimeoutMs,
      connectionsCheckingInterval: connectionsCheckingMs,
      requireHostHeader: false, // The guard asks for it, and answers in our shape.
    },
    clientErrorHandler: (error, socket) => refuse(socket, brokenRequest(error)),
    frameworkErrors: (error, _request, reply: FastifyReply) => {
      const { status, fault } = refusalOf(error) ?? ourFailing;
      reply.headers(safeHeaders).status(status).send(errorBody(fault));
    },
  });
  app.server.maxConnections = maxConnections;
  limitEachDevice(app);

  const names = () =>
    allowedHosts({
      listenHost: options.host,
      port: portOf(app) || options.port,
      configured: options.hosts,
      machineName: hostname(),
      interfaceAddresses,
    });
  let allowed = names();
  app.server.once('listening', () => {
    allowed = names(); // The port is known only now, where any free one was asked for.
  });
  const mayCommand = (request: IncomingMessage): boolean =>
    isOwnMachine(request.socket.remoteAddress, request.headers, allowed);
  const check = (request: IncomingMessage): Refusal | null => {
    const refusal = guard({ method: request.method ?? '', headers: request.headers }, allowed);
    if (refusal !== null) logRefusal(request, refusal);
    return refusal;
  };
  const logSparingly = sparingLog(clock, maxRefusalsLoggedPerMinute, log);
  const mayDoMore = deedLimit(clock, maxDeedsPerMinute);
  const logRefusal = (request: IncomingMessage, { fault }: Refusal): void => {
    const from = request.socket.remoteAddress ?? 'somebody';
    logSparingly(oneLine(`Refused ${request.method} ${request.url} from ${from}: ${fault.what} (${fault.where}).`));
  };

  app.addHook('onRequest', async (request, reply) => {
    reply.headers(safeHeaders);
    const refusal = check(request.raw);
    if (refusal !== null) throw new RequestError(refusal.status, refusal.fault);
    const isRead = request.method === 'GET' || request.method === 'HEAD';
    if (!isRead && !mayCommand(request.raw) && !mayDoMore(request.raw.socket.remoteAddress ?? '')) throw tooMany();
  });
  // A picture may take its time; all else is cut off sooner than the socket is.
  app.addHook('onRequest', async (request) => {
    if (takesPicture(request)) return;
    const { raw } = request;
    const cut = setTimeout(() => {
      if (raw.complete === false) refuse(raw.socket, brokenRequest({ code: 'ERR_HTTP_REQUEST_TIMEOUT' }));
    }, requestTimeoutMs);
    cut.unref();
    raw.once('close', () => clearTimeout(cut));
  });
  acceptPictures(app);
  app.setErrorHandler((error, request, reply) => {
    const refusal = refusalOf(error);
    if (refusal === null) {
      log(
        oneLine(`${request.method} ${request.url} failed: ${error instanceof Error ? error.message : String(error)}.`),
      );
    }
    const { status, fault } = refusal ?? ourFailing;
    if (status === 405 && !reply.hasHeader('allow')) reply.header('allow', 'GET, HEAD, POST, PUT');
    if (status === 413) reply.header('connection', 'close');
    return reply.status(status).type('application/json; charset=utf-8').send(errorBody(fault));
  });
  app.setNotFoundHandler((request, reply) => {
    const isRead = request.method === 'GET' || request.method === 'HEAD';
    if (isRead && sendWebFile(files, request, reply)) return reply;
    throw new RequestError(404, { what: 'nothing is here', where: 'the address', right: 'the page at /' });
  });
  addRoutes(app, desk, (request) => mayCommand(request.raw), options.records, options.setup);

  const feed = liveFeed(desk, { clock, check, mayCommand, log });
  app.server.on('upgrade', (request, socket, head) => feed.upgrade(request, socket, head));
  app.addHook('preClose', async () => feed.close());
  return app;
}

function tooMany(): RequestError {
  return new RequestError(429, {
    what: 'too much was pressed within a minute',
    where: 'this device',
    right: `at most ${maxDeedsPerMinute} deeds a minute`,
  });
}

function portOf(app: FastifyInstance): number {
  const address = app.server.address();
  return typeof address === 'object' && address !== null ? address.port : 0;
}

function interfaceAddresses(): readonly string[] {
  return Object.values(networkInterfaces()).flatMap((addresses) => (addresses ?? []).map((one) => one.address));
}

function limitEachDevice(app: FastifyInstance): void {
  const open = new Map<string, number>();
  app.server.on('connection', (socket: Socket) => {
    const from = socket.remoteAddress;
    if (from === undefined || isLoopback(from)) return;
    const count = (open.get(from) ?? 0) + 1;
    open.set(from, count);
    socket.once('close', () => {
      const left = (open.get(from) ?? 1) - 1;
      if (left > 0) open.set(from, left);
      else open.delete(from);
    });
    if (count > maxConnectionsEach) socket.destroy();
  });
}

function brokenRequest(error: { readonly code?: string }): Refusal {
  switch (error.code) {
    case 'ERR_HTTP_REQUEST_TIMEOUT':
      return {
        status: 408,
        fault: {
          what: 'it came too slowly',
          where: 'the request',
          right: `all of it within ${requestTimeoutMs / 1000} s`,
        },
      };
    case 'HPE_HEADER_OVERFLOW':
      return { status: 431, fault: { what: 'they are too large', where: 'the headers', right: 'at most 16 kB' } };
    default:
      return { status: 400, fault: { what: 'it is garbled', where: 'the request', right: 'HTTP/1.1' } };
  }
}

function listenSentence(error: unknown, { host, port }: ServerOptions): string {
  const code = error instanceof Error && 'code' in error ? error.code : undefined;
  switch (code) {
    case 'EADDRINUSE':
      return `Port ${port} on ${host} is in use by another program, perhaps by this one started twice: stop that, or choose another port with --listen ${host}:${port === 65535 ? 4660 : port + 1}.`;
    case 'EACCES':
    case 'EPERM':
      return `Port ${port} on ${host} is not permitted to this user: choose one above 1023, such as --listen ${host}:4660.`;
    case 'EADDRNOTAVAIL':
    case 'EINVAL':
      return `${host} is not an address of this machine: choose one of ${interfaceAddresses().join(', ')}, or 0.0.0.0 for all of them.`;
    case 'ENOTFOUND':
    case 'EAI_AGAIN':
      return `The name ${host} is not known to this machine: choose an address such as 127.0.0.1, or 0.0.0.0 for all of them.`;
    case 'ERR_SOCKET_BAD_PORT':
      return `${port} is no port: choose a whole number from 1 to 65535, such as --listen ${host}:4660.`;
    default:
      return `It cannot listen on ${host}:${port} (${error instanceof Error ? error.message : String(error)}): choose another address or port with --listen HOST:PORT.`;
  }
}
