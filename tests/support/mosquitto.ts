/** A real Mosquitto on a port of loopback, with or without a password and TLS. */
import { spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathOf } from './debian.ts';
import { until } from './terminal-pair.ts';

export interface Mosquitto {
  readonly port: number;
  readonly url: string;
  /** Path of the certificate of the authority that signed the broker's own, where it speaks TLS. */
  readonly caFile: string;
  /** The same as text. */
  readonly ca: string;
  stop(): Promise<void>;
}

/** @param how.port a port that was used before, to come back at the same place */
export async function mosquitto(
  how: { port?: number; user?: string; password?: string; isQuiet?: boolean; tls?: boolean } = {},
): Promise<Mosquitto> {
  const port = how.port ?? (await freePort());
  const dir = mkdtempSync(join(tmpdir(), 'spyhole-broker-'));
  const lines = [`listener ${port} 127.0.0.1`, 'persistence false', 'log_dest stderr'];
  // What it says of each message costs more than the message.
  lines.push(
    ...(how.isQuiet === true ? ['log_type error', 'log_type notice', 'log_type information'] : ['log_type all']),
  );
  const caFile = join(dir, 'ca.pem');
  if (how.tls === true) lines.push(...tlsLines(dir));
  if (how.user !== undefined) {
    const file = join(dir, 'passwords');
    spawnSync(pathOf('mosquitto_passwd'), ['-b', '-c', file, how.user, how.password ?? '']);
    lines.push('allow_anonymous false', `password_file ${file}`);
  } else lines.push('allow_anonymous true');
  // Started by root it would give up its rights and could then not read its own password file.
  if (process.getuid?.() === 0) lines.push('user root');
  writeFileSync(join(dir, 'mosquitto.conf'), `${lines.join('\n')}\n`);
  const broker = spawn(pathOf('mosquitto'), ['-c', join(dir, 'mosquitto.conf')], {
    stdio: ['ignore', 'ignore', 'pipe'],
  });
  await until(broker, /mosquitto version .* running/);
  return {
    port,
    url: how.tls === true ? `mqtts://localhost:${port}` : `mqtt://127.0.0.1:${port}`,
    caFile,
    ca: how.tls === true ? readFileSync(caFile, 'utf8') : '',
    async stop() {
      if (broker.exitCode === null && broker.signalCode === null) {
        broker.kill('SIGTERM');
        await once(broker, 'exit');
      }
      rmSync(dir, { recursive: true, force: true });
    },
  };
}

/** An authority of its own, and a certificate that it signed for `localhost`: good for a day. */
function tlsLines(dir: string): string[] {
  const at = (name: string): string => join(dir, name);
  const openssl = (...words: string[]): void => {
    const made = spawnSync(pathOf('openssl'), words, { cwd: dir });
    if (made.status !== 0) throw new Error(`openssl ${words[0]} failed: ${made.stderr}`);
  };
  const newKey = ['-newkey', 'ec', '-pkeyopt', 'ec_paramgen_curve:P-256', '-nodes'];
  openssl(
    'req',
    '-x509',
    ...newKey,
    '-keyout',
    at('ca.key'),
    '-out',
    at('ca.pem'),
    '-days',
    '1',
    '-subj',
    '/CN=Workshop',
  );
  openssl('req', ...newKey, '-keyout', at('broker.key'), '-out', at('broker.csr'), '-subj', '/CN=localhost');
  writeFileSync(at('names'), 'subjectAltName=DNS:localhost\n');
  const signed = [
    '-CA',
    at('ca.pem'),
    '-CAkey',
    at('ca.key'),
    '-CAcreateserial',
    '-days',
    '1',
    '-extfile',
    at('names'),
  ];
  openssl('x509', '-req', '-in', at('broker.csr'), ...signed, '-out', at('broker.pem'));
  return [`certfile ${at('broker.pem')}`, `keyfile ${at('broker.key')}`];
}

export async function freePort(): Promise<number> {
  const server = createServer().listen(0, '127.0.0.1');
  await once(server, 'listening');
  const address = server.address();
  server.close();
  await once(server, 'close');
  if (typeof address !== 'object' || address === null) throw new Error('no port to be had');
  return address.port;
}
