/**
 * Builds the page into build/out/renderer. Relative addresses, so that it
 * loads from `app://` and from the browser door alike; nothing inline, which
 * the content policy of both would refuse.
 */
import { join } from 'node:path';
import react from '@vitejs/plugin-react';
import { defineConfig } from 'vite';

export default defineConfig({
  root: import.meta.dirname,
  base: './',
  plugins: [react()],
  build: {
    outDir: join(import.meta.dirname, '..', 'build', 'out', 'renderer'),
    emptyOutDir: true,
    target: 'chrome140',
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    chunkSizeWarningLimit: 1500,
    rollupOptions: {
      output: {
        // The chart library is most of the page and changes least.
        manualChunks: (id: string) => (/node_modules[\\/](echarts|zrender)[\\/]/.test(id) ? 'charts' : undefined),
      },
    },
  },
});
