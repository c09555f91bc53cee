// Sees to what the tests need from Debian. As root it is installed; otherwise it is named in one sentence.
// With CI=true a missing part is a failure; else the tests that need it are skipped and say so.
import { spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { delimiter, isAbsolute, join } from 'node:path';

const parts = [
  ['chromium', 'chromium'],
  ['mosquitto', 'mosquitto'],
  ['mosquitto_pub', 'mosquitto-clients'],
  ['socat', 'socat'],
  ['openssl', 'openssl'],
  ['gcc', 'gcc'],
  ['python3', 'python3'],
  ['pdftotext', 'poppler-utils'],
  // What gcc needs to compile against; apt is told not to take what is only recommended.
  ['/usr/include/stdlib.h', 'libc6-dev'],
  ['soffice', 'libreoffice-calc-nogui'],
  ['mbpoll', 'mbpoll'],
  // Python modules are no programs: known by their place.
  ['/usr/lib/python3/dist-packages/pymodbus', 'python3-pymodbus'],
  ['/usr/lib/python3/dist-packages/serial_asyncio', 'python3-serial-asyncio'],
];
const folders = [...(process.env.PATH ?? '').split(delimiter), '/usr/sbin', '/usr/local/sbin'].filter(Boolean);
const isThere = (part) =>
  isAbsolute(part) ? existsSync(part) : folders.some((folder) => existsSync(join(folder, part)));
const missing = () => parts.filter(([part]) => !isThere(part));

function aptGet(...words) {
  const env = { ...process.env, DEBIAN_FRONTEND: 'noninteractive' };
  return spawnSync('apt-get', words, { stdio: ['ignore', 'ignore', 'inherit'], env }).status === 0;
}

const names = (list) => list.map(([, name]) => name).join(' ');
if (missing().length > 0 && process.getuid?.() === 0 && existsSync('/usr/bin/apt-get')) {
  console.log(`Installing from Debian for the tests: ${names(missing())}`);
  aptGet('update', '-qq');
  aptGet('install', '-y', '-qq', '--no-install-recommends', ...names(missing()).split(' '));
}
const left = missing();
if (left.length > 0) {
  const tail = process.env.CI === 'true' ? '' : '; the tests that need it are skipped';
  console.error(`Missing for the tests: run "apt-get install ${names(left)}" as root${tail}.`);
  if (process.env.CI === 'true') process.exit(1);
}
