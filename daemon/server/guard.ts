/** What is looked at before a request is read any further, the same for HTTP and for the live feed. */
import type { IncomingHttpHeaders } from 'node:http';
import type { Fault } from '../errors.ts';
import { type AllowedHosts, isAllowedHost, isAllowedOrigin } from './allowed-hosts.ts';

export interface Refusal {
  readonly status: number;
  readonly fault: Fault;
}

export interface Asked {
  readonly method: string;
  readonly headers: IncomingHttpHeaders;
}

const reading: ReadonlySet<string> = new Set(['GET', 'HEAD']);
const changing: ReadonlySet<string> = new Set(['POST', 'PUT']);

/** Null when the request may go on. */
export function guard({ method, headers }: Asked, allowed: AllowedHosts): Refusal | null {
  const { host, origin } = headers;
  if (host === undefined)
    return refuse(400, 'the request names no host', 'the header Host', 'the address of this page');
  if (!isAllowedHost(host, allowed)) {
    return refuse(
      421,
      'this is not a name of this machine that it answers to',
      'the header Host',
      `localhost:${allowed.port}, or a name listed in the configuration`,
    );
  }
  if (origin !== undefined && !isAllowedOrigin(origin, host, allowed)) {
    return refuse(403, 'the request comes from a foreign page', 'the header Origin', 'a page of this server');
  }
  if (reading.has(method)) return null;
  if (!changing.has(method)) return refuse(405, 'nothing here can be asked this way', 'the method', 'GET, POST or PUT');
  const site = headers['sec-fetch-site'];
  if (site !== undefined && site !== 'same-origin' && site !== 'none') {
    return refuse(
      403,
      'the request was started by a foreign page',
      'the header Sec-Fetch-Site',
      'a page of this server',
    );
  }
  // No page of another origin can send either of these without asking first. Whether a picture is wanted, its address knows.
  if (!/^(application\/json\s*(;|$)|image\/[\w.+-]+$)/i.test(headers['content-type'] ?? '')) {
    return refuse(415, 'the body is not said to be JSON', 'the header Content-Type', 'application/json');
  }
  return null;
}

function refuse(status: number, what: string, where: string, right: string): Refusal {
  return { status, fault: { what, where, right } };
}
