/** What the tests need from Debian: real terminals, a real broker. */
import { accessSync, constants, existsSync } from 'node:fs';
import { delimiter, join } from 'node:path';

/** Debian's package of each program, and of each Python module. */
const PACKAGES = {
  socat: 'socat',
  mosquitto: 'mosquitto',
  mosquitto_passwd: 'mosquitto',
  mosquitto_pub: 'mosquitto-clients',
  mosquitto_sub: 'mosquitto-clients',
  chromium: 'chromium',
  openssl: 'openssl',
  gcc: 'gcc',
  python3: 'python3',
  pdftotext: 'poppler-utils',
  soffice: 'libreoffice-calc-nogui',
  mbpoll: 'mbpoll',
  pymodbus: 'python3-pymodbus',
  serial_asyncio: 'python3-serial-asyncio',
} as const;

/** Debian's Python, and where its modules lie: those that are no program of their own. */
export const PYTHON = '/usr/bin/python3';
const MODULES = '/usr/lib/python3/dist-packages';
const MODULE_NAMES: ReadonlySet<string> = new Set(['pymodbus', 'serial_asyncio']);

export type DebianProgram = keyof typeof PACKAGES;

/**
 * True where the program is there: `describe.runIf(needs('socat'))(…)`. With CI=true a missing one fails the test file;
 * otherwise its tests are skipped and the reason is printed.
 */
export function needs(...programs: DebianProgram[]): boolean {
  const missing = programs.filter((program) => findProgram(program) === undefined);
  if (missing.length === 0) return true;
  const sentence = `${missing.join(', ')} is missing: run "apt-get install ${[...new Set(missing.map((m) => PACKAGES[m]))].join(' ')}"`;
  if (process.env.CI === 'true') throw new Error(sentence);
  console.warn(`Skipped: ${sentence}.`);
  return false;
}

/** The program's whole path. A user's PATH often leaves out /usr/sbin, where Debian puts the broker. */
export function pathOf(program: DebianProgram): string {
  const path = findProgram(program);
  if (path === undefined) throw new Error(`${program} is missing: install ${PACKAGES[program]}`);
  return path;
}

function findProgram(program: string): string | undefined {
  if (MODULE_NAMES.has(program)) return [join(MODULES, program)].find((path) => existsSync(path));
  const dirs = [...(process.env.PATH ?? '').split(delimiter), '/usr/sbin', '/usr/local/sbin'].filter(
    (dir) => dir !== '',
  );
  return dirs.map((dir) => join(dir, program)).find(isExecutable);
}

function isExecutable(path: string): boolean {
  try {
    accessSync(path, constants.X_OK);
    return true;
  } catch {
    return false;
  }
}
