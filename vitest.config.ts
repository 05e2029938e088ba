import { defineConfig } from 'vitest/config';

// Forks, because store, link and simulator are processes and threads of their own; few at a time, because some tests start several programs.
export default defineConfig({
  test: {
    include: ['tests/**/*.test.ts'],
    globalSetup: 'tests/temp-folder.ts',
    pool: 'forks',
    maxWorkers: 2,
    testTimeout: 30_000,
    hookTimeout: 60_000,
  },
});
