/** What can be asked of past firings and their records, and what can be added to them. */
import { createReadStream } from 'node:fs';
import { readFile, stat } from 'node:fs/promises';
import { basename } from 'node:path';
import { Readable } from 'node:stream';

import type { Photo } from '../core/inputs.ts';
import { DaemonError, RecordError, RequestError } from '../errors.ts';
import { type CsvReading, readingsCsv } from '../exports/csv.ts';
import type { FiringReport } from '../exports/firing-report.ts';
import { wallTime } from '../exports/firing-report.ts';
import { sensorStatement } from '../exports/sensor-statement.ts';
import { diskRefusal } from '../recorder/chain-file.ts';
import { isBeingWritten } from '../recorder/data-lock.ts';
import { errorCode, realDisk } from '../recorder/disk.ts';
import { firingsFolder } from '../recorder/file-recorder.ts';
import { requireFiringId } from '../recorder/firing-id.ts';
import { groupedFingerprint } from '../recorder/key-ring.ts';
import { keepPhoto, photoBytes, photoOfName, photoPath } from '../recorder/photo-files.ts';
import { pictureMedia } from '../recorder/picture-kind.ts';
import type { Line, RecordStore } from '../recorder/recorder.ts';
import { fingerprintOf, publicPem } from '../recorder/signing.ts';
import type { RecordDesk, RowQuery } from '../server/record-desk.ts';
import { figureRows } from '../wire/figure-rows.ts';
import type { FiringDetail, FiringRow, Proof, WorkshopProof } from '../wire/live-messages.ts';
import { MOST_PHOTO_BYTES, MOST_PHOTOS_BYTES, PHOTO_RIGHT } from '../wire/photo-limits.ts';
import { type Words, wordsEntry } from './afterwords.ts';
import type { Archive } from './archive.ts';
import {
  examine,
  judgeLedger,
  type RecordFound,
  readLedgerFound,
  readRecordFound,
  signatureSentence,
} from './examine.ts';
import { readEvents, readOpening } from './record-lines.ts';

export interface KeeperParts {
  readonly store: RecordStore;
  readonly archive: Archive;
  readonly dataDir: string;
  readonly nowMs: () => number;
  readonly isOn: (firingId: string) => boolean;
  /** Writes a note into the record of a firing that is on. */
  readonly noteNow?: (firingId: string, by: string, text: string, photo: Photo) => Promise<unknown>;
  /** Why nothing large should be written now; null where there is room. */
  readonly cramped?: () => string | null;
  /** Why a time authority has not stamped a firing's last seal yet; null where none is to be asked, or it has. */
  readonly stampAwaited?: (firingId: string) => Promise<string | null>;
  /** What the start of the watch found broken. */
  readonly broken: () => readonly { readonly id: string; readonly sentence: string }[];
}

/** Of photographs in one report: it is made in memory. */
const REPORT_PHOTO_BYTES = 30_000_000;
/** Points of the curve in a report: more than a printer shows on a sheet. */
const REPORT_POINTS = 2400;

export class RecordKeeper implements RecordDesk {
  readonly #parts: KeeperParts;

  constructor(parts: KeeperParts) {
    this.#parts = parts;
  }

  search(query: RowQuery): Promise<readonly FiringRow[]> {
    return this.#parts.archive.rows(query);
  }

  /** Chain and seals; that it can be lived again is left to `spyhole verify`, since it takes seconds of a long firing. */
  async proof(firingId: string): Promise<Proof> {
    return this.#proofOf(firingId, await this.#found(firingId));
  }

  async workshopProof(): Promise<WorkshopProof> {
    const { dataDir, store, broken } = this.#parts;
    const ledger = await readLedgerFound(dataDir);
    const isSigned = (ledger?.seals.checkpoints.length ?? 0) > 0;
    const { verdict, sentence, line, lines, head } = judgeLedger(ledger, isSigned);
    const last = ledger?.seals.checkpoints.at(-1);
    return {
      key: last === undefined ? null : groupedFingerprint(fingerprintOf(last.publicKey)),
      ledger: { verdict, sentence, line: line ?? null, lines, head },
      broken: broken(),
      firingCount: (await store.ids()).length,
    };
  }

