/** Everything about one firing in one file, with what is needed to check it. */
import { Readable } from 'node:stream';
import yazl from 'yazl';
import { CHECKER, readme } from './checker.ts';
import { type CsvReading, readingsCsv } from './csv.ts';
import { figuresCsv } from './figures-csv.ts';
import { type FiringReport, wallTime, zoneName } from './firing-report.ts';
import { reportPdf } from './report-pdf.ts';

export interface ZipParts {
  readonly report: FiringReport;
  readonly readings: Iterable<CsvReading>;
  /** Files of the record by their names, as they are on the disk. */
  readonly files: ReadonlyMap<string, Buffer>;
  /** Photographs, each opened when its turn comes. */
  readonly photos: readonly { readonly name: string; readonly open: () => Readable }[];
  /** What was signed last, the signature, and the key as a PEM file; null where nobody signed. */
  readonly lastSeal: {
    readonly text: string;
    readonly lines: number;
    readonly signature: Buffer;
    readonly pem: string;
  } | null;
  /** What time authorities answered, and the texts of the seals that they were asked about. */
  readonly stamps: readonly { readonly seal: number; readonly text: string; readonly answer: Buffer }[];
}

export function firingZip({ report, readings, files, photos, lastSeal, stamps }: ZipParts): Readable {
  const { detail, proof, software, utcOffsetMinutes } = report;
  const zip = new yazl.ZipFile();
  const options = { mtime: new Date(report.madeAtMs), mode: 0o100644 };
  const add = (name: string, content: Buffer | string): void => zip.addBuffer(Buffer.from(content), name, options);
  const zone = zoneName(utcOffsetMinutes);
  const { id, kilnName, scheduleName } = detail;
  const began = `${wallTime(detail.startedAtMs, utcOffsetMinutes)} (${zone})`;
  const { lines, head, key, stamp } = proof;
  const hasPhotos = photos.length > 0;
  const stampedSeal = stamp?.seal ?? null;
  const sealedLines = lastSeal?.lines ?? 0;
  const known = { id, kilnName, scheduleName, began, zone, lines, head, key, software };
  add('README.txt', readme({ ...known, hasPhotos, sealedLines, stampedSeal }));
  add('check_record.py', CHECKER);
  for (const [name, bytes] of files) add(name, bytes);
  for (const { name, open } of photos) {
    zip.addReadStreamLazy(name, { ...options, compress: false }, (give) => give(null, open()));
  }
  if (lastSeal !== null) {
    add('last-seal.txt', lastSeal.text);
    add('last-seal.sig', lastSeal.signature);
    add('key.pem', lastSeal.pem);
  }
  for (const { seal, text, answer } of stamps) {
    add(`stamps/${seal}.txt`, text);
    add(`stamps/${seal}.tsr`, answer);
  }
  add('figures.csv', figuresCsv(report));
  zip.addReadStream(Readable.from(readingsCsv(readings, detail.startedAtMs)), 'readings.csv', options);
  zip.addReadStream(reportPdf(report), 'report.pdf', options);
  zip.end();
  // The library's stream is one of Node's, which its types say less exactly.
  return zip.outputStream as unknown as Readable;
}
