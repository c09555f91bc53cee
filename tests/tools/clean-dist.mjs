// Removes the build folder, so that a file deleted from the source never lives on in it.
import { rmSync } from 'node:fs';

rmSync(new URL('../../dist', import.meta.url), { recursive: true, force: true });
