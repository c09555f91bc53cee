/** The built page, read once into memory: what is not in the map does not exist, so no path can lead anywhere else. */
import { createHash } from 'node:crypto';
import { readdir, readFile } from 'node:fs/promises';
import { extname, join, relative, sep } from 'node:path';
import type { FastifyReply, FastifyRequest } from 'fastify';

export interface WebFile {
  readonly body: Buffer;
  readonly type: string;
  readonly etag: string;
  readonly cacheControl: string;
}

/** Files by the path that a browser asks for, each beginning with a slash. Empty where the page was not built. */
export type WebFiles = ReadonlyMap<string, WebFile>;

const types: Readonly<Record<string, string>> = {
  '.css': 'text/css; charset=utf-8',
  '.html': 'text/html; charset=utf-8',
  '.ico': 'image/x-icon',
  '.js': 'text/javascript; charset=utf-8',
  '.json': 'application/json; charset=utf-8',
  '.map': 'application/json; charset=utf-8',
  '.mp3': 'audio/mpeg',
  '.ogg': 'audio/ogg',
  '.png': 'image/png',
  '.svg': 'image/svg+xml',
  '.txt': 'text/plain; charset=utf-8',
  '.wav': 'audio/wav',
  '.webmanifest': 'application/manifest+json',
  '.woff2': 'font/woff2',
};

/** A name that holds a hash of its content never changes its content: `assets/page-Bx3_k9Qe.js`. */
const hashedName = /^\/assets\/.*-[\w-]{8}\.\w+$/;

/** @returns an empty map where the folder is missing; links are not followed */
export async function readWebFiles(webDir: string): Promise<WebFiles> {
  const files = new Map<string, WebFile>();
  let entries: Awaited<ReturnType<typeof listFolder>>;
  try {
    entries = await listFolder(webDir);
  } catch {
    return files; // The page is not built: the watch goes on without it, and `/` says so.
  }
  for (const entry of entries) {
    if (!entry.isFile()) continue;
    const file = join(entry.parentPath, entry.name);
    const path = `/${relative(webDir, file).split(sep).join('/')}`;
    const body = await readFile(file);
    files.set(path, {
      body,
      type: types[extname(entry.name)] ?? 'application/octet-stream',
      etag: `"${createHash('sha256').update(body).digest('base64url').slice(0, 22)}"`,
      cacheControl: hashedName.test(path) ? 'public, max-age=31536000, immutable' : 'no-cache',
    });
  }
  return files;
}

function listFolder(webDir: string) {
  return readdir(webDir, { withFileTypes: true, recursive: true });
}

/** Answers with a file of the page, and returns false where there is none under this address. */
export function sendWebFile(files: WebFiles, request: FastifyRequest, reply: FastifyReply): boolean {
  // The address is compared as it was sent, undecoded: `..`, %2f and NUL are in no file's name.
  const path = (request.raw.url ?? '').replace(/[?#].*$/, '');
  const file = files.get(pageAt(path));
  if (file === undefined) {
    if (path !== '/') return false;
    reply.status(503).type('text/plain; charset=utf-8').header('cache-control', 'no-store');
    reply.send('The page is not built yet: run `npm run build` and start the watch again.\n');
    return true;
  }
  reply.header('etag', file.etag).header('cache-control', file.cacheControl);
  if (hasTag(request.headers['if-none-match'], file.etag)) reply.status(304).send();
  else if (request.method === 'HEAD') reply.type(file.type).header('content-length', file.body.length).send();
  else reply.type(file.type).send(file.body);
  return true;
}

/** `/` is the page, `/door/<kiln>` the sign at that kiln's door. */
function pageAt(path: string): string {
  if (path === '/') return '/index.html';
  return /^\/door\/[a-z0-9-]{1,40}$/.test(path) ? '/door.html' : path;
}

function hasTag(wanted: string | undefined, etag: string): boolean {
  if (wanted === undefined) return false;
  return wanted.split(',').some((tag) => tag.trim() === '*' || tag.trim().replace(/^W\//, '') === etag);
}
