/** The shape of a kiln's `input`: how its readings reach the daemon. */
import { z } from 'zod';
import { strict } from './faults.ts';
import { words } from './schedule-schema.ts';

/** The rates that serial ports have in common (termios, POSIX and Linux). */
const BAUDS = [300, 600, 1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200, 230400] as const;

/** The name of the column or topic that says whether the lid is open, and of a column to skip. */
export const LID = 'lid';
export const SKIP = '-';

const simulated = z
  .boolean({ error: 'write true only if a simulated kiln stands behind it, else leave it out' })
  .default(false);

const COLUMNS = 'write the list of columns in a line: sensor names, lid, or "-" for one to skip';

const serial = strict(
  {
    kind: z.literal('serial'),
    port: words('the device, best as /dev/serial/by-id/…', 500),
    // 9600 is what most instruments with text lines are set to when they leave the shelf. Common practice, no source.
    baud: z
      .union(
        BAUDS.map((b) => z.literal(b)),
        { error: `write one of ${BAUDS.join(', ')}` },
      )
      .default(9600),
    columns: z
      .array(z.string({ error: COLUMNS }).min(1, { error: COLUMNS }), { error: COLUMNS })
      .min(1, { error: COLUMNS })
      .optional(),
    simulated,
  },
  'write {kind: serial, port} or {kind: mqtt, url, topics}',
  { path: 'write port', device: 'write port', baudRate: 'write baud', baudrate: 'write baud', speed: 'write baud' },
);

const URL_RIGHT = 'write mqtt://HOST:1883, or mqtts://HOST:8883, without a name, password or path in it';
const TOPIC = 'write one whole topic, without + and #';

const mqtt = strict(
  {
    kind: z.literal('mqtt'),
    url: z.string({ error: URL_RIGHT }).refine(isBrokerUrl, { error: URL_RIGHT }),
    topics: z.record(
      z.string(),
      z.string({ error: TOPIC }).refine((t) => t !== '' && t.length <= 1000 && !/[+#\0]/.test(t), { error: TOPIC }),
      { error: 'write a topic for each sensor, and for lid if there is a switch' },
    ),
    username: words('the user name', 200).optional(),
    passwordFile: words('the path of the file that holds the password', 500).optional(),
    simulated,
  },
  'write {kind: serial, port} or {kind: mqtt, url, topics}',
  {
    broker: 'write url',
    host: 'write url: mqtt://HOST:1883',
    topic: 'write topics, one for each sensor',
    user: 'write username',
    password: 'write passwordFile: the path of a file that holds the password, so that it stands in no configuration',
  },
);

function isBrokerUrl(text: string): boolean {
  if (!/^mqtts?:\/\//.test(text) || !URL.canParse(text)) return false;
  const url = new URL(text);
  return (
    url.hostname !== '' && url.username === '' && url.password === '' && /^\/?$/.test(url.pathname) && url.search === ''
  );
}

export const inputSchema = z.discriminatedUnion('kind', [serial, mqtt], {
  error: 'write {kind: serial, port} or {kind: mqtt, url, topics}',
});

export type InputShape = z.infer<typeof inputSchema>;
