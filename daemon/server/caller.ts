/** Who is asking: somebody at the workshop's own machine, or somebody on the network. */
import type { IncomingHttpHeaders } from 'node:http';
import { type AllowedHosts, isConfiguredHost, readAuthority } from './allowed-hosts.ts';

/** What a proxy adds. None of it is believed; that it is there says that the asker may sit elsewhere. */
const proxyMarks = ['forwarded', 'x-forwarded-for', 'x-forwarded-host', 'x-real-ip', 'via'] as const;

/** Loopback in IPv4, IPv6, and IPv4 written as IPv6. */
export function isLoopback(remoteAddress: string | undefined): boolean {
  if (remoteAddress === undefined) return false;
  const address = remoteAddress.toLowerCase().replace(/^::ffff:/, '');
  return address === '::1' || /^127(\.\d{1,3}){3}$/.test(address);
}

/**
 * Whether the asker may begin and end firings and change plans. The socket's own address decides; headers can only
 * take the right away: one that a proxy adds, or a name from the configuration, which stands for a proxy.
 */
export function isOwnMachine(
  remoteAddress: string | undefined,
  headers: IncomingHttpHeaders,
  allowed: AllowedHosts,
): boolean {
  if (!isLoopback(remoteAddress) || proxyMarks.some((mark) => headers[mark] !== undefined)) return false;
  const named = [headers.host, headers.origin?.replace(/^https?:\/\//, '')];
  return named.every((text) => {
    const authority = text === undefined ? null : readAuthority(text);
    return authority === null || allowed.own.has(authority.name) || !isConfiguredHost(authority, allowed);
  });
}
