import { execFile } from 'node:child_process';
import { createHash } from 'node:crypto';
import { createWriteStream } from 'node:fs';
import { appendFile, mkdir, mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { pipeline } from 'node:stream/promises';
import { promisify } from 'node:util';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { timeAuthority } from '../../daemon/notifier/time-authority.ts';
import { derivedFiles } from '../../daemon/recorder/derived.ts';
import { fileRecordStore } from '../../daemon/recorder/file-recorder.ts';
import { Archive } from '../../daemon/runtime/archive.ts';
import { RecordKeeper } from '../../daemon/runtime/record-keeper.ts';
import type { FiringDetail, Proof } from '../../daemon/wire/live-messages.ts';
import { needs, pathOf } from '../support/debian.ts';
import { recordScenario } from '../support/recorded-scenario.ts';
import { lateHand } from '../support/scenarios.ts';
import { type TimeAuthority, timeAuthorityOnLoopback } from '../support/time-authority.ts';

const run = promisify(execFile);
const id = '20250512T104500Z-gas-kiln-0001';
const scenario = lateHand();
const nextMorningMs = scenario.startedAtMs + 20 * 3_600_000;

let dir: string;
let keeper: RecordKeeper;
let detail: FiringDetail;
let proof: Proof;
let jpeg: Buffer;
let authority: TimeAuthority | null = null;

beforeAll(async () => {
  dir = await mkdtemp(`${tmpdir()}/spyhole-export-`);
  await recordScenario(dir, scenario, {
    id,
    deeds: [
      { afterS: 3 * 3600, by: '=SUM(A1)', deed: { deed: 'act', what: '=cmd()', value: '-12.3' } },
      { afterS: 4 * 3600, by: 'Hanna', deed: { deed: 'note', text: 'Matt — a little thin at the left edge, 660 °C' } },
    ],
  });
  const store = fileRecordStore(dir, { nowMs: () => nextMorningMs });
  const archive = new Archive(store, derivedFiles(dir), () => []);
  keeper = new RecordKeeper({
    store,
    archive,
    dataDir: dir,
    nowMs: () => nextMorningMs,
    isOn: () => false,
    broken: () => [],
  });
  await keeper.add(id, { kind: 'note', by: 'Hanna', text: 'A crack from the left corner, 4 cm' });
  await keeper.correct(
    id,
    'Hanna',
    (await archive.detail(id)).notes[0]?.line ?? 0,
    'Matt even',
    'looked again by daylight',
  );
  jpeg = await readFile(new URL('../data/pictures/crack.jpg', import.meta.url));
  await keeper.addPhoto(id, 'Hanna', 'the crack by transmitted light', jpeg);
  await keeper.signOff(id, 'Hanna', 'examined, the record is as I remember it');
  if (needs('openssl')) {
    authority = await timeAuthorityOnLoopback();
    const ask = timeAuthority(authority.url);
    await store.stamp(id, (question) => ask(question, new AbortController().signal));
  }
  await store.release();
  detail = await archive.detail(id);
  proof = await keeper.proof(id);
});

afterAll(async () => {
  await authority?.stop();
  await rm(dir, { recursive: true });
});

async function unpacked(): Promise<string> {
  const zip = `${dir}/export.zip`;
  const folder = `${dir}/unpacked`;
  await pipeline(await keeper.exportZip(id), createWriteStream(zip));
  await rm(folder, { recursive: true, force: true });
  await mkdir(folder);
  await run(pathOf('python3'), ['-m', 'zipfile', '-e', zip, folder]);
  return folder;
}

interface Outcome {
  readonly code: number;
  readonly said: string;
}

async function type(command: string, folder: string): Promise<Outcome> {
  try {
    return { code: 0, said: (await run('sh', ['-c', command], { cwd: folder })).stdout };
  } catch (error) {
    const { code, stdout } = error as { code: number; stdout: string };
    return { code, said: stdout };
  }
}

describe.runIf(needs('python3', 'openssl'))('an export in the hands of an outsider', () => {
  it('is checked with the commands of its README, typed as they are printed', async () => {
    const folder = await unpacked();
    const readme = await readFile(`${folder}/README.txt`, 'utf8');
    const commands = [...readme.matchAll(/^ {4}\$ (.*)$/gm)].map(([, command]) => command ?? '');
    expect(commands).toHaveLength(8);
    // What whoever checks gets from the authority.
    await writeFile(`${folder}/authority.pem`, await readFile(authority?.caFile ?? ''));
    const said: string[] = [];
    for (const command of commands) {
      const outcome = await type(command, folder);
      expect(outcome.code, command).toBe(0);
      said.push(outcome.said.trim());
    }
    const [checked, sum, line4, signature, fingerprint, photo, stamp, stamped] = said;
    expect(checked).toBe(
      `OK: ${proof.lines} lines stand as they were written and signed, seal ${proof.head}, with key ${proof.key?.replaceAll(' ', '')}: if this is the key you know, nobody has changed it since`,
    );
    expect(sum?.slice(0, 64)).toBe(line4);
    expect(photo).toMatch(/^([0-9a-f]{64}) {2}photos\/\1\.jpg$/);
    expect(signature).toContain('Signature Verified Successfully');
    expect(fingerprint?.slice(0, 32)).toBe(proof.key?.replaceAll(' ', ''));
    expect(Date.parse(/Time stamp: (.*)/.exec(stamp ?? '')?.[1] ?? '')).toBe(proof.stamp?.atMs);
    expect(stamped).toContain('Verification: OK');
    expect(readme).toContain(proof.head);
    expect(readme).toContain(proof.key ?? 'no key');
  });

  it('is refused by its own checker once it is changed, cut, or signed by a stranger', async () => {
    const folder = await unpacked();
    const check = (key = ''): Promise<Outcome> => type(`python3 check_record.py ${key}`, folder);
    const record = await readFile(`${folder}/record.jsonl`, 'utf8');
    const seals = await readFile(`${folder}/checkpoints.jsonl`, 'utf8');
    expect(await check(`"${proof.key}"`)).toMatchObject({ code: 0, said: expect.stringContaining('the key you know') });
    expect(await check('"0000 1111 2222 3333 4444 5555 6666 7777"')).toMatchObject({
      code: 1,
      said: expect.stringContaining('not the one you know'),
    });
    expect((await check('abc')).code).toBe(2);

    await writeFile(`${folder}/record.jsonl`, record.replace('"mC":66', '"mC":65'));
    expect(await check()).toMatchObject({ code: 1, said: expect.stringMatching(/^BAD: line \d+ or \d+ was changed/) });
    await writeFile(`${folder}/record.jsonl`, `${record.split('\n').slice(0, -2).join('\n')}\n`);
    expect(await check()).toMatchObject({
      code: 3,
      said: expect.stringContaining('missing, though they were signed for'),
    });
    const fewer = seals.split('\n').slice(0, -6);
    const signed = Number(JSON.parse(fewer.at(-1) ?? '').text.split('\n')[2]);
    await writeFile(`${folder}/checkpoints.jsonl`, `${fewer.join('\n')}\n`);
    await writeFile(`${folder}/record.jsonl`, `${record.split('\n').slice(0, signed).join('\n')}\n`);
    expect(await check()).toMatchObject({ code: 3, said: expect.stringMatching(/^INCOMPLETE/) });
    await rm(`${folder}/checkpoints.jsonl`);
    expect(await check()).toMatchObject({ code: 3, said: expect.stringContaining('nobody has signed for it') });
    await rm(`${folder}/record.jsonl`);
    expect((await check()).code).toBe(2);
  });

  it('is refused by its own checker where a seal that was stamped is another', async () => {
    const folder = await unpacked();
    const [text = ''] = (await readdir(`${folder}/stamps`)).filter((name) => name.endsWith('.txt'));
    await appendFile(`${folder}/stamps/${text}`, ' ');
    expect(await type('python3 check_record.py', folder)).toMatchObject({
      code: 1,
      said: `BAD: stamps/${text} is not the seal of that number\n`,
    });
  });

  it('holds the photographs as they were filed, and its checker misses one that was swapped or taken out', async () => {
    const folder = await unpacked();
    const check = (): Promise<Outcome> => type('python3 check_record.py', folder);
    const [name = ''] = await readdir(`${folder}/photos`);
    expect(await readFile(`${folder}/photos/${name}`)).toEqual(jpeg);
    await writeFile(`${folder}/photos/${name}`, Buffer.concat([jpeg, jpeg]));
    expect(await check()).toMatchObject({
      code: 1,
      said: expect.stringMatching(/^BAD: the photograph of line \d+ was/),
    });
    await rm(`${folder}/photos/${name}`);
    expect(await check()).toMatchObject({
      code: 3,
      said: expect.stringMatching(/^INCOMPLETE: the photograph of line/),
    });
  });

  it('holds the record byte for byte, and the tables as a spreadsheet reads them', async () => {
    const folder = await unpacked();
    for (const name of ['record.jsonl', 'checkpoints.jsonl', 'kiln.json', 'schedule.json']) {
      expect(await readFile(`${folder}/${name}`)).toEqual(await readFile(`${dir}/firings/${id}/${name}`));
    }
    const script = `
import csv, json, sys
rows = list(csv.DictReader(open("readings.csv", encoding="utf-8-sig", newline="")))
good = [float(row["°C"]) for row in rows if row["quality"] == "good"]
print(json.dumps({"rows": len(rows), "peak": max(good), "figures": list(csv.reader(open("figures.csv", encoding="utf-8-sig", newline="")))}))`;
    await writeFile(`${folder}/read.py`, script);
    const table = JSON.parse((await type('python3 read.py', folder)).said);
    expect(table.peak).toBe(detail.peakC.shelf);
    const lines = (await readFile(`${folder}/record.jsonl`, 'utf8'))
      .split('\n')
      .slice(0, -1)
      .map((line) => JSON.parse(line));
    expect(table.rows).toBe(lines.filter((line) => line.type === 'reading').length);
    const [heads, ...rows] = table.figures as string[][];
    const cell = (figure: string, head: string): string | undefined =>
      rows.find(([label]) => label === figure)?.[heads?.indexOf(head) ?? -1];
    expect(Number(cell('Peak, shelf', '°C'))).toBeCloseTo(detail.peakC.shelf ?? 0, 1);
    expect(cell('Peak, shelf', 'as the report says it')).toContain(`${detail.peakC.shelf?.toFixed(1)} °C`);
    expect(Number(cell('Readings', 'count'))).toBe(detail.readings);
    for (const { segment, inBandMinutes, clockMinutes } of detail.holds) {
      const hold = `Hold, part ${segment + 1} of the plan`;
      expect(Number(cell(hold, 'minutes'))).toBe(inBandMinutes);
      expect(Number(cell(hold, 'minutes by the clock'))).toBe(clockMinutes);
    }
    // Every cell between the name and the words is empty, a number, or a time.
    for (const [label, ...cells] of rows) {
      for (const one of cells.slice(0, -1)) expect(one, label).toMatch(/^(|-?\d+(\.\d+)?|\d{4}-\d\d-\d\d \d\d:\d\d)$/);
    }
  });
});

describe.runIf(needs('pdftotext'))('the report for the conservation file', () => {
  let text: string;
  let raw: Buffer;

  beforeAll(async () => {
    await pipeline(await keeper.reportPdf(id), createWriteStream(`${dir}/report.pdf`));
    raw = await readFile(`${dir}/report.pdf`);
    text = (await run(pathOf('pdftotext'), ['-layout', `${dir}/report.pdf`, '-'])).stdout.replace(/\s+/g, ' ');
  });

  it('shows the figures, acts, alerts and words of the record, degrees and dashes as they should be', () => {
    expect(text).toContain(`${detail.peakC.shelf?.toFixed(1)} °C at`);
    for (const hold of detail.holds) {
      expect(text).toContain(`${hold.inBandMinutes} min in the band, ${hold.clockMinutes} min by the clock`);
    }
    expect(text).toMatch(/The plan Part 1 to \d+ °C at \d+ °C\/h Part 2 .*hold for 15 min/);
    for (const alert of detail.alertList) expect(text).toContain(alert.message.slice(0, 40));
    expect(text).toContain('Matt — a little thin at the left edge, 660 °C');
    expect(text).toContain('A crack from the left corner, 4 cm');
    expect(text).toContain('it should say “Matt even”: looked again by daylight (Hanna)');
    const [signOff] = detail.signOffs;
    expect(text).toContain('Signed off by Hanna: examined, the record is as I remember it');
    expect(text).toContain(` ${signOff?.head} `);
    expect(text).toContain('type K thermocouple');
  });

  it('shows a photograph with its hash', async () => {
    expect(text).toContain('the crack by transmitted light (Hanna)');
    expect(text).toContain(`Photograph, SHA-256 ${createHash('sha256').update(jpeg).digest('hex')}`);
    const { stdout } = await run(pathOf('pdftotext').replace('pdftotext', 'pdfimages'), ['-list', `${dir}/report.pdf`]);
    expect(stdout).toMatch(/image\s+160\s+120\b.*\bjpeg\b/);
  });

  it('names verdict, seal and key as the proof does', () => {
    expect(proof.verdict).toBe('OK');
    expect(text).toContain(`Seal ${proof.head}`);
    expect(text).toContain(`Key ${proof.key}`);
    expect(text).toContain('OK. Lines 1 to');
    expect(text).toContain(
      `Time authority Clock, Town saw seal ${proof.sealCount}, over lines 1 to ${proof.lines}, at`,
    );
  });

  it('never claims that the glass is sound', () => {
    expect(text).toContain('It does not tell whether the glass is sound: nobody sees a crack from outside.');
    expect(text.match(/sound/g)).toHaveLength(1);
  });

  it('brings its fonts along', async () => {
    const { stdout } = await run(pathOf('pdftotext').replace('pdftotext', 'pdffonts'), [`${dir}/report.pdf`]);
    const fonts = stdout.split('\n').slice(2, -1);
    expect(fonts.length).toBeGreaterThanOrEqual(2);
    for (const font of fonts) expect(font).toMatch(/DejaVuSans.*\byes\s+yes\s+yes\b/);
    expect(raw.subarray(0, 5).toString()).toBe('%PDF-');
  });
});
