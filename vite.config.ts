/**
 * Builds the dashboard from dashboard/ into dist/: hashed files, no inline script or style (the page's content policy forbids both),
 * a .gz beside each text file so that the gateway never compresses at run time, and licences.txt of every package that went in.
 * In development Vite serves the pages and passes the rest on to the gateway that `npm run dev` starts.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { readdir, readFile, writeFile } from 'node:fs/promises';
import { extname, join, resolve } from 'node:path';
import { gzipSync } from 'node:zlib';
import { svelte } from '@sveltejs/vite-plugin-svelte';
import { defineConfig, type Plugin, type ProxyOptions } from 'vite';

const OUT = join(import.meta.dirname, 'dist');
const TEXT = new Set(['.html', '.js', '.css', '.svg', '.json', '.txt']);
/** Where `npm run dev` starts the gateway. */
const GATEWAY = 'http://127.0.0.1:8480';

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

/** Package folders of the files that became part of the bundle. */
const packageOf = (file: string): string | null =>
  /^.*\/node_modules\/(?:@[^/]+\/)?[^/]+(?=\/)/.exec(file.replaceAll('\\', '/'))?.[0] ?? null;

function licences(): Plugin {
  let root = '';
  return {
    name: 'licences',
    apply: 'build',
    configResolved: (config) => void (root = config.root),
    generateBundle(_, bundle) {
      const files = Object.values(bundle).flatMap((part) =>
        part.type === 'chunk' ? Object.keys(part.modules) : part.originalFileNames.map((name) => resolve(root, name)),
      );
      const folders = [...new Set(files.map(packageOf).filter((folder) => folder !== null))].sort();
      this.emitFile({ type: 'asset', fileName: 'licences.txt', source: folders.map(licenceOf).join(`\n\n${'-'.repeat(80)}\n\n`) });
    },
  };
}

/** A package without a licence text must not slip in unseen. */
function licenceOf(folder: string): string {
  const { name, version, license } = JSON.parse(readFileSync(join(folder, 'package.json'), 'utf8')) as Record<string, string>;
  const file = readdirSync(folder).find((entry) => /^(licen[cs]e|copying)(\.(md|txt))?$/i.test(entry));
  if (file === undefined) throw new Error(`${name} ${version} brings no licence text: add it before it is shipped.`);
  return `${name} ${version} (${license})\n\n${readFileSync(join(folder, file), 'utf8').trim()}`;
}

/** The gateway hears only pages of its own address: to it, the development server is one. */
const toGateway: ProxyOptions = {
  target: GATEWAY,
  changeOrigin: true,
  configure: (proxy) => {
    proxy.on('proxyReq', (request) => request.hasHeader('origin') && request.setHeader('origin', GATEWAY));
    proxy.on('proxyReqWs', (request) => request.setHeader('origin', GATEWAY));
  },
};

export default defineConfig({
  root: join(import.meta.dirname, 'dashboard'),
  plugins: [svelte({ configFile: false }), licences(), gzipBeside()],
  build: {
    outDir: OUT,
    emptyOutDir: true,
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    target: 'es2022',
    reportCompressedSize: false,
  },
  // With the slash: the pages' own api.ts is Vite's.
  server: { proxy: { '/api/': toGateway, '/health/': toGateway, '/socket.io/': { ...toGateway, ws: true } } },
});
