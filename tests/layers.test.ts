// The directions of DEVELOPERS.md, held against every import. Also runs alone: node tests/layers.test.ts
import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join, normalize } from 'node:path';

type Layer = { readonly who: RegExp; readonly files: RegExp; readonly packages: readonly string[]; readonly because: string };
const apart = 'adapters meet only in gateway/gateway.ts';
const own = (folder: string): RegExp => new RegExp(`^(gateway/${folder}/|gateway/store/store\\.ts$|gateway/clock\\.ts$|src/)`);

const LAYERS: readonly Layer[] = [
  { who: /^src\//, files: /^src\//, packages: ['zod'], because: 'src/ is values in, values out' },
  {
    who: /^dashboard\/vite\.config\.ts$|^dashboard\/svelte\.config\.js$/,
    files: /^dashboard\//,
    packages: ['*'],
    because: 'building the pages knows no other part',
  },
  {
    who: /^dashboard\//,
    files: /^(dashboard\/|src\/(?!config))/,
    packages: ['svelte', 'chart.js', 'socket.io-client', 'zod', '@fontsource/'],
    because: 'the screen knows the gateway only through src/contract.ts',
  },
  {
    who: /^gateway\/simulator\//,
    files: /^(gateway\/simulator\/|gateway\/clock\.ts$|src\/(units|batch)\.ts$)/,
    packages: ['node-opcua', 'node:', 'yaml'],
    because: 'the simulator must not know the rules it is used to judge',
  },
  { who: /^gateway\/opcua\//, files: own('opcua'), packages: ['node-opcua', 'node:'], because: apart },
  { who: /^gateway\/store\//, files: own('store'), packages: ['node:'], because: apart },
  {
    who: /^gateway\/http\//,
    files: own('http'),
    packages: ['fastify', '@fastify/', 'fastify-type-provider-zod', 'zod', 'node:'],
    because: apart,
  },
  { who: /^gateway\/live\//, files: own('live'), packages: ['socket.io', 'zod', 'node:'], because: apart },
  { who: /^gateway\/alerts\//, files: own('alerts'), packages: ['nodemailer', 'node:'], because: apart },
  { who: /^gateway\/reports\//, files: own('reports'), packages: ['pdfkit', '@fontsource/', 'node:'], because: apart },
  {
    who: /^gateway\/[^/]+\.ts$/,
    files: /^(gateway|src)\//,
    packages: ['node:', 'yaml', 'zod'],
    because: 'wiring knows our parts, not foreign packages',
  },
  { who: /^tests\//, files: /./, packages: ['*'], because: '' },
];
const IMPORT = /^\s*(?:import|export)\b[^'"]*?\bfrom\s*['"]([^'"]+)['"]|\bimport\s*\(?\s*['"]([^'"]+)['"]/gm;
const CHANCE = /\bDate\.now\b|\bnew Date\(\s*\)|\bMath\.random\b/;

export function faults(): string[] {
  const files = ['src', 'gateway', 'dashboard', 'tests'].flatMap((top) =>
    readdirSync(top, { recursive: true, encoding: 'utf8' })
      .map((name) => join(top, name).replaceAll('\\', '/'))
      .filter((name) => /\.(ts|svelte)$/.test(name) && !/(^|\/)(node_modules|dist)\//.test(name)),
  );
  return files.flatMap(faultsOf);
}

function faultsOf(file: string): string[] {
  const text = readFileSync(file, 'utf8');
  const layer = LAYERS.find(({ who }) => who.test(file));
  if (!layer) return [`${file} belongs to no layer`];
  const found = [...text.matchAll(IMPORT)].map((match) => match[1] ?? match[2] ?? '');
  const isAllowed = (spec: string): boolean =>
    spec.startsWith('.')
      ? layer.files.test(normalize(join(dirname(file), spec)).replaceAll('\\', '/'))
      : layer.packages.some((name) => name === '*' || spec === name || spec.startsWith(/[:/]$/.test(name) ? name : `${name}/`));
  const wrong = found.filter((spec) => !isAllowed(spec)).map((spec) => `${file} imports ${spec}: ${layer.because}`);
  const chance = file.startsWith('src/') && CHANCE.test(withoutComments(text));
  return chance ? [...wrong, `${file} reads the clock or rolls dice: take time and chance as arguments`] : wrong;
}

const withoutComments = (text: string): string => text.replace(/\/\*[\s\S]*?\*\/|\/\/.*$/gm, '');

if (import.meta.main) {
  const found = faults();
  console.log(found.join('\n') || 'the layers hold');
  process.exitCode = found.length > 0 ? 1 : 0;
} else {
  const { expect, test } = await import('vitest');
  test('every import keeps to its layer', () => expect(faults()).toEqual([]));
}
