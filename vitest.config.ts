import { defineConfig } from 'vitest/config';

// One project a kind of test: `pure` needs nothing but Node, `spawned` starts the command line, worker
// threads and compilers, `app` drives a real Chromium against the production build.
const spawned = ['tests/cli/**/*.test.ts', 'tests/workers/**/*.test.ts', 'tests/handover/**/*.test.ts'];
const browser = ['tests/app/**/*.test.ts'];
export default defineConfig({
  test: {
    projects: [
      {
        test: { name: 'pure', include: ['tests/**/*.test.ts'], exclude: [...spawned, ...browser], testTimeout: 60_000 },
      },
      { test: { name: 'spawned', include: spawned, testTimeout: 120_000, fileParallelism: true } },
      { test: { name: 'app', include: browser, testTimeout: 240_000, hookTimeout: 240_000, fileParallelism: false } },
    ],
    benchmark: { include: ['tests/bench/**/*.bench.ts'] },
  },
});
