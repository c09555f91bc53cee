// Node 20 cannot run TypeScript itself: vite turns the bench into JavaScript. What is measured is the built program,
// which Node loads by itself, since vite's wrapping would slow it.
import { fileURLToPath } from 'node:url';
import { runnerImport } from 'vite';

const bench = fileURLToPath(new URL('./bench.ts', import.meta.url));
const { module } = await runnerImport(bench, { configFile: false, logLevel: 'error' });
process.exit(await module.main(process.argv.slice(2), (url) => import(url)));
