/** The shape of a kiln's `input`: how its readings reach the daemon. */
import { z } from 'zod';
import { strict } from './faults.ts';
import { SIMULATED } from './input-parts.ts';
import { serialSchema, tcpSchema } from './line-input.ts';
import { modbusRtuSchema, modbusTcpSchema } from './modbus-input.ts';
import { words } from './schedule-schema.ts';

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
    simulated: SIMULATED,
  },
  'write {kind: mqtt, url, topics}',
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

export const INPUT =
  'write {kind: serial, port}, {kind: tcp, address}, {kind: mqtt, url, topics}, {kind: modbus-rtu, port, points} or {kind: modbus-tcp, address, points}';

export const inputSchema = z.discriminatedUnion(
  'kind',
  [serialSchema, tcpSchema, mqtt, modbusRtuSchema, modbusTcpSchema],
  {
    error: INPUT,
  },
);

export type InputShape = z.infer<typeof inputSchema>;
