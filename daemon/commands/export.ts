/** `spyhole export`: a firing with its record, seals, report and checker in one zip file. */
import { createWriteStream } from 'node:fs';
import { pipeline } from 'node:stream/promises';
import { ConfigError, RequestError } from '../errors.ts';
import { derivedFiles } from '../recorder/derived.ts';
import { fileRecordStore } from '../recorder/file-recorder.ts';
import { Archive } from '../runtime/archive.ts';
import { RecordKeeper } from '../runtime/record-keeper.ts';

const KINDS = { zip: 'exportZip', pdf: 'reportPdf', csv: 'readingsCsv' } as const;

/**
 * Writes one file; what it is follows from its name's end.
 *
 * @throws ConfigError for a name that says nothing, a firing that is not there, or a file that cannot be written
 */
export async function exportFiring(
  dataDir: string,
  firingId: string,
  out: string,
  print: (line: string) => void,
): Promise<void> {
  const kind = /\.(zip|pdf|csv)$/i.exec(out)?.[1]?.toLowerCase() as keyof typeof KINDS | undefined;
  if (kind === undefined) {
    const what = `${JSON.stringify(out)} does not say what to write`;
    throw new ConfigError('spyhole export', [{ what, where: '--out', right: 'end the name in .zip, .pdf or .csv' }]);
  }
  const store = fileRecordStore(dataDir);
  const archive = new Archive(store, derivedFiles(dataDir), () => []);
  const keeper = new RecordKeeper({ store, archive, dataDir, nowMs: Date.now, isOn: () => false, broken: () => [] });
  try {
    await pipeline(await keeper[KINDS[kind]](firingId), createWriteStream(out));
  } catch (error) {
    if (error instanceof RequestError) {
      const { what } = error.fault;
      throw new ConfigError('spyhole export', [{ what, where: dataDir, right: 'name a firing of its folder firings' }]);
    }
    const code = (error as NodeJS.ErrnoException).code;
    if (code === undefined) throw error;
    throw new ConfigError(out, [
      { what: `cannot be written (${code})`, where: 'the file', right: 'name a place that you may write to' },
    ]);
  }
  print(`Written: ${out}`);
}
