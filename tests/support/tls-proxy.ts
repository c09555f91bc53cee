/** A proxy that speaks TLS before the daemon, as a workshop would set one up: its own name, its own certificate. */
import { execFileSync } from 'node:child_process';
import { createHash, X509Certificate } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { type IncomingMessage, request } from 'node:http';
import { createServer } from 'node:https';
import { type AddressInfo, connect } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

export interface Certificate {
  readonly key: Buffer;
  readonly cert: Buffer;
  /** By this a browser can be told to trust it, and it alone. */
  readonly keyHash: string;
}

/** A certificate for `name`, made anew by openssl. */
export function certificateFor(name: string): Certificate {
  const dir = mkdtempSync(join(tmpdir(), 'spyhole-tls-'));
  try {
    const [keyFile, certFile] = [join(dir, 'key.pem'), join(dir, 'cert.pem')];
    const words = `req -x509 -newkey rsa:2048 -nodes -days 2 -subj /CN=${name} -addext subjectAltName=DNS:${name}`;
    execFileSync('openssl', [...words.split(' '), '-keyout', keyFile, '-out', certFile], { stdio: 'ignore' });
    const cert = readFileSync(certFile);
    const spki = new X509Certificate(cert).publicKey.export({ type: 'spki', format: 'der' });
    return { key: readFileSync(keyFile), cert, keyHash: createHash('sha256').update(spki).digest('base64') };
  } finally {
    rmSync(dir, { recursive: true, force: true });
  }
}

export interface TlsProxy {
  readonly port: number;
  close(): Promise<void>;
}

/** Hands everything on to the daemon at `port`, the name that was asked for included; 502 where it does not answer. */
export async function tlsProxy({ key, cert }: Certificate, port: number): Promise<TlsProxy> {
  const onward = ({ method, url, headers }: IncomingMessage) => ({
    host: '127.0.0.1',
    port,
    method,
    path: url,
    headers,
  });
  const server = createServer({ key, cert }, (asked, answer) => {
    const further = request(onward(asked), (came) => {
      answer.writeHead(came.statusCode ?? 502, came.headers);
      came.pipe(answer);
    });
    further.on('error', () => answer.writeHead(502, { 'content-type': 'text/html' }).end('<h1>502 Bad Gateway</h1>'));
    asked.pipe(further);
  });
  server.on('upgrade', (asked, socket) => {
    const further = connect(port, '127.0.0.1', () => {
      const lines = Object.entries(asked.headers).map(([name, value]) => `${name}: ${value}`);
      further.write(`GET ${asked.url} HTTP/1.1\r\n${lines.join('\r\n')}\r\n\r\n`);
      further.pipe(socket).pipe(further);
    });
    further.on('error', () => socket.destroy());
    socket.on('error', () => further.destroy());
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  return {
    port: (server.address() as AddressInfo).port,
    close: () =>
      new Promise((resolve) => {
        server.closeAllConnections();
        server.close(() => resolve());
      }),
  };
}
