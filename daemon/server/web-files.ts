/** The built page, read and packed once into memory: what is not in the map does not exist, so no path can lead anywhere else. */
import { createHash } from 'node:crypto';
import { readdir, readFile } from 'node:fs/promises';
import { extname, join, relative, sep } from 'node:path';
import { promisify } from 'node:util';
import { gzip } from 'node:zlib';
import type { FastifyReply, FastifyRequest } from 'fastify';

export interface WebFile {
  readonly body: Buffer;
  /** The same packed, where that is smaller: a phone far from the router waits a third as long. */
  readonly packed: Buffer | null;
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
      packed: await packedSmaller(body),
      type: types[extname(entry.name)] ?? 'application/octet-stream',
      etag: `"${createHash('sha256').update(body).digest('base64url').slice(0, 22)}"`,
      cacheControl: hashedName.test(path) ? 'public, max-age=31536000, immutable' : 'no-cache',
    });
  }
  return files;
}

async function packedSmaller(body: Buffer): Promise<Buffer | null> {
  const packed = await promisify(gzip)(body);
  return packed.length < body.length ? packed : null;
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
  const packed = takesGzip(request.headers['accept-encoding']) ? file.packed : null;
  const body = packed ?? file.body;
  // A weak tag: packed or not, it is the same file.
  reply.header('etag', `W/${file.etag}`).header('cache-control', file.cacheControl).header('vary', 'accept-encoding');
  if (hasTag(request.headers['if-none-match'], file.etag)) {
    reply.status(304).send();
    return true;
  }
  if (packed !== null) reply.header('content-encoding', 'gzip');
  if (request.method === 'HEAD') reply.type(file.type).header('content-length', body.length).send();
  else reply.type(file.type).send(body);
  return true;
}

/** `/` is the page, `/door/<kiln>` the sign at that kiln's door. */
function pageAt(path: string): string {
  if (path === '/') return '/index.html';
  return /^\/door\/[a-z0-9-]{1,40}$/.test(path) ? '/door.html' : path;
}

/** `gzip;q=0` says that it is not wanted. */
function takesGzip(accepted: string | string[] | undefined): boolean {
  const coding = String(accepted ?? '')
    .split(',')
    .map((one) => one.trim().toLowerCase())
    .find((one) => /^gzip\s*(;|$)/.test(one));
  return coding !== undefined && !/;\s*q=0(\.0*)?$/.test(coding);
}

function hasTag(wanted: string | undefined, etag: string): boolean {
  if (wanted === undefined) return false;
  return wanted.split(',').some((tag) => tag.trim() === '*' || tag.trim().replace(/^W\//, '') === etag);
}
