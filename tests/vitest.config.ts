import { defineConfig } from 'vitest/config';

// CI asks for a report beside the words, to add up two runs.
const report = process.env.SPYHOLE_TEST_REPORT;

export default defineConfig({
  test: {
    include: ['tests/**/*.test.ts'],
    // Whole firings on a busy machine take their time; none of it is a figure that is tested.
    testTimeout: 120_000,
    hookTimeout: 120_000,
    // Serial lines, brokers and browsers are real: on a machine that is busy elsewhere one may miss its second of patience.
    retry: report === undefined ? 0 : 1,
    maxWorkers: 2,
    reporters: report === undefined ? ['default'] : ['default', 'json'],
    ...(report !== undefined && { outputFile: { json: report } }),
  },
});