  correct(firingId: string, by: string, line: number, is: string, why: string): Promise<void> {
    return this.add(firingId, { kind: 'correction', by, line, is, why });
  }

  signOff(firingId: string, by: string, meaning: string): Promise<void> {
    return this.add(firingId, { kind: 'sign-off', by, meaning });
  }

  /**
   * The file first, then the line that names it: a record never names what is not on the disk.
   *
   * @throws RequestError for what is no picture, for one too many, and where the disk is short
   */
  async addPhoto(firingId: string, by: string, text: string, bytes: Buffer): Promise<{ readonly photo: string }> {
    const { isOn, noteNow, cramped } = this.#parts;
    const media = pictureMedia(bytes);
    const refuse = (status: number, what: string, right: string): RequestError =>
      new RequestError(status, { what, where: 'the picture', right });
    if (media === null) throw refuse(415, 'it is no whole JPEG or PNG', PHOTO_RIGHT);
    if (bytes.length > MOST_PHOTO_BYTES) throw refuse(413, 'it is too large', PHOTO_RIGHT);
    const short = cramped?.() ?? null;
    if (short !== null)
      throw new RequestError(507, { what: short, where: 'the disk', right: 'to make room on it first' });
    await this.#found(firingId);
    const folder = this.#folder(firingId);
    if ((await bytesIn(`${folder}/photos`)) + bytes.length > MOST_PHOTOS_BYTES) {
      const right = `at most ${MOST_PHOTOS_BYTES / 1e6} MB of pictures in one firing`;
      throw refuse(413, 'the firing has as many pictures as it can hold', right);
    }
    const photo = await keepPhoto(realDisk, folder, bytes, media).catch((error: unknown) => {
      throw refusalOf(diskRefusal(error, `The photograph of firing ${firingId}`), firingId);
    });
    if (isOn(firingId) && noteNow !== undefined) await noteNow(firingId, by, text, photo);
    else await this.add(firingId, { kind: 'note', by, text, photo });
    return { photo: basename(photoPath(photo)) };
  }

