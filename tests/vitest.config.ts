import { dirname, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vitest/config';

// CI asks for a report beside the words, to add up two runs.
const report = process.env.SPYHOLE_TEST_REPORT;
/** Folders that only reckon, and leave nothing behind: their files share a worker's modules, which are compiled once. */
const PURE = 'architecture|bench-scoring|config|core|firings|profiles';
/** Serial lines, brokers, instruments and browsers: they wait more than they reckon, and want a machine that is not busy. */
const REAL = ['tests/real-input/**/*.test.ts', 'tests/web/**/*.test.ts', 'tests/inputs/**/*.test.ts'];

const CORE = fileURLToPath(new URL('../daemon/core', import.meta.url));
const BUILT_CORE = fileURLToPath(new URL('../dist/daemon/core', import.meta.url));
/** What `npm run build` made of core, as Node itself loads it: as vitest loads the sources it takes half as long again. */
const builtCore = {
  name: 'built-core',
  enforce: 'pre' as const,
  resolveId(source: string, importer: string | undefined): string | undefined {
    if (importer === undefined || !source.startsWith('.')) return undefined;
    const file = resolve(dirname(importer), source);
    return file.startsWith(`${CORE}/`) ? `${BUILT_CORE}${file.slice(CORE.length).replace(/\.ts$/, '.js')}` : undefined;
  },
};

export default defineConfig({
  test: {
    // Whole firings on a busy machine take their time; none of it is a figure that is tested.
    testTimeout: 120_000,
    hookTimeout: 120_000,
    // Serial lines, brokers and browsers are real: on a machine that is busy elsewhere one may miss its second of patience.
    retry: report === undefined ? 0 : 1,
    reporters: report === undefined ? ['default'] : ['default', 'json'],
    ...(report !== undefined && { outputFile: { json: report } }),
    projects: [
      {
        extends: true,
        plugins: report === undefined ? [] : [builtCore],
        test: {
          name: 'reckoned',
          server: { deps: { external: [/\/dist\/daemon\/core\//] } },
          include: [`tests/(${PURE})/**/*.test.ts`],
          isolate: false,
          maxWorkers: 2,
          sequence: { groupOrder: 1 },
        },
      },
      {
        extends: true,
        test: {
          name: 'run',
          // No `exclude` of its own, which would outdo that of the command line.
          include: ['tests/*.test.ts', `tests/!(${PURE}|real-input|web|inputs)/**/*.test.ts`],
          maxWorkers: 2,
          sequence: { groupOrder: 2 },
        },
      },
      { extends: true, test: { name: 'real', include: REAL, maxWorkers: 4, sequence: { groupOrder: 3 } } },
    ],
  },
});
