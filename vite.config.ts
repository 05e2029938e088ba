/**
 * Builds the dashboard from dashboard/ into dist/: hashed files, no inline script or style (the page's content policy forbids both),
 * and a .gz beside each text file so that the gateway never compresses at run time.
 */
import { readdir, readFile, writeFile } from 'node:fs/promises';
import { extname, join, resolve } from 'node:path';
import { gzipSync } from 'node:zlib';
import { svelte } from '@sveltejs/vite-plugin-svelte';
import { defineConfig, type Plugin } from 'vite';

const OUT = join(import.meta.dirname, 'dist');
const TEXT = new Set(['.html', '.js', '.css', '.svg', '.json']);

function gzipBeside(): Plugin {
  let out = OUT;
  return {
    name: 'gzip-beside',
    apply: 'build',
    configResolved: (config) => void (out = resolve(config.root, config.build.outDir)),
    async closeBundle() {
      for (const entry of await readdir(out, { recursive: true, withFileTypes: true })) {
        const path = join(entry.parentPath, entry.name);
        if (entry.isFile() && TEXT.has(extname(entry.name))) await writeFile(`${path}.gz`, gzipSync(await readFile(path), { level: 9 }));
      }
    },
  };
}

export default defineConfig({
  root: join(import.meta.dirname, 'dashboard'),
  plugins: [svelte(), gzipBeside()],
  build: {
    outDir: OUT,
    emptyOutDir: true,
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    target: 'es2022',
    reportCompressedSize: false,
  },
  server: { proxy: { '/api': 'http://127.0.0.1:8080', '/socket.io': { target: 'http://127.0.0.1:8080', ws: true } } },
});
