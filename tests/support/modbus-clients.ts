/** Modbus clients and a slave that others wrote, as they are in Debian: what they get is what a stranger gets. */
import { execFile, spawn } from 'node:child_process';
import { once } from 'node:events';
import { fileURLToPath } from 'node:url';
import { PYTHON, pathOf } from './debian.ts';
import { until } from './terminal-pair.ts';

export type SlavePlace = { readonly path: string } | { readonly host: string; readonly port: number };

export interface Polled {
  readonly exitCode: number;
  /** By address, as printed: `6483`, `648.25`, `nan`. */
  readonly values: Readonly<Record<number, string>>;
  /** What it complained of: `Invalid CRC`. */
  readonly failure: string | undefined;
}

interface RegisterRead {
  readonly as: string;
  readonly from: number;
  readonly count?: number;
  readonly lowWordFirst?: boolean;
}

/** As a master does it: asks again, twice at the most, where no answer came in time. A busy machine is no silent slave. */
export async function poll(place: SlavePlace, unit: number, read: RegisterRead): Promise<Polled> {
  let polled = await pollOnce(place, unit, read, 5);
  for (let again = 0; again < 2 && polled.failure === 'Connection timed out'; again++) {
    polled = await pollOnce(place, unit, read, 5);
  }
  return polled;
}

/** @param read.as `3` or `4` is the table of function 4 or 3; `:float` and `:int` take two registers */
export async function pollOnce(place: SlavePlace, unit: number, read: RegisterRead, timeoutS = 1): Promise<Polled> {
  const wire =
    'path' in place
      ? { options: ['-m', 'rtu', '-b', '19200', '-P', 'none'], device: place.path }
      : { options: ['-m', 'tcp', '-p', `${place.port}`], device: place.host };
  const what = [
    '-a',
    `${unit}`,
    '-0',
    '-r',
    `${read.from}`,
    '-c',
    `${read.count ?? 1}`,
    '-t',
    read.as,
    '-o',
    `${timeoutS}`,
    '-1',
  ];
  const order = read.lowWordFirst === true ? [] : ['-B'];
  const said = await run(pathOf('mbpoll'), [...wire.options, ...what, ...order, wire.device]);
  const values = Object.fromEntries(
    [...said.text.matchAll(/^\[(\d+)\]:\s+(\S+)/gm)].map(([, at, value]) => [Number(at), value ?? '']),
  );
  return { exitCode: said.exitCode, values, failure: /failed: (.+)/.exec(said.text)?.[1] };
}

export interface PythonRead {
  readonly words?: readonly number[];
  readonly exception?: number;
  readonly error?: string;
  /** Of two words: the number if the high word comes first, and if the low one does; null for not-a-number. */
  readonly floats: readonly (number | null)[] | null;
}

/** @param reads unit, function, address, count */
export async function readWithPymodbus(
  place: SlavePlace,
  reads: readonly (readonly [number, number, number, number])[],
  timeoutS = 5,
): Promise<PythonRead[]> {
  const script = fileURLToPath(new URL('read-with-pymodbus.py', import.meta.url));
  const wire = 'path' in place ? ['rtu', place.path] : ['tcp', place.host, `${place.port}`];
  const { exitCode, text } = await run(PYTHON, [script, `${timeoutS}`, ...wire, ...reads.flat().map(String)]);
  if (exitCode !== 0) throw new Error(`pymodbus ended with ${exitCode}: ${text}`);
  return JSON.parse(text.trim().split('\n').at(-1) ?? '') as PythonRead[];
}

function run(program: string, args: readonly string[]): Promise<{ exitCode: number; text: string }> {
  return new Promise((resolve, reject) => {
    const child = execFile(program, args, (error, stdout, stderr) => {
      if (error !== null && typeof error.code !== 'number') reject(error);
      else resolve({ exitCode: child.exitCode ?? 0, text: `${stderr}${stdout}` });
    });
  });
}

export interface PythonSlave {
  stop(): Promise<void>;
}

/** @param units by unit number, the words of holding (3) and input (4) registers from address 0 */
export async function serveWithPymodbus(
  place: { readonly path: string } | { readonly port: number },
  units: Readonly<Record<number, { readonly 3: readonly number[]; readonly 4: readonly number[] }>>,
): Promise<PythonSlave> {
  const script = fileURLToPath(new URL('serve-with-pymodbus.py', import.meta.url));
  const wire = 'path' in place ? ['rtu', place.path] : ['tcp', `${place.port}`];
  const slave = spawn(PYTHON, [script, ...wire, JSON.stringify(units)], { stdio: ['ignore', 'ignore', 'pipe'] });
  await until(slave, /serving/);
  return {
    async stop() {
      if (slave.exitCode !== null || slave.signalCode !== null) return;
      slave.kill('SIGKILL');
      await once(slave, 'exit');
    },
  };
}
