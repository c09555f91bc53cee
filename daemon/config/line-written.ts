/** How a Modbus line is spoken to, as the configuration has it: whoever else is read there must be written alike. */
import { valueAt } from './faults.ts';
import { inputsOf } from './load.ts';
import { LINE_SETTINGS, lineKey } from './modbus-input.ts';
import { readYamlFile, UnreadableFileError } from './yaml-file.ts';

/** @param where its port, or HOST:PORT @returns undefined where no kiln is read there @throws ConfigError for a file that is at fault */
export function lineWritten(file: string, where: string | null): object | undefined {
  if (where === null) return undefined;
  const kilns = kilnsIn(file);
  const input = inputsOf(kilns).find((one) => lineKey(one.input)?.where === where)?.input;
  if (input === undefined) return undefined;
  return Object.fromEntries(
    LINE_SETTINGS.filter((key) => key !== 'kind').flatMap((key) => {
      const value = valueAt(input, [key]);
      return value === undefined ? [] : [[key, value]];
    }),
  );
}

function kilnsIn(file: string): readonly unknown[] {
  try {
    const kilns = valueAt(readYamlFile(file).value, ['kilns']);
    return Array.isArray(kilns) ? kilns : [];
  } catch (error) {
    // The first kiln makes the file.
    if (error instanceof UnreadableFileError) return [];
    throw error;
  }
}
