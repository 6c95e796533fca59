import { defineConfig } from 'vitest/config';

// One project a kind of test: `pure` needs nothing but Node, `spawned` starts the command line, worker
// threads and compilers, `app` drives a real Chromium against the production build. The first two fill two cores (the
// runner by itself would leave one idle); the browser comes after them, alone, as its tests wait for what a person would.
const spawned = ['cli', 'workers', 'handover', 'readers'].map((room) => `tests/${room}/**/*.test.ts`);
const browser = ['tests/app/**/*.test.ts'];
export default defineConfig({
  test: {
    projects: [
      {
        test: {
          name: 'pure',
          include: ['tests/**/*.test.ts'],
          exclude: [...spawned, ...browser],
          testTimeout: 120_000,
          maxWorkers: 2,
          sequence: { groupOrder: 0 },
        },
      },
      {
        test: { name: 'spawned', include: spawned, testTimeout: 120_000, maxWorkers: 2, sequence: { groupOrder: 1 } },
      },
      {
        test: {
          name: 'app',
          include: browser,
          testTimeout: 240_000,
          hookTimeout: 240_000,
          maxWorkers: 1,
          fileParallelism: false,
          sequence: { groupOrder: 2 },
        },
      },
    ],
    benchmark: { include: ['tests/bench/**/*.bench.ts'] },
  },
});
