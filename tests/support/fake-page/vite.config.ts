/** Serves or builds the fixture page: `vite -c tests/support/fake-page/vite.config.ts`. */
import { join } from 'node:path';
import react from '@vitejs/plugin-react';
import { defineConfig } from 'vite';

export default defineConfig({
  root: import.meta.dirname,
  base: './',
  plugins: [react()],
  build: {
    outDir: join(import.meta.dirname, '../../../build/out/fake-page'),
    emptyOutDir: true,
    target: 'chrome140',
    assetsInlineLimit: 0,
    chunkSizeWarningLimit: 1500,
  },
});
