/** The shape of a kiln's `input`: how its readings reach the daemon. */
import { z } from 'zod';
import { serialSchema, tcpSchema } from './line-input.ts';
import { modbusRtuSchema, modbusTcpSchema } from './modbus-input.ts';
import { mqttSchema } from './mqtt-input.ts';

export const INPUT =
  'write {kind: serial, port}, {kind: tcp, address}, {kind: mqtt, url, topics}, {kind: modbus-rtu, port, points} or {kind: modbus-tcp, address, points}';

export const inputSchema = z.discriminatedUnion(
  'kind',
  [serialSchema, tcpSchema, mqttSchema, modbusRtuSchema, modbusTcpSchema],
  {
    error: INPUT,
  },
);

export type InputShape = z.infer<typeof inputSchema>;
