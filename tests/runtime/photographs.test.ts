/** A photograph of the glass is filed with a firing over HTTP, while it is on and the next morning, and cannot be swapped. */
import { createHash } from 'node:crypto';
import { readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { verify } from '../../daemon/commands/verify.ts';
import type { FiringDetail } from '../../daemon/wire/live-messages.ts';
import { MOST_PHOTO_BYTES } from '../../daemon/wire/photo-limits.ts';
import { readRecord, recordFolder } from '../support/record-check.ts';
import { type RestartingWatch, restartingWatch } from '../support/restarting-watch.ts';

const picture = (name: string): Promise<Buffer> => readFile(new URL(`../data/pictures/${name}`, import.meta.url));
const sha256 = (bytes: Uint8Array): string => createHash('sha256').update(bytes).digest('hex');

let bench: RestartingWatch;
let id: string;

beforeEach(async () => {
  bench = await restartingWatch();
  await bench.start();
  id = (await bench.watch().desk.begin(bench.kilnId, null, 'Mira')).id;
  await bench.feed(20, 21, 22);
});

afterEach(() => bench.end());

interface Outcome {
  readonly status: number;
  readonly body: { readonly photo?: string; readonly error?: { readonly what: string; readonly right: string } };
}

async function file(
  bytes: Uint8Array,
  type = 'image/jpeg',
  query = 'by=Mira&text=crack+at+the+left',
  to = id,
): Promise<Outcome> {
  const url = `${bench.watch().url}/api/firings/${to}/photos?${query}`;
  const answer = await fetch(url, { method: 'POST', headers: { 'content-type': type }, body: new Uint8Array(bytes) });
  return { status: answer.status, body: (await answer.json()) as Outcome['body'] };
}

async function end(): Promise<void> {
  await bench.watch().desk.deed(id, 'Mira', { deed: 'end' });
}

async function check(): Promise<{ readonly code: number; readonly said: string }> {
  const said: string[] = [];
  return { code: await verify(id, bench.dataDir, (line) => said.push(line)), said: said.join('\n') };
}

const folder = (): string => `${recordFolder(bench.dataDir, id)}/photos`;

describe('a photograph', () => {
  it('stands beside the record under its own hash, while the firing is on and after, and is shown as it was filed', async () => {
    const [jpeg, png] = [await picture('crack.jpg'), await picture('crack.png')];
    expect(await file(jpeg)).toEqual({ status: 201, body: { photo: `${sha256(jpeg)}.jpg` } });
    await end();
    expect(await file(png, 'image/png', 'by=Jon')).toEqual({ status: 201, body: { photo: `${sha256(png)}.png` } });
    expect((await readdir(folder())).sort()).toEqual([`${sha256(jpeg)}.jpg`, `${sha256(png)}.png`].sort());
    const { lines } = await readRecord(bench.dataDir, id);
    expect(lines.find((line) => line.type === 'act')).toMatchObject({
      by: 'Mira',
      said: { text: 'crack at the left', photo: { sha256: sha256(jpeg), media: 'image/jpeg' } },
    });
    expect(lines.at(-1)).toMatchObject({ type: 'note', by: 'Jon', photo: { sha256: sha256(png), media: 'image/png' } });
    const url = `${bench.watch().url}/api/firings/${id}`;
    const { notes } = (await (await fetch(url)).json()) as FiringDetail;
    expect(notes.map(({ by, photo }) => [by, photo?.sha256])).toEqual([
      ['Mira', sha256(jpeg)],
      ['Jon', sha256(png)],
    ]);
    const shown = await fetch(`${url}/photos/${sha256(jpeg)}.jpg`);
    expect(shown.headers.get('content-type')).toBe('image/jpeg');
    expect(Buffer.from(await shown.arrayBuffer())).toEqual(jpeg);
    const { code, said } = await check();
    expect(said).toContain('Its 2 photographs are those that the record names.');
    expect(code).toBe(0);
  });

  it('that was swapped is told by its line, is no longer shown, and one that is gone is missed', async () => {
    const jpeg = await picture('crack.jpg');
    await file(jpeg);
    await end();
    const path = `${folder()}/${sha256(jpeg)}.jpg`;
    await writeFile(path, Buffer.concat([jpeg, Buffer.from([0])]));
    const swapped = await check();
    expect(swapped.code).toBe(1);
    expect(swapped.said).toMatch(
      /^BAD at line \d+ .*The photograph of line \d+ was changed: photos\/[0-9a-f]{64}\.jpg/,
    );
    const url = `${bench.watch().url}/api/firings/${id}/photos/${sha256(jpeg)}.jpg`;
    expect((await fetch(url)).status).toBe(409);
    await rm(path);
    const gone = await check();
    expect(gone.code).toBe(3);
    expect(gone.said).toMatch(/The photograph of line \d+ is missing/);
    expect((await fetch(url)).status).toBe(404);
    // Whoever has the picture may file it again: it is the same.
    await file(jpeg);
    expect((await check()).code).toBe(0);
  });

  it('is refused in one sentence where it is none, too large, or nobody’s', async () => {
    const jpeg = await picture('crack.jpg');
    const right = 'a JPEG or PNG picture of up to 12 MB';
    expect(await file(Buffer.from('<svg/>'), 'image/svg+xml')).toMatchObject({
      status: 415,
      body: { error: { what: 'it is no whole JPEG or PNG', right } },
    });
    expect(await file(jpeg.subarray(0, 300))).toMatchObject({ status: 415, body: { error: { right } } });
    expect(await file(Buffer.alloc(MOST_PHOTO_BYTES + 1))).toMatchObject({ status: 413, body: { error: { right } } });
    expect(await file(Buffer.from('{}'), 'application/json')).toMatchObject({
      status: 415,
      body: { error: { right } },
    });
    expect(await file(jpeg, 'image/jpeg', 'text=x')).toMatchObject({ status: 400 });
    expect(await file(jpeg, 'image/jpeg', 'by=Mira', 'no-such-firing')).toMatchObject({ status: 404 });
    expect(await file(jpeg, 'text/plain')).toMatchObject({ status: 415 });
    const notes = `${bench.watch().url}/api/firings/${id}/notes`;
    const elsewhere = await fetch(notes, {
      method: 'POST',
      headers: { 'content-type': 'image/jpeg' },
      body: new Uint8Array(jpeg),
    });
    expect(elsewhere.status).toBe(415);
    expect(await readdir(folder()).catch(() => [])).toEqual([]);
    expect((await fetch(`${bench.watch().url}/api/firings/${id}/photos/..%2Frecord.jsonl`)).status).toBe(404);
  });
});
