/**
 * Does the simulated fleet keep up with a plant that runs fast? Starts the real program, subscribes to every tag of every chamber with
 * sampling interval 0, and prints the simulator's CPU, values per second, and what was lost: overflows, and holes in the controllers' heartbeat
 * (one count per plant second).
 *
 *   node tests/bench/simulator-speed.ts [speed 60] [chambers 12] [seconds 20]
 */
import { fork } from 'node:child_process';
import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import {
  AttributeIds,
  ClientMonitoredItemGroup,
  type DataValue,
  MessageSecurityMode,
  OPCUACertificateManager,
  OPCUAClient,
  TimestampsToReturn,
} from 'node-opcua';
import { createPlant } from '../../gateway/simulator/plant.ts';
import { quietLibrary } from '../../gateway/simulator/quiet.ts';

const REPORT_MS = 5000;
const BATCH = 900;
const TICK_MS = 10; // a clock tick of /proc/<pid>/stat is 10 ms on Linux

type Ready = { readonly type: string; readonly endpoints: Readonly<Record<string, string>> };

const [speed = 60, chambers = 12, seconds = 20] = process.argv.slice(2).map(Number);
quietLibrary(() => {});
const folder = await mkdtemp(join(tmpdir(), 'simulator-speed-'));
const startedAt = performance.now();
const options = { data: folder, 'base-port': 0, speed, chambers };
const child = fork(
  join(import.meta.dirname, '../../gateway/simulator/main.ts'),
  ['serve', ...Object.entries(options).flatMap(([name, value]) => [`--${name}`, String(value)])],
  { serialization: 'advanced', stdio: ['ignore', 'ignore', 'inherit', 'ipc'] },
);
const count = { values: 0, overflows: 0, holes: 0 };
const beats = new Map<string, number>();

const ready = await new Promise<Ready>((resolve) => child.once('message', (message) => resolve(message as Ready)));
const cpuToReady = await cpuMs();
console.log(`${chambers} chambers at ${speed}x: ready after ${since(startedAt)} s (${(cpuToReady / 1000).toFixed(1)} CPU-s)`);
const certificates = new OPCUACertificateManager({ rootFolder: join(folder, 'client-pki') });
const plant = createPlant({ seed: 1, from: 0, chambers });
for (const [server, url] of Object.entries(ready.endpoints)) await listen(server, url);

const end = performance.now() + seconds * 1000;
while (performance.now() < end) {
  const from = { at: performance.now(), cpu: await cpuMs(), values: count.values };
  await new Promise((resolve) => setTimeout(resolve, REPORT_MS));
  const ms = performance.now() - from.at;
  const cpu = ((100 * ((await cpuMs()) - from.cpu)) / ms).toFixed(1);
  const rate = ((1000 * (count.values - from.values)) / ms).toFixed(0);
  console.log(
    `simulator CPU ${cpu} % of a core, ${await rssMb()} MB; ${rate} values/s, overflows ${count.overflows}, heartbeat holes ${count.holes}`,
  );
}
const stopAt = performance.now();
child.kill('SIGINT');
await new Promise((resolve) => child.once('exit', resolve));
console.log(`stopped in ${since(stopAt)} s`);
await rm(folder, { recursive: true });
process.exit(0);

async function listen(server: string, url: string): Promise<void> {
  const client = OPCUAClient.create({
    clientCertificateManager: certificates,
    endpointMustExist: false,
    securityMode: MessageSecurityMode.None,
    transportTimeout: 60_000,
  });
  await client.connect(url);
  const session = await client.createSession();
  const subscription = await session.createSubscription2({
    requestedPublishingInterval: 250,
    requestedLifetimeCount: 1000,
    requestedMaxKeepAliveCount: 20,
    maxNotificationsPerPublish: 0,
    publishingEnabled: true,
    priority: 1,
  });
  const paths = plant.chambers.filter((one) => one.server === server).flatMap((one) => one.tags.map((tag) => tag.path));
  for (let from = 0; from < paths.length; from += BATCH) {
    const batch = paths.slice(from, from + BATCH);
    const items = batch.map((path) => ({ nodeId: `ns=2;s=${path}`, attributeId: AttributeIds.Value }));
    const group = ClientMonitoredItemGroup.create(
      subscription,
      items,
      { samplingInterval: 0, queueSize: 1000, discardOldest: true },
      TimestampsToReturn.Both,
    );
    group.on('changed', (_item, value, index) => take(batch[index] as string, value));
  }
}

function take(path: string, value: DataValue): void {
  count.values++;
  if (value.statusCode.hasOverflowBit) count.overflows++;
  const beat = value.value.value as unknown;
  if (!path.endsWith('/Heartbeat') || typeof beat !== 'number') return;
  const before = beats.get(path);
  if (before !== undefined && beat > before + 1) count.holes++;
  beats.set(path, beat);
}

async function cpuMs(): Promise<number> {
  const fields = (await readFile(`/proc/${child.pid}/stat`, 'utf8')).split(') ')[1]?.split(' ') ?? [];
  return (Number(fields[11]) + Number(fields[12])) * TICK_MS;
}

async function rssMb(): Promise<string> {
  return (Number(/VmRSS:\s+(\d+)/.exec(await readFile(`/proc/${child.pid}/status`, 'utf8'))?.[1]) / 1024).toFixed(0);
}

function since(at: number): string {
  return ((performance.now() - at) / 1000).toFixed(1);
}
