import { fileURLToPath } from 'node:url';
import react from '@vitejs/plugin-react';
import { defineConfig } from 'vite';

/** The window. Paths are relative, so that the same build serves Electron's own scheme and the loopback server. */
export default defineConfig({
  root: fileURLToPath(new URL('.', import.meta.url)),
  base: './',
  plugins: [react()],
  build: {
    outDir: fileURLToPath(new URL('../dist/renderer', import.meta.url)),
    emptyOutDir: true,
    target: 'es2023',
    // Inlined pictures and preload helpers would need a weaker content security policy.
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    // Everything comes from this machine: splitting would gain nothing, and the first start is no place for a warning.
    chunkSizeWarningLimit: 2000,
  },
});
