import { mkdir, mkdtemp, rm, symlink, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { gunzipSync } from 'node:zlib';
import type { FastifyInstance } from 'fastify';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { buildApp } from '../../daemon/server/http-server.ts';
import { readWebFiles } from '../../daemon/server/web-files.ts';
import { manualClock } from '../support/manual-clock.ts';
import { scriptedDesk } from '../support/scripted-desk.ts';

let folder: string;
let app: FastifyInstance;

function appFor(webDir: string, files: Awaited<ReturnType<typeof readWebFiles>>): FastifyInstance {
  const options = { host: '127.0.0.1', port: 80, hosts: [], webDir, log: () => undefined, clock: manualClock() };
  return buildApp(scriptedDesk(), options, files);
}

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'spyhole-web-'));
  const webDir = join(folder, 'web');
  await mkdir(join(webDir, 'assets'), { recursive: true });
  await writeFile(join(folder, 'secret.txt'), 'the key');
  await writeFile(join(webDir, 'index.html'), '<!doctype html><title>Spyhole</title>');
  await writeFile(join(webDir, 'mark.svg'), '<svg/>');
  await writeFile(join(webDir, 'style.css'), 'p { color: black }\n'.repeat(100));
  await writeFile(join(webDir, 'assets', 'page-Bx3_k9Qe.js'), 'export {};');
  await symlink(join(folder, 'secret.txt'), join(webDir, 'link.txt'));
  app = appFor(webDir, await readWebFiles(webDir));
});

afterAll(async () => {
  await app.close();
  await rm(folder, { recursive: true });
});

describe('the page', () => {
  it('is served at / and asked for anew each time', async () => {
    const answer = await app.inject({ url: '/' });
    expect(answer.statusCode).toBe(200);
    expect(answer.body).toContain('<title>Spyhole</title>');
    expect(answer.headers['content-type']).toBe('text/html; charset=utf-8');
    expect(answer.headers['cache-control']).toBe('no-cache');
  });

  it('brings its program along, which a browser may keep for ever', async () => {
    const answer = await app.inject({ url: '/assets/page-Bx3_k9Qe.js?v=1' });
    expect(answer.statusCode).toBe(200);
    expect(answer.headers['content-type']).toBe('text/javascript; charset=utf-8');
    expect(answer.headers['cache-control']).toContain('immutable');
  });

  it('is not sent again to a browser that has it', async () => {
    const etag = (await app.inject({ url: '/' })).headers.etag;
    const again = await app.inject({ url: '/', headers: { 'if-none-match': `"other", ${etag}` } });
    expect(again.statusCode).toBe(304);
    expect(again.body).toBe('');
    const other = await app.inject({ url: '/', headers: { 'if-none-match': '"other"' } });
    expect(other.statusCode).toBe(200);
  });

  it.each(['gzip', 'br, gzip;q=0.8', 'deflate, GZIP'])('comes packed to a browser that takes %s', async (accepted) => {
    const plain = await app.inject({ url: '/style.css' });
    const answer = await app.inject({ url: '/style.css', headers: { 'accept-encoding': accepted } });
    expect(answer.headers['content-encoding']).toBe('gzip');
    expect(answer.headers['content-type']).toBe('text/css; charset=utf-8');
    expect(answer.headers.vary).toBe('accept-encoding');
    expect(answer.rawPayload.length).toBeLessThan(plain.rawPayload.length / 10);
    expect(gunzipSync(answer.rawPayload).toString()).toBe(plain.body);
  });

  it.each(['', 'br', 'gzip;q=0', 'x-gzip-not'])('comes as it is to one that says "%s"', async (accepted) => {
    const answer = await app.inject({ url: '/style.css', headers: { 'accept-encoding': accepted } });
    expect(answer.headers['content-encoding']).toBeUndefined();
    expect(answer.body).toContain('color: black');
  });

  it('is not packed where that makes it longer', async () => {
    const answer = await app.inject({ url: '/mark.svg', headers: { 'accept-encoding': 'gzip' } });
    expect(answer.headers['content-encoding']).toBeUndefined();
    expect(answer.body).toBe('<svg/>');
  });

  it('can be asked for its headers alone', async () => {
    const answer = await app.inject({ method: 'HEAD', url: '/mark.svg' });
    expect(answer.statusCode).toBe(200);
    expect(answer.headers['content-type']).toBe('image/svg+xml');
    expect(answer.body).toBe('');
  });

  it.each([
    '/../secret.txt',
    '/..%2fsecret.txt',
    '/%2e%2e/secret.txt',
    '/%2e%2e%2fsecret.txt',
    '/assets/../../secret.txt',
    '/assets/..%5c..%5csecret.txt',
    '/link.txt',
    '/mark.svg%00',
    '/mark.svg%00.html',
    '//mark.svg',
    '/assets',
    '/assets/',
    '/assets%2fpage-Bx3_k9Qe.js',
    '/watch',
    '/api',
    '/api/nothing',
  ])('does not lead to anything at %s', async (url) => {
    const answer = await app.inject({ url });
    expect(answer.statusCode).toBe(404);
    expect(answer.json()).toEqual({ error: { what: 'nothing is here', where: 'the address', right: 'the page at /' } });
  });

  it('says in one sentence that it has not been built', async () => {
    const missing = join(folder, 'nowhere');
    const bare = appFor(missing, await readWebFiles(missing));
    const answer = await bare.inject({ url: '/' });
    expect(answer.headers['content-type']).toBe('text/plain; charset=utf-8');
    expect(answer.body).toBe('The page is not built yet: run `npm run build` and start the watch again.\n');
    expect((await bare.inject({ url: '/health' })).statusCode).toBe(200);
    await bare.close();
  });
});
