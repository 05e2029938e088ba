/**
 * The program: reads the command line, starts the whole, stops it on a signal. Whatever a person can put right is one sentence on stderr
 * and exit code 1; whatever is our fault is a stack trace and exit code 1, and the next start goes on from disk.
 */
import { existsSync } from 'node:fs';
import { writeFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { commandOf, USAGE, type Command, type DemoCommand, type ReportCommand, type RunCommand } from './command-line.ts';
import type { SecretPlace } from './alerts/secret.ts';
import { checkDifference, differenceText } from './check-difference.ts';
import { parseSite, readSite, siteText } from './config.ts';
import { siteCore } from './core.ts';
import { systemClock } from './clock.ts';
import { startDemo, type Demo } from './demo.ts';
import { Fault } from '../src/fault.ts';
import type { SiteFile } from '../src/config.ts';
import { discoverAnswer } from './discover-command.ts';
import { freePort } from './free-port.ts';
import { Gateway } from './gateway.ts';
import { checkTable } from './opcua/check-table.ts';
import { checkServer } from './opcua/live-check.ts';
import { weekReport } from './report-command.ts';
import { siteSchemaText } from './site-schema.ts';
import { openSqlite, readSqlite } from './store/sqlite.ts';
import { TraceRecorder } from './trace-recorder.ts';
import { testSend, type TestSendCommand } from './test-send-command.ts';
import { trustAnswer } from './trust-command.ts';

const LEAST_NODE = [24, 15] as const;
const VERSION = (createRequire(import.meta.url)('../package.json') as { version: string }).version;
const DIST = join(import.meta.dirname, '..', 'dist');
const DEMO_SITE = join(import.meta.dirname, 'simulator', 'quellmoor.yaml');
const WEBHOOK_SECRET = 'GLOWFLEET_WEBHOOK_SECRET';
const LONGEST_STOP_MS = 2_500;
/** One Ctrl-C reaches this process twice: from the terminal, and from the process that started it. */
const SAME_SIGNAL_MS = 300;

/** What was opened, to be closed in reverse. */
const open: (() => Promise<void>)[] = [];
let stopping = 0;

async function main(args: readonly string[]): Promise<void> {
  const command = commandOf(args);
  checkNode();
  switch (command.type) {
    case 'help':
      return say(USAGE);
    case 'check':
      return check(command);
    case 'schema':
      return say(siteSchemaText().trimEnd());
    case 'trust':
      return say(trustAnswer(command, join(command.data, 'pki'), Date.now()));
    case 'discover':
      return say(await discoverAnswer(command));
    case 'test-send':
      return testRoute(command);
    case 'report':
      return report(command);
    case 'demo':
    case 'run':
      return serve(command);
  }
}

async function check({ site: file, endpoints, diff, live, json, data }: Extract<Command, { type: 'check' }>): Promise<void> {
  const site = await readSite(file, endpoints);
  if (diff) {
    const update = await checkDifference(site, data);
    return say(json ? JSON.stringify({ changes: update.changes, links: update.links }, null, 2) : differenceText(update));
  }
  if (!live) return say(`${file} is in order: ${site.chambers.length} chambers behind ${site.servers.length} servers.`);
  const where = { pkiFolder: join(data, 'pki'), now: Date.now };
  const lines = (await Promise.all(site.servers.map((server) => checkServer(site, server, where)))).flat();
  say(json ? JSON.stringify(lines, null, 2) : checkTable(lines));
  if (lines.some(({ verdict }) => verdict === 'fault')) process.exitCode = 1;
}

async function report({ week, data, site: file, out }: ReportCommand): Promise<void> {
  const site = await readSite(file ?? DEMO_SITE);
  const store = await readSqlite(data);
  try {
    const bytes = await weekReport(week, { site, store, clock: systemClock(), version: VERSION });
    await writeFile(out, bytes).catch((error: unknown) => {
      throw new Fault('unavailable', `${out} could not be written. Choose another file with --out.`, error);
    });
  } finally {
    await store.close();
  }
  say(`The sheets of week ${week} are in ${out}.`);
}

async function testRoute({ route, site }: TestSendCommand): Promise<void> {
  say(await testSend(route, await readSite(site), Date.now(), { secrets: webhookSecrets() }));
}

const webhookSecrets = (): readonly SecretPlace[] => (process.env[WEBHOOK_SECRET] === undefined ? [] : [{ env: WEBHOOK_SECRET }]);

async function serve(command: DemoCommand | RunCommand): Promise<void> {
  if (!existsSync(join(DIST, 'index.html')))
    throw new Fault('unavailable', 'The dashboard is not built. Run npm run build, then start again.');
  listenForTheEnd();
  const file = command.site ?? DEMO_SITE;
  const text = await siteText(file);
  const site = parseSite(file, text, command.endpoints);
  await freePort(command);
  const store = await openSqlite(command.data);
  open.push(() => store.close());
  const core = siteCore(site, command.type === 'demo' ? command.speed : 1);
  const recorder = new TraceRecorder({ store });
  const shared = { store, core, recorder, folder: command.data };
  const demo = command.type === 'demo' ? await startDemo({ ...command, ...shared, site, onProgress: progress, onEnd: fail }) : null;
  if (demo !== null) open.push(() => demo.stop());
  const placed = (read: SiteFile): SiteFile => withEndpoints(read, demo?.endpoints);
  const gateway = new Gateway({
    ...shared,
    site: placed(site),
    source: { file, text, parse: (written) => placed(parseSite(file, written, command.endpoints)) },
    clock: demo?.clock ?? systemClock(),
    past: demo?.past ?? null,
    address: command,
    distFolder: DIST,
    version: VERSION,
    random: Math.random,
    webhookSecrets: webhookSecrets(),
    log,
    onFatal: fail,
  });
  open.push(() => gateway.stop());
  greet(command, site, await gateway.start(), demo);
}

function greet(command: DemoCommand | RunCommand, { site, chambers }: SiteFile, url: string, demo: Demo | null): void {
  say(`Glowfleet watches ${chambers.length} chambers of ${site.name}, ${site.hall}: ${url}`);
  say(`All it knows is in ${command.data}. Ctrl-C ends it.`);
  if (demo !== null) say(`Break something: npm run simulate -- fault --list, then fault NAME --chamber PC-05 --control ${demo.control}`);
}

/** The demo's servers listen where they found a free port. */
function withEndpoints(site: SiteFile, endpoints: Demo['endpoints'] | undefined): SiteFile {
  return { ...site, servers: site.servers.map((server) => ({ ...server, endpoint: endpoints?.get(server.name) ?? server.endpoint })) };
}

function checkNode(): void {
  const [major = 0, minor = 0] = process.versions.node.split('.').map(Number);
  if (major > LEAST_NODE[0] || (major === LEAST_NODE[0] && minor >= LEAST_NODE[1])) return;
  throw new Fault(
    'unavailable',
    `Glowfleet needs Node ${LEAST_NODE.join('.')} or newer, and this is ${process.versions.node}. Start it with npm start.`,
  );
}

function listenForTheEnd(): void {
  for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) process.on(signal, () => end(0));
  if (process.channel !== undefined) {
    process.on('disconnect', () => end(0));
    process.channel?.unref();
  }
  process.on('uncaughtException', fail);
  process.on('unhandledRejection', fail);
}

