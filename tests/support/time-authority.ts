/** A time-stamping authority of the test's own on loopback: openssl answers, with a certificate made for a day. */
import { execFile, spawnSync } from 'node:child_process';
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { createServer } from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { pathOf } from './debian.ts';

const run = promisify(execFile);

export interface TimeAuthority {
  readonly url: string;
  /** Path of its root certificate. */
  readonly caFile: string;
  /** Questions that came so far. */
  asked(): number;
  /** The answer as openssl gives it. */
  answerTo(question: Buffer): Promise<Buffer>;
  /** From now on it answers with what this makes of the right answer. */
  answerWith(change: (answer: Buffer, question: Buffer) => Buffer | Promise<Buffer>): void;
  /** Lets it listen, or listen no longer; the address stays the same. */
  listen(isListening: boolean): Promise<void>;
  stop(): Promise<void>;
}

const NEW_KEY = ['-newkey', 'ec', '-pkeyopt', 'ec_paramgen_curve:P-256', '-nodes'];
const CONFIG = `[authority]
serial = serial
signer_digest = sha256
default_policy = 1.2.3.4.1
digests = sha256
ess_cert_id_alg = sha256
`;

export async function timeAuthorityOnLoopback(): Promise<TimeAuthority> {
  const dir = await mkdtemp(join(tmpdir(), 'spyhole-authority-'));
  const openssl = (...words: string[]): void => {
    const made = spawnSync(pathOf('openssl'), words, { cwd: dir });
    if (made.status !== 0) throw new Error(`openssl ${words[0]} failed: ${made.stderr}`);
  };
  openssl(
    'req',
    '-x509',
    ...NEW_KEY,
    '-keyout',
    'ca.key',
    '-out',
    'ca.pem',
    '-days',
    '1',
    '-subj',
    '/CN=Town clock root',
  );
  openssl('req', ...NEW_KEY, '-keyout', 'clock.key', '-out', 'clock.csr', '-subj', '/O=Town/CN=Clock');
  await writeFile(join(dir, 'use'), 'extendedKeyUsage=critical,timeStamping\nkeyUsage=critical,digitalSignature\n');
  const signed = ['-CA', 'ca.pem', '-CAkey', 'ca.key', '-CAcreateserial', '-days', '1', '-extfile', 'use'];
  openssl('x509', '-req', '-in', 'clock.csr', ...signed, '-out', 'clock.pem');
  await writeFile(join(dir, 'config'), CONFIG);
  await writeFile(join(dir, 'serial'), '01\n');

  let asked = 0;
  let change = (answer: Buffer, _question: Buffer): Buffer | Promise<Buffer> => answer;
  async function answerTo(question: Buffer): Promise<Buffer> {
    await writeFile(join(dir, 'question'), question);
    const key = ['-signer', 'clock.pem', '-inkey', 'clock.key'];
    const how = ['-config', 'config', '-section', 'authority'];
    await run(pathOf('openssl'), ['ts', '-reply', '-queryfile', 'question', ...key, ...how, '-out', 'answer'], {
      cwd: dir,
    });
    return readFile(join(dir, 'answer'));
  }
  const server = createServer((request, response) => {
    const parts: Buffer[] = [];
    request.on('data', (part: Buffer) => parts.push(part));
    request.on('end', async () => {
      asked += 1;
      const question = Buffer.concat(parts);
      const answer = await change(await answerTo(question), question);
      response.writeHead(200, { 'content-type': 'application/timestamp-reply', connection: 'close' }).end(answer);
    });
  });
  const listenAt = (port: number): Promise<void> => new Promise((done) => server.listen(port, '127.0.0.1', done));
  await listenAt(0);
  const address = server.address();
  const port = typeof address === 'object' && address !== null ? address.port : 0;
  return {
    url: `http://127.0.0.1:${port}/time`,
    caFile: join(dir, 'ca.pem'),
    asked: () => asked,
    answerTo,
    answerWith: (next) => {
      change = next;
    },
    async listen(isListening) {
      if (isListening === server.listening) return;
      if (isListening) await listenAt(port);
      else await new Promise((done) => server.close(done));
    },
    async stop() {
      if (server.listening) await new Promise((done) => server.close(done));
      await rm(dir, { recursive: true });
    },
  };
}
