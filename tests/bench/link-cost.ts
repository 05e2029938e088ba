/**
 * What the link costs: CPU seconds per 100 000 values of link process and unpacking gateway together, beside a raw subscriber of the same
 * library with an empty handler, in one run on one server. Linux only (process times from /proc).
 *
 *   node tests/bench/link-cost.ts [chambers 200] [rounds 3] [seconds 20]
 */
import { fork } from 'node:child_process';
import type { ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, readFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { AttributeIds, ClientSubscription, OPCUAClient, TimestampsToReturn } from 'node-opcua';
import { systemClock } from '../../gateway/clock.ts';
import { openLink } from '../../gateway/opcua/link.ts';
import { siteFile } from '../../src/config.ts';
import type { SiteFile } from '../../src/config.ts';
import { SIGNAL_NAMES, SIGNALS } from '../../src/signal.ts';
import { nodeText, startFixture } from '../gateway/opcua/fixture-server.ts';

const [mode = '200', second = '3', third = '20'] = process.argv.slice(2);
const TICKS_PER_S = 100;
const WARM_UP_MS = 10_000;
const SIGNAL_TAGS = SIGNAL_NAMES.filter((name) => SIGNALS[name].kind === 'analog').slice(0, 30);

type Cost = { readonly values: number; readonly cpuS: number };

function fleet(chambers: number, port: number): SiteFile {
  const tags = Object.fromEntries(SIGNAL_TAGS.map((name) => [name, { node: nodeText(`{path}/${name}`), sampling: 'normal' }]));
  return siteFile.parse({
    site: { name: 'Quellmoor Works', hall: 'Hall 3', zone: 'Europe/Berlin' },
    servers: [{ name: 'plc', endpoint: `opc.tcp://127.0.0.1:${port}`, security: 'none' }],
    templates: { all: { rfMaxW: 600, basePressurePa: 10, gases: {}, tags } },
    chambers: Array.from({ length: chambers }, (_, i) => ({
      id: `C${i}`,
      bay: 'Bench',
      floor: { column: (i % 40) + 1, row: Math.floor(i / 40) + 1 },
      server: 'plc',
      template: 'all',
      path: `C${i}`,
    })),
  });
}

const paths = (chambers: number): string[] => Array.from({ length: chambers }, (_, i) => SIGNAL_TAGS.map((name) => `C${i}/${name}`)).flat();

function processCpuS(pid: number): number {
  const fields = readFileSync(`/proc/${pid}/stat`, 'utf8')
    .replace(/^.*\) /s, '')
    .split(' ');
  return (Number(fields[11]) + Number(fields[12])) / TICKS_PER_S;
}

const ownCpuS = (): number => {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1e6;
};

/** Every tag once a second. */
async function serve(chambers: number): Promise<void> {
  const all = paths(chambers);
  const server = await startFixture({ tags: all.map((path) => ({ path, type: 'Double', value: 0 })) });
  process.send?.(server.port);
  let n = 0;
  setInterval(() => {
    n++;
    const at = new Date();
    for (const path of all) server.set(path, n, at);
  }, 1000);
}

async function raw(chambers: number, port: number): Promise<void> {
  const client = OPCUAClient.create({ endpointMustExist: false, connectionStrategy: { maxRetry: 1 } });
  await client.connect(`opc.tcp://127.0.0.1:${port}`);
  const session = await client.createSession();
  const namespaces = await session.readNamespaceArray();
  const subscription = ClientSubscription.create(session, {
    requestedPublishingInterval: 1000,
    requestedMaxKeepAliveCount: 10,
    requestedLifetimeCount: 130,
    maxNotificationsPerPublish: 0,
    publishingEnabled: true,
  });
  let values = 0;
  const items = paths(chambers).map((path) => ({
    nodeId: `ns=${namespaces.indexOf('urn:quellmoor:plc')};s=${path}`,
    attributeId: AttributeIds.Value,
  }));
  for (let from = 0; from < items.length; from += 1000) {
    const group = await subscription.monitorItems(
      items.slice(from, from + 1000),
      { samplingInterval: 1000, queueSize: 60, discardOldest: true },
      TimestampsToReturn.Both,
    );
    group.on('changed', () => values++);
  }
  await report(() => ({ values, cpuS: ownCpuS() }));
}

async function linked(chambers: number, port: number): Promise<void> {
  let values = 0;
  const link = openLink({
    site: fleet(chambers, port),
    clock: systemClock(),
    pkiFolder: mkdtempSync(join(tmpdir(), 'link-cost-')),
    events: { readings: (readings) => (values += readings.length), server: () => {} },
  });
  await link.start();
  await report(() => ({ values, cpuS: ownCpuS() + processCpuS(link.pids[0] ?? 0) }));
  await link.stop();
}

async function report(now: () => Cost): Promise<void> {
  await wait(WARM_UP_MS);
  const before = now();
  await once(process, 'message');
  const after = now();
  process.send?.({ values: after.values - before.values, cpuS: after.cpuS - before.cpuS } satisfies Cost);
  process.disconnect();
}

async function measured(which: 'raw' | 'link', chambers: number, port: number): Promise<Cost> {
  const child = fork(import.meta.filename, [which, String(chambers), String(port)], { stdio: 'inherit' });
  await wait(WARM_UP_MS + Number(third) * 1000);
  child.send('stop');
  const [cost] = (await once(child, 'message')) as [Cost];
  await ended(child);
  return cost;
}

async function ended(child: ChildProcess): Promise<void> {
  const hard = setTimeout(() => child.kill('SIGKILL'), 3000);
  await once(child, 'exit');
  clearTimeout(hard);
}

const per100k = ({ values, cpuS }: Cost): number => (cpuS / values) * 1e5;
const median = (numbers: readonly number[]): number => [...numbers].sort((a, b) => a - b)[numbers.length >> 1] as number;

async function compare(chambers: number, rounds: number): Promise<void> {
  const server = fork(import.meta.filename, ['server', String(chambers)], { stdio: 'inherit' });
  const [port] = (await once(server, 'message')) as [number];
  const rows: { raw: number; link: number }[] = [];
  for (let round = 1; round <= rounds; round++) {
    const bare = await measured('raw', chambers, port);
    const whole = await measured('link', chambers, port);
    rows.push({ raw: per100k(bare), link: per100k(whole) });
    console.log(
      `round ${round}: raw ${per100k(bare).toFixed(3)} CPU-s/100k (${bare.values} values), link ${per100k(whole).toFixed(3)} CPU-s/100k (${whole.values} values)`,
    );
  }
  server.kill('SIGKILL');
  const [bare, whole] = [median(rows.map((row) => row.raw)), median(rows.map((row) => row.link))];
  console.log(
    `${chambers} chambers x ${SIGNAL_TAGS.length} tags at 1 Hz, median of ${rounds}: raw ${bare.toFixed(3)}, link ${whole.toFixed(3)}, ratio ${(whole / bare).toFixed(2)}`,
  );
}

if (mode === 'server') await serve(Number(second));
else if (mode === 'raw') await raw(Number(second), Number(third)).then(() => process.exit(0));
else if (mode === 'link') await linked(Number(second), Number(third)).then(() => process.exit(0));
else await compare(Number(mode), Number(second));
