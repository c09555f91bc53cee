/** What is written of a broker: where it is, what it speaks, and who we are to it. Secrets stand in no configuration. */
import { readFileSync } from 'node:fs';
import { z } from 'zod';
import type { Fault } from '../errors.ts';
import { besideFile } from './beside-file.ts';
import { faultAt, valueAt } from './faults.ts';
import { words } from './schedule-schema.ts';
import type { Path, Source } from './yaml-file.ts';

export type MqttVersion = '3.1.1' | 5;

/** As it stands in the configuration. */
export interface BrokerEntry {
  readonly url: string;
  readonly version: MqttVersion;
  readonly username?: string | undefined;
  readonly passwordFile?: string | undefined;
  readonly passwordEnv?: string | undefined;
  readonly caFile?: string | undefined;
}

/** With its secrets read. */
export interface Broker {
  readonly url: string;
  readonly version?: MqttVersion | undefined;
  readonly username?: string | undefined;
  readonly password?: string | undefined;
  /** Certificates of the authority that is trusted, as PEM; without them those that the machine trusts. */
  readonly ca?: string | undefined;
}

const URL_RIGHT = 'write mqtt://HOST:1883, or mqtts://HOST:8883, without a name, password or path in it';
const ENV_NAME = "write the variable's name: letters, digits and underscores";

export const brokerShape = {
  url: z.string({ error: URL_RIGHT }).refine(isBrokerUrl, { error: URL_RIGHT }),
  // Every broker speaks 3.1.1.
  version: z.union([z.literal('3.1.1'), z.literal(5)], { error: 'write 3.1.1 or 5' }).default('3.1.1'),
  username: words('the user name', 200).optional(),
  passwordFile: words('the path of the file that holds the password', 500).optional(),
  passwordEnv: z
    .string({ error: ENV_NAME })
    .regex(/^[A-Za-z_][A-Za-z0-9_]{0,99}$/, { error: ENV_NAME })
    .optional(),
  caFile: words('the path of the certificate (PEM) of the authority that the broker is signed by', 500).optional(),
};

export const BROKER_HABITS = {
  broker: 'write url',
  host: 'write url: mqtt://HOST:1883',
  port: 'write url: mqtt://HOST:PORT',
  user: 'write username',
  password: 'write passwordFile: the path of a file that holds the password, so that it stands in no configuration',
  ca: 'write caFile: the path of the certificate',
  tls: 'write url: mqtts://HOST:8883',
  protocol: 'write version: 3.1.1 or version: 5',
  protocolVersion: 'write version: 3.1.1 or version: 5',
};

function isBrokerUrl(text: string): boolean {
  if (!/^mqtts?:\/\//.test(text) || !URL.canParse(text)) return false;
  const url = new URL(text);
  return (
    url.hostname !== '' && url.username === '' && url.password === '' && /^\/?$/.test(url.pathname) && url.search === ''
  );
}

/** What a schema cannot say of the broker at `at`. */
export function brokerFaults(source: Source, at: Path): Fault[] {
  const has = (key: string): boolean => valueAt(source.value, [...at, key]) !== undefined;
  const faults: Fault[] = [];
  if ((has('passwordFile') || has('passwordEnv')) && !has('username')) {
    faults.push(faultAt(source, [...at, 'username'], 'write the user name that the password belongs to'));
  }
  if (has('passwordFile') && has('passwordEnv')) {
    const what = 'the password is to come from a file and from a variable';
    faults.push(faultAt(source, [...at, 'passwordEnv'], 'keep one of passwordFile and passwordEnv', what));
  }
  if (has('caFile') && !String(valueAt(source.value, [...at, 'url'])).startsWith('mqtts:')) {
    const what = 'a certificate is named, and the line is not encrypted';
    faults.push(faultAt(source, [...at, 'caFile'], 'write url: mqtts://HOST:8883, or leave caFile out', what));
  }
  return faults;
}

/** What cannot be read of the secrets that the broker at `at` names. */
export function secretFaults(source: Source, at: Path, env: NodeJS.ProcessEnv): Fault[] {
  const { passwordFile, passwordEnv, caFile } = Object(valueAt(source.value, at)) as Record<string, unknown>;
  const faults: Fault[] = [];
  if (typeof passwordFile === 'string' && textOf(passwordFile, source.file) === undefined) {
    const right = 'write the path of a file that this user may read, with the password in it';
    const what = `the password file "${passwordFile}" cannot be read`;
    faults.push(faultAt(source, [...at, 'passwordFile'], right, what));
  }
  if (typeof passwordEnv === 'string' && (env[passwordEnv] ?? '') === '') {
    const right = `start with ${passwordEnv} set to the password, or write passwordFile`;
    faults.push(faultAt(source, [...at, 'passwordEnv'], right, `the variable ${passwordEnv} is not set`));
  }
  if (typeof caFile === 'string' && textOf(caFile, source.file)?.includes('-----BEGIN CERTIFICATE-----') !== true) {
    const right = 'write the path of a file that this user may read, with the certificate in it as PEM';
    faults.push(faultAt(source, [...at, 'caFile'], right, `no certificate can be read in "${caFile}"`));
  }
  return faults;
}

/** The broker of an entry in which `brokerFaults` and `secretFaults` found nothing; its other keys stay. */
export function withSecrets<Entry extends BrokerEntry>(
  entry: Entry,
  file: string,
  env: NodeJS.ProcessEnv,
): Omit<Entry, 'passwordFile' | 'passwordEnv' | 'caFile'> & Broker {
  const { passwordFile, passwordEnv, caFile, ...rest } = entry;
  const password =
    passwordFile === undefined ? env[passwordEnv ?? ''] : textOf(passwordFile, file)?.replace(/\r?\n$/, '');
  const ca = caFile === undefined ? undefined : textOf(caFile, file);
  return { ...rest, ...(password !== undefined && { password }), ...(ca !== undefined && { ca }) };
}

function textOf(path: string, file: string): string | undefined {
  try {
    return readFileSync(besideFile(path, file), 'utf8');
  } catch {
    // Told as a fault of the configuration, by the key that names it.
    return undefined;
  }
}