  async photo(firingId: string, name: string): Promise<{ readonly media: string; readonly bytes: Buffer }> {
    const photo = photoOfName(name);
    const bytes = photo === null ? null : await photoBytes(realDisk, this.#folder(requireFiringId(firingId)), photo);
    if (photo === null || bytes === null) {
      throw new RequestError(404, {
        what: 'there is no such photograph',
        where: 'the name in the address',
        right: 'a name that the notes of the firing show',
      });
    }
    if (bytes === 'changed') {
      throw new RequestError(409, {
        what: 'the photograph is not the one that was filed',
        where: 'the disk',
        right: 'run `spyhole verify` on the firing: it names the line',
      });
    }
    return { media: photo.media, bytes };
  }

  /** Adds words behind the end of a firing. @throws RequestError while it is on, or where its record was altered */
  async add(firingId: string, words: Words): Promise<void> {
    const { store, archive, nowMs, isOn } = this.#parts;
    if (isOn(firingId)) {
      throw new RequestError(409, {
        what: 'the firing is still on',
        where: 'the id in the address',
        right: 'to wait for its end; notes, and acts that set an earlier one right, can be written now',
      });
    }
    try {
      await store.amend(firingId, (lines, head) => wordsEntry(words, lines, head, nowMs()));
    } catch (error) {
      throw refusalOf(error, firingId);
    } finally {
      archive.forget(firingId);
    }
  }

  async exportZip(firingId: string): Promise<Readable> {
    const found = await this.#found(firingId);
    const report = await this.#report(firingId, found);
    const last = found.seals?.checkpoints.at(-1);
    // The seals among them are read before the lines: those that they count are there, also while the firing goes on.
    const files = await this.#filesOf(firingId);
    const lastSeal =
      last === undefined
        ? null
        : {
            text: last.text,
            lines: last.lines,
            signature: Buffer.from(last.signature, 'base64'),
            pem: publicPem(last.publicKey),
          };
    // Loaded when first asked for: the watch itself has no use for it, and starts sooner without.
    const { firingZip } = await import('../exports/firing-zip.ts');
    const photos = found.photos.filter(({ is }) => is !== 'missing').map(({ path }) => path);
    return firingZip({
      report,
      readings: csvReadings(found.walk.content),
      files,
      photos: [...new Set(photos)].map((name) => ({
        name,
        open: () => createReadStream(`${this.#folder(firingId)}/${name}`),
      })),
      lastSeal,
      stamps: found.stamps.map(({ seal, bytes }) => {
        return { seal, answer: bytes, text: found.seals?.checkpoints[seal - 1]?.text ?? '' };
      }),
    });
  }

  async reportPdf(firingId: string): Promise<Readable> {
    const { reportPdf } = await import('../exports/report-pdf.ts');
    return reportPdf(await this.#report(firingId, await this.#found(firingId)));
  }

  async readingsCsv(firingId: string): Promise<Readable> {
    const { walk } = await this.#found(firingId);
    return Readable.from(readingsCsv(csvReadings(walk.content), walk.content[0]?.t ?? 0));
  }

  async #found(firingId: string): Promise<RecordFound> {
    try {
      requireFiringId(firingId);
      const found = await readRecordFound(`${this.#folder(firingId)}/record.jsonl`);
      if (found.bytes.length > 0) return found;
    } catch (error) {
      if (!(error instanceof RecordError)) throw refusalOf(error, firingId);
    }
    throw new RequestError(404, {
      what: `there is no firing ${firingId}`,
      where: 'the id in the address',
      right: 'use an id that /api/firings lists',
    });
  }

  async #proofOf(firingId: string, found: RecordFound): Promise<Proof> {
    const { dataDir } = this.#parts;
    const ledger = await readLedgerFound(dataDir);
    // The command that exports is another process than the watch: it looks whether the record is held open.
    const isOn =
      this.#parts.isOn(firingId) || (await isBeingWritten(dataDir, `${this.#folder(firingId)}/record.jsonl`));
    const check = examine(firingId, found, { ledger, isOn, isLivedAgain: false });
    const { verdict, line, lines, head, signedBy, sealedAtMs } = check;
    return {
      verdict,
      sentence: capital([check.sentence, signatureSentence(check, undefined)].filter(Boolean).join(' ')),
      line: line ?? null,
      lines,
      head,
      key: signedBy === null ? null : groupedFingerprint(signedBy),
      sealedAtMs,
      sealCount: found.seals?.checkpoints.length ?? 0,
      isOn: check.isGoingOn === true,
      stamp: lastStamp(found),
      stampAwaited: (await this.#parts.stampAwaited?.(firingId)) ?? null,
    };
  }

  async #report(firingId: string, found: RecordFound): Promise<FiringReport> {
    const { archive, nowMs } = this.#parts;
    const opening = readOpening(found.walk.content[0]);
    const detail = await archive.detail(firingId);
    const curve = await archive.curve(firingId, REPORT_POINTS);
    if (opening === undefined) throw new RequestError(422, unreadable(firingId));
    const { utcOffsetMinutes } = opening.kiln;
    const figures = figureRows(detail, {
      celsius: (c) => `${(Math.round(c * 10) / 10).toFixed(1)} °C`,
      mark: (c) => `${c} °C`,
      delta: (c) => `${(Math.round(c * 10) / 10).toFixed(1)} °C`,
      rate: (c) => `${c} °C/h`,
      time: (atMs) => wallTime(atMs, utcOffsetMinutes).slice(11),
    });
    return {
      detail,
      curve,
      proof: await this.#proofOf(firingId, found),
      kiln: opening.kiln,
      software: `${opening.software} on Node ${opening.node}`,
      utcOffsetMinutes,
      figures,
      sensors: opening.kiln.sensors.map((setup) =>
        sensorStatement(
          setup,
          detail.figures?.peaks.find((peak) => peak.sensor === setup.name),
        ),
      ),
      photos: await this.#photosFor(firingId, detail),
      madeAtMs: nowMs(),
    };
  }

