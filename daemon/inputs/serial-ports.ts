/** The serial ports that are plugged in, by the names that stay the same whatever else is plugged in (requirement C8). */
import { readdirSync } from 'node:fs';
import { join } from 'node:path';

/** Where udev keeps a link to each serial port, named for its make and number. */
export const BY_ID_DIR = '/dev/serial/by-id';

/** Whole paths in the order of their names; none where there is no such folder, as in a machine without a serial port. */
export function pluggedIn(byIdDir = BY_ID_DIR): readonly string[] {
  try {
    return readdirSync(byIdDir)
      .sort()
      .map((name) => join(byIdDir, name));
  } catch {
    // The folder comes with the first port.
    return [];
  }
}
