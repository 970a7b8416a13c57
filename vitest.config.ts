import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    include: ['tests/**/*.test.ts', 'tests/**/*.test.tsx'],
    exclude: ['tests/e2e/**', 'node_modules/**'],
    testTimeout: 30_000,
    // Two shared cores: more workers than that only makes the pty tests late.
    maxWorkers: 2,
  },
});
