import { svelte } from '@sveltejs/vite-plugin-svelte';
import { defineConfig } from 'vitest/config';

const ROOT_PX = 16;
const THIN_PX = 2;
const LENGTH = /(?<![\w.-])(\d*\.?\d+)px\b/g;

/** A px in our style sheets is one on a screen of 1920x1080: it grows with the root's size (look.css), so that 4K can be read. Thin rules stay thin. */
const grow = {
  postcssPlugin: 'grow-with-the-screen',
  Declaration(line: { value: string }): void {
    const grown = line.value.replace(LENGTH, (px, n: string) => (Number(n) <= THIN_PX ? px : `${Number((Number(n) / ROOT_PX).toFixed(5))}rem`));
    if (grown !== line.value) line.value = grown;
  },
};

/** Built into the Python package; relative addresses, so that the room may lie under any path. */
export default defineConfig({
  base: './',
  plugins: [svelte()],
  css: { postcss: { plugins: [grow] } },
  build: {
    outDir: '../src/shotcrit/room/static',
    emptyOutDir: true,
    target: 'es2022',
    chunkSizeWarningLimit: 700,
    // Whose work is bundled, under which licence: NOTICES.md is made from it.
    license: { fileName: 'licenses.md' },
  },
  server: { fs: { allow: ['..'] } },
  test: { include: ['src/**/*.test.ts'], environment: 'node', css: true },
});
