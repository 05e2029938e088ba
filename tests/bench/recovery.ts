/**
 * How long after each fault a chamber is said to be unheard, and how long after its end it is read again, without a hand. Beside the link a
 * bare client of the same library with its own reconnection, on the same server through the same relay. A value is the time it was made at, so
 * that what was made after the fault's end is known from what waited in a queue.
 */
import { fork, type ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { setTimeout as wait } from 'node:timers/promises';
import { AttributeIds, ClientSubscription, OPCUAClient, TimestampsToReturn } from 'node-opcua';
import { systemClock } from '../../gateway/clock.ts';
import { openLink } from '../../gateway/opcua/link.ts';
import { NAMESPACE, newFolder, nodeText, startFixture, startProxy, type Proxy } from '../gateway/opcua/fixture-server.ts';
import { siteWith } from '../gateway/opcua/heard.ts';

/** Real ms; null: not within a minute. */
export type Recovery = { readonly unheardMs: number | null; readonly linkMs: number | null; readonly bareMs: number | null };
export type Recovered = { readonly fault: string; readonly rounds: readonly Recovery[] };

type Plant = { readonly proxy: Proxy; kill(): Promise<void>; begin(namespacesBefore: number): Promise<void> };
type Fault = {
  readonly name: string;
  readonly lastsMs: number;
  begin(plant: Plant): Promise<void> | void;
  end(plant: Plant): Promise<void> | void;
};

const FAULTS: readonly Fault[] = [
  { name: 'TCP cut and refused', lastsMs: 20_000, begin: ({ proxy }) => proxy.cut(), end: ({ proxy }) => proxy.heal() },
  {
    name: 'black hole: nothing comes, nothing closes',
    lastsMs: 30_000,
    begin: ({ proxy }) => proxy.swallow(),
    end: ({ proxy }) => proxy.heal(),
  },
  {
    name: 'half-open, then reset',
    lastsMs: 30_000,
    begin: ({ proxy }) => proxy.swallow(),
    end: ({ proxy }) => (proxy.cut(), proxy.heal()),
  },
  { name: 'server killed and started again', lastsMs: 20_000, begin: (plant) => plant.kill(), end: (plant) => plant.begin(0) },
  { name: 'server back with namespaces moved', lastsMs: 20_000, begin: (plant) => plant.kill(), end: (plant) => plant.begin(3) },
];
const SETTLE_MS = 5_000;
const LONGEST_MS = 60_000;
const CHANGE_MS = 100;
const PATH = 'A1/Pressure';

if (process.argv[2] === 'serve') await serve(Number(process.argv[3]), Number(process.argv[4]));

/** The faults side by side, each with a plant of its own. */
export async function recovery(rounds: number): Promise<readonly Recovered[]> {
  return Promise.all(FAULTS.map(async (fault) => ({ fault: fault.name, rounds: await withPlant(fault, rounds) })));
}

async function withPlant(fault: Fault, rounds: number): Promise<readonly Recovery[]> {
  const port = await freePort();
  const proxy = await startProxy(() => port);
  let child = await started(port, 0);
  const plant: Plant = {
    proxy,
    kill: () => killed(child),
    begin: async (namespacesBefore) => void (child = await started(port, namespacesBefore)),
  };
  const [link, bare] = [await watchLink(proxy.port), await watchBare(proxy.port)];
  const told: Recovery[] = [];
  for (let round = 0; round < rounds; round++) {
    await wait(SETTLE_MS);
    told.push(await oneRound(fault, plant, [link, bare]));
  }
  await link.stop();
  await bare.stop();
  await killed(child);
  await proxy.close();
  return told;
}

/** The newest value's own time, and when the chamber was last said to be unheard. */
type Watching = { newest: number; unheardAt: number; stop(): Promise<void> | void };

async function oneRound(fault: Fault, plant: Plant, [link, bare]: readonly [Watching, Watching]): Promise<Recovery> {
  const brokeAt = Date.now();
  await fault.begin(plant);
  await wait(fault.lastsMs);
  const unheardMs = link.unheardAt >= brokeAt ? link.unheardAt - brokeAt : null;
  await fault.end(plant);
  const healedAt = Date.now();
  const until = async (side: Watching): Promise<number | null> => {
    for (; Date.now() - healedAt < LONGEST_MS; await wait(20)) if (side.newest > healedAt) return Date.now() - healedAt;
    return null;
  };
  const [linkMs, bareMs] = await Promise.all([until(link), until(bare)]);
  return { unheardMs, linkMs, bareMs };
}

async function watchLink(port: number): Promise<Watching> {
  const template = { tags: { 'chamber.pressure': { node: nodeText('{path}/Pressure'), unit: 'Pa', sampling: 'fast' } } };
  const watching: Watching = { newest: 0, unheardAt: 0, stop: () => link.stop() };
  const link = openLink({
    site: siteWith(port, template),
    clock: systemClock(),
    pkiFolder: newFolder(),
    events: {
      server: () => {},
      readings: (readings) => {
        for (const { signal, value } of readings) {
          if (signal === 'link.alive' && value === false) watching.unheardAt = Date.now();
          if (signal === 'chamber.pressure' && typeof value === 'number') watching.newest = value;
        }
      },
    },
  });
  await link.start();
  return watching;
}

async function watchBare(port: number): Promise<Watching> {
  const client = OPCUAClient.create({ endpointMustExist: false, connectionStrategy: { maxRetry: -1, initialDelay: 1000, maxDelay: 5000 } });
  await client.connect(`opc.tcp://127.0.0.1:${port}`);
  const session = await client.createSession();
  const subscription = ClientSubscription.create(session, {
    requestedPublishingInterval: 250,
    requestedMaxKeepAliveCount: 10,
    requestedLifetimeCount: 1000,
    maxNotificationsPerPublish: 0,
    publishingEnabled: true,
  });
  const watching: Watching = { newest: 0, unheardAt: 0, stop: () => void client.disconnect().catch(() => undefined) };
  const namespace = (await session.readNamespaceArray()).indexOf(NAMESPACE);
  const item = await subscription.monitor(
    { nodeId: `ns=${namespace};s=${PATH}`, attributeId: AttributeIds.Value },
    { samplingInterval: CHANGE_MS, queueSize: 10, discardOldest: true },
    TimestampsToReturn.Both,
  );
  item.on('changed', ({ value }) => typeof value.value === 'number' && (watching.newest = value.value));
  return watching;
}

async function started(port: number, namespacesBefore: number): Promise<ChildProcess> {
  const child = fork(import.meta.filename, ['serve', `${port}`, `${namespacesBefore}`], { stdio: ['ignore', 'ignore', 'inherit', 'ipc'] });
  await once(child, 'message');
  return child;
}

async function killed(child: ChildProcess): Promise<void> {
  if (child.exitCode !== null || child.signalCode !== null) return;
  child.kill('SIGKILL');
  await once(child, 'exit');
}

async function serve(port: number, namespacesBefore: number): Promise<void> {
  process.on('disconnect', () => process.exit(0));
  const server = await startFixture({ port, namespacesBefore, tags: [{ path: PATH, type: 'Double', value: Date.now() }] });
  setInterval(() => server.set(PATH, Date.now()), CHANGE_MS);
  process.send?.('ready');
}

async function freePort(): Promise<number> {
  const proxy = await startProxy(() => 0);
  await proxy.close();
  return proxy.port;
}
