/**
 * The baseline: a bare node-opcua client, a process of its own, monitoring what the gateway monitors at the same intervals, whose handler
 * counts and does nothing else. Asked to, it also notes when chosen tags arrive.
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import {
  AttributeIds,
  ClientSubscription,
  DataChangeNotification,
  OPCUACertificateManager,
  OPCUAClient,
  TimestampsToReturn,
} from 'node-opcua';
import type { ClientMonitoredItemBase, ClientSession, NotificationMessage } from 'node-opcua';
import { silenceLibrary } from '../../gateway/opcua/client.ts';
import { paceOf } from '../../gateway/opcua/line.ts';
import type { Sampling } from '../../src/tag-map.ts';
import { benchSite, items, loadOf, NAMESPACE } from './bench-site.ts';

export type RawOrder = 'count' | 'kept' | readonly string[];
export type RawCount = { readonly values: number; readonly cpuS: number; readonly rssBytes: number };
export type Arrival = { readonly path: string; readonly value: unknown; readonly at: number };
/** Heap and what hangs on it after garbage was collected. */
export type RawKept = { readonly keptBytes: number };
export type RawNews = RawCount | RawKept | Arrival | 'ready';

type Paths = ReadonlyMap<number, string>;

const BATCH = 1000;
const site = benchSite(loadOf(process.argv.slice(2)), process.argv.slice(5).map(Number));
const pki = mkdtempSync(join(tmpdir(), 'bench-raw-'));
const noted = new Set<string>();
const clients: OPCUAClient[] = [];
let values = 0;

const tell = (news: RawNews): void => void process.send?.(news);
silenceLibrary();
process.on('disconnect', () => void close());
process.on('exit', () => rmSync(pki, { recursive: true, force: true }));
process.on('message', (order: RawOrder) => {
  if (order === 'kept') return tell({ keptBytes: kept() });
  if (order !== 'count') return order.forEach((path) => noted.add(path));
  const { user, system } = process.cpuUsage();
  tell({ values, cpuS: (user + system) / 1e6, rssBytes: process.memoryUsage.rss() });
});
const clientCertificateManager = new OPCUACertificateManager({ rootFolder: pki });
for (const { endpoint, wanted } of items(site)) {
  const session = await connect(endpoint);
  const namespace = (await session.readNamespaceArray()).indexOf(NAMESPACE);
  for (const sampling of ['fast', 'normal', 'slow'] as const) {
    const paths = wanted.flatMap((item) => (item.sampling === sampling ? [item.path] : []));
    if (paths.length > 0) await subscribe({ session, namespace, sampling, paths });
  }
}
tell('ready');

async function connect(endpoint: string): Promise<ClientSession> {
  const client = OPCUAClient.create({ clientCertificateManager, endpointMustExist: false, connectionStrategy: { maxRetry: 1 } });
  await client.connect(endpoint);
  clients.push(client);
  return client.createSession();
}

function kept(): number {
  setFlagsFromString('--expose-gc');
  (runInNewContext('gc') as () => void)();
  const { heapUsed, external } = process.memoryUsage();
  return heapUsed + external;
}

/** In order, so that the servers no longer sample for nobody. */
async function close(): Promise<void> {
  await Promise.allSettled(clients.map((client) => client.disconnect()));
  process.exit(0);
}

type Wanted = {
  readonly session: ClientSession;
  readonly namespace: number;
  readonly sampling: Sampling;
  readonly paths: readonly string[];
};

async function subscribe({ session, namespace, sampling, paths }: Wanted): Promise<void> {
  const { publishMs, sampleMs, queue } = paceOf(sampling, 1);
  const subscription = ClientSubscription.create(session, {
    requestedPublishingInterval: publishMs,
    requestedMaxKeepAliveCount: 10,
    requestedLifetimeCount: 1000,
    maxNotificationsPerPublish: 0,
    publishingEnabled: true,
  });
  const adding = [...paths];
  const pathByHandle = new Map<number, string>();
  subscription.on('item_added', (item: ClientMonitoredItemBase) =>
    pathByHandle.set(item.monitoringParameters.clientHandle, adding.shift() ?? ''),
  );
  subscription.on('raw_notification', (message: NotificationMessage) => count(message, pathByHandle));
  for (let from = 0; from < paths.length; from += BATCH) {
    const batch = paths.slice(from, from + BATCH).map((path) => ({ nodeId: `ns=${namespace};s=${path}`, attributeId: AttributeIds.Value }));
    await subscription.monitorItems(batch, { samplingInterval: sampleMs, queueSize: queue, discardOldest: true }, TimestampsToReturn.Both);
  }
}

function count(message: NotificationMessage, pathByHandle: Paths): void {
  for (const part of message.notificationData ?? []) {
    if (!(part instanceof DataChangeNotification)) continue;
    values += part.monitoredItems?.length ?? 0;
    if (noted.size > 0) note(part, pathByHandle);
  }
}

function note(part: DataChangeNotification, pathByHandle: Paths): void {
  const at = Date.now();
  for (const { clientHandle, value } of part.monitoredItems ?? []) {
    const path = pathByHandle.get(clientHandle) ?? '';
    if (noted.has(path)) tell({ path, value: value.value.value as unknown, at });
  }
}
