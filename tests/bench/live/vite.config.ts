/** Builds the pages of the live benchmark into build/out/live-bench, as the real page is built. */
import { join } from 'node:path';
import react from '@vitejs/plugin-react';
import { defineConfig } from 'vite';

export default defineConfig({
  root: import.meta.dirname,
  base: './',
  plugins: [react()],
  build: {
    outDir: join(import.meta.dirname, '../../../build/out/live-bench'),
    emptyOutDir: true,
    target: 'chrome140',
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    chunkSizeWarningLimit: 1500,
    rollupOptions: {
      input: ['index', 'baseline', 'draw'].map((name) => join(import.meta.dirname, `${name}.html`)),
    },
  },
});
