/** `spyhole put-back`: the owner says that the records were put back from an older copy on purpose. It stands in the ledger for ever. */
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { dataDir } from '../config/data-dir.ts';
import { type Config, loadConfig } from '../config/load.ts';
import { ConfigError, type Fault } from '../errors.ts';
import { fileRecordStore } from '../recorder/file-recorder.ts';

export interface PutBackOptions {
  /** Who says it, and why. */
  readonly by: string;
  readonly why: string;
  /** The file that the watch is started with: it names the folder where the last seals are kept. */
  readonly config?: string | undefined;
  readonly data?: string | undefined;
}

const MOST_LETTERS = 500;

/** @throws DaemonError where a word is missing, there are no records, the watch runs, or the disk refuses */
export async function putBack(options: PutBackOptions, print: (line: string) => void): Promise<void> {
  const by = said('--by', options.by, 'write who says so');
  const why = said('--why', options.why, 'write why, for example "the disk broke, copy of Sunday"');
  const config = configOf(options);
  const folder = dataDir(options.data, process.env, config?.data);
  if (!existsSync(join(folder, 'ledger.jsonl'))) {
    throw refusal('--data', `${folder} holds no records`, 'name the folder that the watch records into');
  }
  const store = fileRecordStore(folder, { sealsFolder: config?.sealsFolder });
  try {
    const line = await store.putBack(by, why);
    print(
      `Line ${line} of the ledger says so now, signed: the watch and verify no longer call the records rolled back. What was recorded between stays missing.`,
    );
  } finally {
    await store.release();
  }
}

function said(where: string, text: string, right: string): string {
  // It is printed in one line by whoever checks the records.
  const words = text
    .toWellFormed()
    .replace(/\p{Control}+/gu, ' ')
    .trim();
  if (words === '' || words.length > MOST_LETTERS) {
    throw refusal(
      where,
      words === '' ? 'nothing is said' : 'that is too long',
      `${right}, up to ${MOST_LETTERS} letters`,
    );
  }
  return words;
}

function configOf({ config, data }: PutBackOptions): Config | undefined {
  if (config !== undefined) return loadConfig(config);
  const own = join(dataDir(data, process.env), 'spyhole.yaml');
  return existsSync(own) ? loadConfig(own) : undefined;
}

function refusal(where: string, what: string, right: string): ConfigError {
  const fault: Fault = { what, where, right };
  return new ConfigError('spyhole put-back', [fault]);
}
