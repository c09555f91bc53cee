/** The whole configuration. Units stand in the keys; each default beside its reason. */
import { z } from 'zod';
import { BROKER_HABITS, brokerShape } from './broker.ts';
import { strict } from './faults.ts';
import { isHostName, isLoopback, parseHostPort } from './host-port.ts';
import { words } from './schedule-schema.ts';

/**
 * Loopback by default: nobody else on the network sees the page until the owner says so.
 * The port is in no list of well-known services (IANA, from memory).
 */
export const DEFAULT_LISTEN = '127.0.0.1:4660';

const LISTEN = 'write HOST:PORT, for example 127.0.0.1:4660';
const AUTHORITY = 'write the address of a time-stamping authority (RFC 3161), for example https://time.example/tsr';
const HOST_NAME = 'write a name by which the page is opened, for example kiln-room.local, without http:// and port';
const SPEED = 'write how many times faster than real time, from 1 to 3600';
const SMALL_BROKER =
  'write 127.0.0.1:1883; the small broker knows no passwords, so it listens to this machine only: for other machines run a broker of your system';

const hostPort = (right: string) =>
  z.string({ error: right }).refine((text) => parseHostPort(text) !== undefined, { error: right });

export const configSchema = strict(
  {
    listen: hostPort(LISTEN).default(DEFAULT_LISTEN),
    /** Where records are kept; without it `SPYHOLE_DATA` or the home folder decides. */
    data: words('a folder', 1000).optional(),
    /** The last seals are kept there too, on another disk: an older copy of the data put back is then noticed. */
    sealsFolder: words('a folder', 1000).optional(),
    /** Off unless it is written: an authority outside is asked to stamp the last seal of each firing that is over. */
    timeAuthority: z
      .string({ error: AUTHORITY })
      .max(1000, { error: AUTHORITY })
      .refine(isWebAddress, { error: AUTHORITY })
      .optional(),
    hosts: z
      .array(
        z.string({ error: HOST_NAME }).refine((h) => isHostName(h) || isAddress(h), { error: HOST_NAME }),
        {
          error: 'write a list of names by which the page is opened',
        },
      )
      .default([]),
    clock: strict(
      { speed: z.number({ error: SPEED }).min(1, { error: SPEED }).max(3600, { error: SPEED }) },
      'write {speed: NUMBER}',
    ).optional(),
    /** A folder of the workshop's own schedules, besides those that come along. */
    schedules: words('a folder', 1000).optional(),
    smallBroker: z
      .string({ error: SMALL_BROKER })
      .refine((text) => isLoopback(parseHostPort(text)?.host ?? ''), { error: SMALL_BROKER })
      .optional(),
    /** Off unless it is written: what the watch says is told to a broker too. */
    mqttOut: strict(brokerShape, 'write {url}', BROKER_HABITS).optional(),
    /** Empty where the last one was removed: the page then leads to the next. */
    kilns: z.array(z.unknown(), { error: 'write a list of kilns' }),
  },
  'write kilns, and what else differs from the defaults',
  {
    kiln: 'write kilns: with a list of one',
    port: 'write listen: HOST:PORT',
    host: 'write listen: HOST:PORT',
    dataDir: 'write data',
    speed: 'write clock: {speed: NUMBER}',
    broker: 'write smallBroker: HOST:PORT, or mqttOut: {url}',
    mqtt: 'write mqttOut: {url}, or input: {kind: mqtt, url, topics} at a kiln',
  },
);

function isWebAddress(text: string): boolean {
  if (!URL.canParse(text)) return false;
  const { protocol, username } = new URL(text);
  return /^https?:$/.test(protocol) && username === '';
}

function isAddress(text: string): boolean {
  return parseHostPort(text.includes(':') ? `[${text}]:1` : `${text}:1`) !== undefined;
}