/** Stops all in reverse; a second signal, or too long a stop, ends at once. */
function end(code: number): void {
  const now = performance.now();
  if (stopping > 0) {
    if (now - stopping > SAME_SIGNAL_MS) process.exit(code === 0 ? 130 : code);
    return;
  }
  stopping = now;
  setTimeout(() => process.exit(1), LONGEST_STOP_MS).unref();
  void closeAll().then(
    () => process.exit(code),
    (error: unknown) => {
      complain(error);
      process.exit(1);
    },
  );
}

async function closeAll(): Promise<void> {
  for (const close of open.splice(0).reverse()) await close();
}

function fail(error: unknown): void {
  if (stopping > 0) return;
  complain(error);
  end(1);
}

function complain(error: unknown): void {
  clearProgress();
  process.stderr.write(`${error instanceof Fault ? error.message : error instanceof Error ? error.stack : String(error)}\n`);
}

function log(message: string, error?: unknown): void {
  clearProgress();
  process.stderr.write(`${new Date().toISOString()} ${message}${error instanceof Error ? `: ${error.message}` : ''}\n`);
}

let progressLine = '';
/** On a terminal one line that is written over; elsewhere one line per change. */
function progress(line: string): void {
  if (line === progressLine) return;
  process.stdout.write(process.stdout.isTTY ? `\r${line}` : `${line}\n`);
  progressLine = line;
}

function clearProgress(): void {
  if (progressLine !== '' && process.stdout.isTTY) process.stdout.write('\n');
  progressLine = '';
}

function say(text: string): void {
  clearProgress();
  process.stdout.write(`${text}\n`);
}

await main(process.argv.slice(2)).catch(fail);
