import { defineConfig } from 'vitest/config';

// CI asks for a report beside the words, to add up two runs.
const report = process.env.SPYHOLE_TEST_REPORT;

export default defineConfig({
  test: {
    include: ['tests/**/*.test.ts'],
    testTimeout: 60_000,
    hookTimeout: 60_000,
    maxWorkers: 2,
    reporters: report === undefined ? ['default'] : ['default', 'json'],
    ...(report !== undefined && { outputFile: { json: report } }),
  },
});
