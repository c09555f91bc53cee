// Takes the README's pictures anew, from a simulated firing before the real daemon and page: `npm run pictures`.
// Node 20 cannot run TypeScript itself: vite turns it into JavaScript.
import { fileURLToPath } from 'node:url';
import { runnerImport } from 'vite';

const pictures = fileURLToPath(new URL('../support/readme-pictures.ts', import.meta.url));
const { module } = await runnerImport(pictures, { configFile: false, logLevel: 'error' });
await module.takePictures(fileURLToPath(new URL('../../web/pictures/', import.meta.url)));
process.exit(0);
