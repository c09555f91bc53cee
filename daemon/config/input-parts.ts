/** What the inputs' shapes have in common. */
import { z } from 'zod';
import { parseHostPort } from './host-port.ts';
import { words } from './schedule-schema.ts';

/** The rates that serial ports have in common (termios, POSIX and Linux). */
export const BAUDS = [300, 600, 1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200, 230400] as const;

/** The name of the column or topic that says whether the lid is open, and of a column to skip. */
export const LID = 'lid';
export const SKIP = '-';

export const SIMULATED = z
  .boolean({ error: 'write true only if a simulated kiln stands behind it, else leave it out' })
  .default(false);

export const PORT = words('the device, best as /dev/serial/by-id/…', 500);

// 9600 is what most instruments are set to when they leave the shelf. Common practice, no source.
export const BAUD = z
  .union(
    BAUDS.map((b) => z.literal(b)),
    { error: `write one of ${BAUDS.join(', ')}` },
  )
  .default(9600);

export const PARITY = z.enum(['none', 'even', 'odd'], { error: 'write none, even or odd' });
export const STOP_BITS = z.union([z.literal(1), z.literal(2)], { error: 'write 1 or 2' });

const ADDRESS = 'write HOST:PORT, for example 192.168.1.20:502';
export const HOST_PORT = z
  .string({ error: ADDRESS })
  .refine((text) => parseHostPort(text) !== undefined, { error: ADDRESS });

export const PORT_HABITS = {
  path: 'write port',
  device: 'write port',
  baudRate: 'write baud',
  baudrate: 'write baud',
  speed: 'write baud',
} as const;

export const DEGREES = z.enum(['C', 'F', 'K'], {
  error: 'write C, F or K, the degrees in which the instrument speaks',
});

export const DECIMAL = z.enum(['point', 'comma'], { error: 'write point or comma' });

const NO_VALUE = 'write a list of numbers and words by which the instrument says that it has no value';
export const NO_VALUES = z
  .array(z.union([z.number(), z.string()], { error: NO_VALUE }), { error: NO_VALUE })
  .max(20, { error: 'write at most 20' });
