/** Configuration -> the inputs of every kiln. Kilns on one Modbus line share it: only one may ask on a line. */

import type { ModbusEntry } from '../config/kiln-file.ts';
import type { InputConfig, KilnConfig } from '../config/load.ts';
import type { Input } from '../inputs/input.ts';
import { type LineOptions, modbusLine } from '../inputs/modbus/modbus-registers.ts';
import { mqttTopics } from '../inputs/mqtt-topics.ts';
import { networkLines, serialLines } from '../inputs/text-lines.ts';
import type { Clock } from './clock.ts';

export interface KilnInput {
  readonly kilnId: string;
  readonly input: Input;
}

export function makeInputs(kilns: readonly KilnConfig[], clock: Clock): KilnInput[] {
  const wanted = kilns.flatMap(({ kiln, inputs }) => inputs.map((config) => ({ kilnId: kiln.id, config })));
  const lines = modbusLines(
    wanted.flatMap(({ config }) => (isModbus(config) ? [config] : [])),
    clock,
  );
  return wanted.map(({ kilnId, config }) => ({ kilnId, input: lines.get(config) ?? makeInput(config, clock) }));
}

function makeInput(config: InputConfig, clock: Clock): Input {
  switch (config.kind) {
    case 'serial':
      return serialLines(config, clock);
    case 'tcp':
      return networkLines(config, clock);
    case 'mqtt':
      return mqttTopics(config, clock);
    case 'modbus-rtu':
    case 'modbus-tcp':
      throw new TypeError(`${config.name} stands on a line, and is made with it`);
  }
}

function modbusLines(entries: readonly ModbusEntry[], clock: Clock): Map<InputConfig, Input> {
  const inputs = new Map<InputConfig, Input>();
  for (const place of new Set(entries.map(placeOf))) {
    const sharing = entries.filter((entry) => placeOf(entry) === place);
    const [first] = sharing;
    if (first === undefined) continue;
    const made = modbusLine(lineOptions(first), sharing, clock);
    for (const [i, entry] of sharing.entries()) {
      const input = made[i];
      if (input !== undefined) inputs.set(entry, input);
    }
  }
  return inputs;
}

function isModbus(config: InputConfig): config is ModbusEntry {
  return config.kind === 'modbus-rtu' || config.kind === 'modbus-tcp';
}

function placeOf({ at }: ModbusEntry): string {
  return 'baud' in at ? at.port : `${at.host}:${at.port}`;
}

function lineOptions(entry: ModbusEntry): LineOptions {
  const { everyS, timeoutS } = entry;
  if (entry.kind === 'modbus-rtu') return { framing: 'rtu', at: entry.at, everyS, timeoutS };
  return { framing: 'tcp', at: entry.at, repeatsNumber: entry.repeatsNumber, everyS, timeoutS };
}
