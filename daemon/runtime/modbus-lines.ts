/** The Modbus lines that are read, by where they are: only one may ask on a line, whoever is read there. */
import { type LineOptions, type SharedLine, sharedLine } from '../inputs/modbus/modbus-registers.ts';
import type { Clock } from './clock.ts';

export interface ModbusLines {
  /** The line that is in use there, spoken to as it is; else one that is spoken to as `options` say. */
  at(options: LineOptions): SharedLine;
}

export function modbusLines(clock: Clock): ModbusLines {
  const lines = new Map<string, SharedLine>();
  return {
    at(options) {
      const where = lineName(options.at);
      const known = lines.get(where);
      if (known !== undefined && !known.isIdle) return known;
      const line = sharedLine(options, clock);
      lines.set(where, line);
      return line;
    },
  };
}

/** Its port, or HOST:PORT. */
export function lineName(at: LineOptions['at']): string {
  return 'baud' in at ? at.port : `${at.host}:${at.port}`;
}
