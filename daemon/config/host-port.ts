/** HOST:PORT as people write it. */
import { isIP } from 'node:net';

export interface HostPort {
  readonly host: string;
  readonly port: number;
}

/** `127.0.0.1:4660`, `kiln-room.local:4660`, `[::1]:4660`; port 0 lets the machine choose. Undefined where it is none of these. */
export function parseHostPort(text: string): HostPort | undefined {
  const parts = /^(?:\[([^\]]+)\]|([^:[\]\s/]+)):(\d{1,5})$/.exec(text.trim());
  const host = parts?.[1] ?? parts?.[2];
  const port = Number(parts?.[3]);
  if (host === undefined || port > 65535) return undefined;
  if (parts?.[1] !== undefined && isIP(host) !== 6) return undefined;
  return isIP(host) !== 0 || isHostName(host) ? { host, port } : undefined;
}

/** For a text that `parseHostPort` was seen to understand. */
export function hostPortOf(text: string): HostPort {
  const parsed = parseHostPort(text);
  if (parsed === undefined) throw new TypeError(`${text} passed the schema and is no HOST:PORT`);
  return parsed;
}

/** A name by which a machine may be reached, without a port. RFC 1123: labels of letters, digits and hyphens. */
export function isHostName(text: string): boolean {
  const looksLikeAddress = /^[\d.]+$/.test(text);
  return (
    !looksLikeAddress &&
    /^(?=.{1,253}$)[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?(\.[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?)*$/i.test(text)
  );
}

/** True for addresses that only this machine itself can reach. */
export function isLoopback(host: string): boolean {
  return host === 'localhost' || host === '::1' || (isIP(host) === 4 && host.startsWith('127.'));
}
