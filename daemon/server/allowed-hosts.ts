/**
 * By which names this server may be called. A foreign web page can point a name of its own at our address
 * (DNS rebinding), so a request counts only if its Host is one of ours; and only our own pages may send an Origin.
 */

export interface AllowedHosts {
  /** The bound port. */
  readonly port: number;
  /** Lower-case names and addresses of this machine, IPv6 in brackets. */
  readonly own: ReadonlySet<string>;
  /** Names that the configuration adds, often those of a proxy; each with the port it was written with, if any. */
  readonly configured: readonly Authority[];
  /** Asked at each check where we listen on every address, since addresses change while the daemon runs. */
  readonly interfaceAddresses: () => readonly string[];
}

/** What stands in a Host header: a name or address, and the port where one is written. */
export interface Authority {
  readonly name: string;
  readonly port: number | null;
}

const wildcards: ReadonlySet<string> = new Set(['0.0.0.0', '[::]']);

export function allowedHosts(options: {
  readonly listenHost: string;
  readonly port: number;
  readonly configured: readonly string[];
  readonly machineName: string;
  readonly interfaceAddresses: () => readonly string[];
}): AllowedHosts {
  const listenHost = hostName(options.listenHost);
  const machineName = options.machineName.toLowerCase();
  const own = new Set(['localhost', '127.0.0.1', '[::1]', listenHost, machineName, `${machineName}.local`]);
  return {
    port: options.port,
    own,
    configured: options.configured.flatMap((text) => readAuthority(text) ?? readAuthority(hostName(text)) ?? []),
    interfaceAddresses: isWildcard(options.listenHost) ? options.interfaceAddresses : () => [],
  };
}

export function isWildcard(listenHost: string): boolean {
  return wildcards.has(hostName(listenHost));
}

/** An IPv6 address in brackets and in its shortest form, as browsers send it; anything else in lower case. */
export function hostName(host: string): string {
  const bare = host.replace(/^\[|\]$/g, '').replace(/%.*$/, '');
  if (!bare.includes(':')) return host.toLowerCase();
  const url = `http://[${bare}]`;
  return URL.canParse(url) ? new URL(url).hostname : host.toLowerCase();
}

export function readAuthority(text: string): Authority | null {
  const found = /^(\[[0-9a-f:.]+\]|[a-z0-9_-]+(?:\.[a-z0-9_-]+)*)(?::(\d{1,5}))?$/i.exec(text);
  if (found?.[1] === undefined) return null;
  return { name: found[1].toLowerCase(), port: found[2] === undefined ? null : Number(found[2]) };
}

/** Whether a Host header is one of ours: a name of this machine with our port or none, or a configured name. */
export function isAllowedHost(host: string | undefined, allowed: AllowedHosts): boolean {
  const authority = host === undefined ? null : readAuthority(host);
  if (authority === null) return false;
  if (isConfiguredHost(authority, allowed)) return true;
  return isOwnName(authority.name, allowed) && (authority.port === null || authority.port === allowed.port);
}

export function isConfiguredHost({ name, port }: Authority, { configured, port: ours }: AllowedHosts): boolean {
  return configured.some((one) => one.name === name && (port === null || port === (one.port ?? ours)));
}

function isOwnName(name: string, allowed: AllowedHosts): boolean {
  return allowed.own.has(name) || allowed.interfaceAddresses().some((address) => hostName(address) === name);
}

/**
 * Whether an Origin header is that of one of our own pages: the scheme, the name and the port all count.
 * Either it repeats the request's own Host (which is allowed already), or it is another name of ours with our port.
 * `https` is only believed of configured names, since TLS is done by a proxy there.
 */
export function isAllowedOrigin(origin: string, host: string, allowed: AllowedHosts): boolean {
  const found = /^(https?):\/\/(.+)$/.exec(origin);
  const authority = found?.[2] === undefined ? null : readAuthority(found[2]);
  if (authority === null) return false;
  const isConfigured = isConfiguredHost(authority, allowed);
  if (found?.[1] === 'https') return isConfigured;
  if (found?.[2]?.toLowerCase() === host.toLowerCase()) return true;
  return isConfigured || (isOwnName(authority.name, allowed) && (authority.port ?? 80) === allowed.port);
}