  /** The bytes of what a report can draw, by their hash, as far as it should grow. */
  async #photosFor(firingId: string, { notes }: FiringDetail): Promise<ReadonlyMap<string, Buffer>> {
    const photos = new Map<string, Buffer>();
    let left = REPORT_PHOTO_BYTES;
    for (const { photo } of notes) {
      // A PNG would have to be unpacked within the daemon, whatever it holds.
      if (photo?.media !== 'image/jpeg' || photos.has(photo.sha256)) continue;
      const bytes = await photoBytes(realDisk, this.#folder(firingId), photo).catch(() => null);
      if (!Buffer.isBuffer(bytes) || bytes.length > left) continue;
      left -= bytes.length;
      photos.set(photo.sha256, bytes);
    }
    return photos;
  }

  async #filesOf(firingId: string): Promise<ReadonlyMap<string, Buffer>> {
    const files = new Map<string, Buffer>();
    for (const name of ['checkpoints.jsonl', 'record.jsonl', 'kiln.json', 'schedule.json']) {
      try {
        files.set(name, await readFile(`${this.#folder(firingId)}/${name}`));
      } catch (error) {
        // A firing without a plan has no schedule, one of the first format no seals.
        if (errorCode(error) !== 'ENOENT') throw error;
      }
    }
    return files;
  }

  #folder(firingId: string): string {
    return `${firingsFolder(this.#parts.dataDir)}/${firingId}`;
  }
}

/** Of the files in a folder; none where there is no folder. */
async function bytesIn(folder: string): Promise<number> {
  let sum = 0;
  for (const name of await realDisk.list(folder)) sum += (await stat(`${folder}/${name}`)).size;
  return sum;
}

function lastStamp({ stamps, seals }: RecordFound): Proof['stamp'] {
  const last = stamps.findLast(({ says }) => says !== null);
  if (last?.says == null) return null;
  return { seal: last.seal, lines: seals?.checkpoints[last.seal - 1]?.lines ?? 0, ...last.says };
}

function capital(sentence: string): string {
  return sentence.charAt(0).toUpperCase() + sentence.slice(1);
}

function* csvReadings(lines: readonly Line[]): Generator<CsvReading> {
  for (const line of lines) {
    if (line.type !== 'reading') continue;
    const base = { atMs: line.t, raw: String(line.raw ?? ''), line: line.n };
    const events = readEvents(line);
    if (events.length === 0) {
      yield {
        ...base,
        sensor: '',
        celsius: null,
        uncertaintyC: null,
        quality: 'refused',
        reason: String(line.refused ?? ''),
        lid: '',
      };
    }
    for (const event of events) {
      if (event.type === 'reading') {
        const { sensor, celsius, uncertaintyC, quality, reason = '' } = event;
        yield { ...base, sensor, celsius, uncertaintyC, quality, reason, lid: '' };
      } else if (event.type === 'lid') {
        const none = { sensor: '', celsius: null, uncertaintyC: null, quality: '', reason: '' };
        yield { ...base, ...none, lid: event.open ? 'open' : 'closed' };
      }
    }
  }
}

function refusalOf(error: unknown, firingId: string): Error {
  if (!(error instanceof DaemonError) || error instanceof RequestError) return error as Error;
  const where = 'the id in the address';
  if (error.code === 'unknown-firing') {
    return new RequestError(404, {
      what: `there is no firing ${firingId}`,
      where,
      right: 'use an id that /api/firings lists',
    });
  }
  return new RequestError(409, {
    what: error.message.replace(/\.$/, ''),
    where,
    right: 'run `spyhole verify` on it: it names the line',
  });
}

function unreadable(firingId: string) {
  return {
    what: `the record of ${firingId} cannot be read`,
    where: 'the id in the address',
    right: 'run `spyhole verify` on it: it names the line',
  };
}
