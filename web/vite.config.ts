import { svelte } from '@sveltejs/vite-plugin-svelte';
import { defineConfig } from 'vitest/config';

/** Built into the Python package; relative addresses, so that the room may lie under any path. */
export default defineConfig({
  base: './',
  plugins: [svelte()],
  build: {
    outDir: '../src/shotcrit/room/static',
    emptyOutDir: true,
    target: 'es2022',
    chunkSizeWarningLimit: 700,
  },
  server: { fs: { allow: ['..'] } },
  test: { include: ['src/**/*.test.ts'], environment: 'node' },
});
