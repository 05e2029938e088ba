/**
 * The first step of every npm script, in JavaScript that an old Node understands: installs what package-lock.json names, builds the
 * dashboard when its sources are newer, and hands over to the Node that the lock file brought. Then it only passes signals and exit codes on.
 */
import { spawn, spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, readdirSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const ROOT = dirname(dirname(fileURLToPath(import.meta.url)));
const LEAST_NODE = [24, 15];
const at = (...parts) => join(ROOT, ...parts);
const tool = (...parts) => at('node_modules', ...parts);
const VITE = tool('vite', 'bin', 'vite.js');
const VITEST = tool('vitest', 'vitest.mjs');

/** Each ends with the exit code of the program. */
const COMMANDS = {
  start: (args) => build() || handOver([at('gateway', 'main.ts'), 'demo', ...args]),
  glowfleet: (args) => build() || handOver([at('gateway', 'main.ts'), ...args]),
  simulate: (args) => handOver([at('gateway', 'simulator', 'main.ts'), ...args]),
  dev: (args) => both([at('gateway', 'main.ts'), 'demo', '--port', '8480', ...args], [VITE]),
  build: () => run([VITE, 'build', '--logLevel', 'warn']),
  check: () => check().length,
  test: (args) => test(args),
  e2e: (args) => browser() || build() || handOver([VITEST, 'run', 'tests/e2e', ...args]),
  bench: (args) =>
    args[0] === 'week'
      ? handOver(['--max-old-space-size=12000', at('tests', 'bench', 'week.ts'), ...args.slice(1)])
      : args[0] === 'survival'
        ? build() || handOver([at('tests', 'bench', 'survival.ts'), ...args.slice(1)])
        : browser() || build() || handOver([at('tests', 'bench', 'bench.ts'), ...args]),
};

const [name, ...rest] = process.argv.slice(2);
const command = COMMANDS[name];
if (!command) end(`scripts/boot.mjs knows ${Object.keys(COMMANDS).join(', ')}; not ${name}.`);
process.chdir(ROOT);
install();
const NODE = findNode();
process.exitCode = Number(await command(rest));

function end(sentence) {
  console.error(sentence);
  process.exit(1);
}

/** npm writes node_modules/.package-lock.json last: older than the lock file means another tree than the one it names. */
function install() {
  const installed = tool('.package-lock.json');
  if (existsSync(installed) && changedAt(installed) >= changedAt(at('package-lock.json'))) return;
  console.log('installing...');
  const npm = process.env.npm_execpath;
  const args = ['ci', '--include=dev', '--include=optional', '--loglevel=error', '--no-audit', '--no-fund'];
  const options = { stdio: ['ignore', 'ignore', 'inherit'], cwd: ROOT };
  const done = npm?.endsWith('.js')
    ? spawnSync(process.execPath, [npm, ...args], options)
    : spawnSync('npm', args, { ...options, shell: process.platform === 'win32' });
  if (done.status !== 0)
    end('The packages could not be installed. Read what npm says above, check the way to the package registry, and start again.');
}

/** The Node of the lock file, or this one when it is new enough (there is no such package for every system). */
function findNode() {
  const file = process.platform === 'win32' ? 'node.exe' : 'node';
  const brought = tool(`node-${process.platform === 'win32' ? 'win' : process.platform}-${process.arch}`, 'bin', file);
  if (existsSync(brought) && spawnSync(brought, ['--version']).status === 0) return brought;
  const [major, minor] = process.versions.node.split('.').map(Number);
  if (major > LEAST_NODE[0] || (major === LEAST_NODE[0] && minor >= LEAST_NODE[1])) return process.execPath;
  return end(
    `Glowfleet needs Node ${LEAST_NODE.join('.')} or newer here, and this is ${process.versions.node}. Install a newer Node and start again.`,
  );
}

function changedAt(path) {
  return statSync(path).mtimeMs;
}

function newest(path) {
  if (!statSync(path).isDirectory()) return changedAt(path);
  return Math.max(changedAt(path), ...readdirSync(path).map((entry) => newest(join(path, entry))));
}

/** 0 when the dashboard in dist/ is as new as its sources, or was built. */
function build() {
  const page = at('dist', 'index.html');
  const sources = ['dashboard', 'src', 'vite.config.ts', 'package-lock.json'].map((part) => newest(at(part)));
  if (existsSync(page) && changedAt(page) >= Math.max(...sources)) return 0;
  console.log('building the dashboard...');
  return run([VITE, 'build', '--logLevel', 'warn']);
}

function environment() {
  return { ...process.env, PATH: `${dirname(NODE)}${process.platform === 'win32' ? ';' : ':'}${process.env.PATH ?? ''}` };
}

function run(args) {
  return spawnSync(NODE, args, { stdio: 'inherit', cwd: ROOT, env: environment() }).status ?? 1;
}

/** Runs a program to its end; signals go to it, and when this process dies its channel closes and it ends too. */
function handOver(args) {
  const child = spawn(NODE, args, { stdio: ['inherit', 'inherit', 'inherit', 'ipc'], cwd: ROOT, env: environment() });
  for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP']) process.on(signal, () => child.kill(signal));
  // npm's shell dies of a signal without passing it on: then nobody waits for this any more.
  const parent = process.ppid;
  setInterval(() => process.ppid !== parent && child.kill('SIGTERM'), 300).unref();
  return new Promise((resolve) => {
    child.on('error', (error) => end(error.message));
    child.on('exit', (code, signal) => resolve(code ?? (signal === 'SIGINT' ? 130 : 1)));
  });
}

function both(first, second) {
  return Promise.all([handOver(first), handOver(second)]).then((codes) => Math.max(...codes));
}

/** Types, lint and layers; the names of those that failed. */
function check() {
  const checks = {
    'types of src': [tool('typescript', 'bin', 'tsc'), '-p', 'src'],
    types: [tool('typescript', 'bin', 'tsc'), '-p', '.'],
    'types of the browser tests': [tool('typescript', 'bin', 'tsc'), '-p', 'tests/e2e'],
    'types of the dashboard': [
      tool('svelte-check', 'bin', 'svelte-check'),
      '--tsconfig',
      'dashboard/tsconfig.json',
      '--fail-on-warnings',
      '--output',
      'human',
    ],
    lint: [tool('eslint', 'bin', 'eslint.js'), '--max-warnings', '0', '.'],
    format: [
      tool('prettier', 'bin', 'prettier.cjs'),
      '--check',
      '--log-level',
      'warn',
      '{src,gateway,tests,dashboard,scripts}/**/*.{ts,mjs,svelte}',
    ],
    layers: [VITEST, 'run', 'tests/layers.test.ts', 'tests/ids.test.ts'],
  };
  return Object.entries(checks).filter(([what, args]) => {
    const done = spawnSync(NODE, args, { cwd: ROOT, env: environment(), encoding: 'utf8' });
    console.log(`${what}: ${done.status === 0 ? 'ok' : 'FAILED'}`);
    if (done.status !== 0) console.log(`${done.stdout}${done.stderr}`);
    return done.status !== 0;
  });
}

/** Checks and tests; the last line counts them. */
function test(args) {
  if (browser() !== 0) console.log('Without a Chromium the tests in a browser will fail.');
  if (build() !== 0) return report(0, 1);
  const failedChecks = check().length;
  const folder = mkdtempSync(join(tmpdir(), 'glowfleet-test-'));
  const file = join(folder, 'result.json');
  const code = run([VITEST, 'run', '--reporter=default', '--reporter=json', `--outputFile.json=${file}`, ...args]);
  const result = existsSync(file) ? JSON.parse(readFileSync(file, 'utf8')) : null;
  rmSync(folder, { recursive: true, force: true });
  if (result === null) return report(0, failedChecks + 1);
  // A file that could not even be loaded has no failed test of its own; it counts as one.
  const unloaded = result.testResults.filter(
    (suite) => suite.status === 'failed' && suite.assertionResults.every((one) => one.status !== 'failed'),
  );
  const failed = result.numFailedTests + unloaded.length + failedChecks;
  return report(result.numPassedTests, failed === 0 && code !== 0 ? 1 : failed);
}

function report(passed, failed) {
  console.log(`${passed} passed, ${failed} failed`);
  return failed === 0 && passed > 0 ? 0 : 1;
}

/** 0 when there is a Chromium; on Debian and as root it is installed. */
function browser() {
  if (process.env.CHROMIUM_PATH && existsSync(process.env.CHROMIUM_PATH)) return 0;
  const places = (process.env.PATH ?? '').split(process.platform === 'win32' ? ';' : ':');
  if (places.some((place) => ['chromium', 'chromium-browser', 'google-chrome'].some((file) => existsSync(join(place, file))))) return 0;
  if (process.getuid?.() === 0 && existsSync('/usr/bin/apt-get')) {
    console.log('installing chromium...');
    const apt = (...args) =>
      spawnSync('apt-get', args, { stdio: ['ignore', 'ignore', 'inherit'], env: { ...process.env, DEBIAN_FRONTEND: 'noninteractive' } })
        .status;
    if (apt('update', '-qq') === 0 && apt('install', '-y', '-qq', '--no-install-recommends', 'chromium') === 0) return 0;
  }
  console.log("There is no Chromium here. Install your system's chromium package, or name one in CHROMIUM_PATH.");
  return 1;
}
