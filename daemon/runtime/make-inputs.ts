/** Configuration -> the inputs of a kiln. Kilns on one Modbus line share it: only one may ask on a line. */

import type { ModbusEntry } from '../config/kiln-file.ts';
import type { InputConfig, KilnConfig } from '../config/load.ts';
import type { Input } from '../inputs/input.ts';
import type { LineOptions } from '../inputs/modbus/modbus-registers.ts';
import { mqttTopics } from '../inputs/mqtt-topics.ts';
import { networkLines, serialLines } from '../inputs/text-lines.ts';
import type { Clock } from './clock.ts';
import type { ModbusLines } from './modbus-lines.ts';

export function makeInputs({ inputs }: KilnConfig, clock: Clock, lines: ModbusLines): Input[] {
  return inputs.map((config) => makeInput(config, clock, lines));
}

function makeInput(config: InputConfig, clock: Clock, lines: ModbusLines): Input {
  switch (config.kind) {
    case 'serial':
      return serialLines(config, clock);
    case 'tcp':
      return networkLines(config, clock);
    case 'mqtt':
      return mqttTopics(config, clock);
    case 'modbus-rtu':
    case 'modbus-tcp':
      return lines.at(lineOptions(config)).input(config);
  }
}

export function isModbus(config: InputConfig): config is ModbusEntry {
  return config.kind === 'modbus-rtu' || config.kind === 'modbus-tcp';
}

function lineOptions(entry: ModbusEntry): LineOptions {
  const { everyS, timeoutS } = entry;
  if (entry.kind === 'modbus-rtu') return { framing: 'rtu', at: entry.at, everyS, timeoutS };
  return { framing: 'tcp', at: entry.at, repeatsNumber: entry.repeatsNumber, everyS, timeoutS };
}
