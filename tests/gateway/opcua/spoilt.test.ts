/** An exception while a message is taken in: the library says nothing of it, so we must (reconnection of node-opcua 2.186, seen against it). */
import { ClientSubscription, OPCUAClient, TimestampsToReturn } from 'node-opcua';
import { afterEach, expect, test } from 'vitest';
import { ensureOwnCertificate } from '../../../gateway/opcua/client.ts';
import { Handshakes } from '../../../gateway/opcua/handshakes.ts';
import type { ServerStatus } from '../../../gateway/opcua/link-port.ts';
import { Outbox } from '../../../gateway/opcua/outbox.ts';
import { ServerLink } from '../../../gateway/opcua/server-link.ts';
import { tagTable } from '../../../src/tag-map.ts';
import { newFolder, nodeText, startFixture, type Fixture } from './fixture-server.ts';
import { siteWith } from './heard.ts';

const undo: (() => unknown)[] = [];
afterEach(async () => {
  for (const step of undo.splice(0).reverse()) await step();
});

async function fixture(): Promise<Fixture> {
  const server = await startFixture({ tags: [{ path: 'A1/Pressure', type: 'Double', value: 100 }] });
  undo.push(() => server.close());
  return server;
}

/** Its way to the gateway fails for one value, as a fault of ours would. */
class Failing extends Outbox {
  readonly told: { name: string; value: unknown }[] = [];
  failed = 0;

  override add(...[target, at, value, tag]: Parameters<Outbox['add']>): void {
    if (value === 200) {
      this.failed++;
      throw new Error('the value 200 cannot be told');
    }
    this.told.push({ name: target.name, value });
    super.add(target, at, value, tag);
  }

  of = (signal: string): unknown[] => this.told.flatMap(({ name, value }) => (name.endsWith(`\t${signal}`) ? [value] : []));
}

test('a message that we fail to take in is counted and a hole in the word of its chambers, and the next one is heard', async () => {
  const server = await fixture();
  const site = siteWith(server.port, {
    tags: { 'chamber.pressure': { node: nodeText('{path}/Pressure'), unit: 'Pa', sampling: 'fast' } },
  });
  const pkiFolder = newFolder();
  await ensureOwnCertificate(pkiFolder);
  const outbox = new Failing(() => undefined);
  const statuses: ServerStatus[] = [];
  const [part] = site.servers;
  const link = new ServerLink({
    server: part!,
    table: tagTable(site, part!.name),
    clock: { now: () => Date.now(), steadyMs: () => performance.now(), realNow: () => Date.now(), speed: 1 },
    outbox,
    pkiFolder,
    handshakes: new Handshakes(),
    random: Math.random,
    heardUntil: null,
    tell: (status) => void statuses.push(status),
  });
  link.start();
  undo.push(() => link.stop());
  const soon = (claim: () => unknown) => expect.poll(claim, { timeout: 20_000, interval: 20 });
  await soon(() => outbox.of('chamber.pressure').at(-1)).toBe(100);
  await soon(() => statuses.at(-1)?.state).toBe('live');
  const words = outbox.of('link.alive').length;
  server.set('A1/Pressure', 200);
  await soon(() => outbox.failed).toBe(1);
  server.set('A1/Pressure', 300);
  await soon(() => outbox.of('chamber.pressure').at(-1)).toBe(300);
  expect(outbox.of('link.alive').slice(words)).toEqual(expect.arrayContaining([false, true]));
  await soon(() => statuses.at(-1)?.counters.handlerErrors).toBe(1);
  expect(statuses.at(-1)).toMatchObject({ state: 'live', counters: { rebuilds: 0 } });
});

test('the library itself says nothing of an exception in a listener, and loses what the message said', async () => {
  const server = await fixture();
  const client = OPCUAClient.create({ endpointMustExist: false, connectionStrategy: { maxRetry: 0 } });
  await client.connect(`opc.tcp://127.0.0.1:${server.port}`);
  undo.push(() => client.disconnect());
  const session = await client.createSession();
  const index = (await session.readNamespaceArray()).indexOf('urn:quellmoor:plc');
  const subscription = ClientSubscription.create(session, { requestedPublishingInterval: 50, publishingEnabled: true });
  const item = await subscription.monitor(
    { nodeId: `ns=${index};s=A1/Pressure`, attributeId: 13 },
    { samplingInterval: 20, queueSize: 10, discardOldest: true },
    TimestampsToReturn.Both,
  );
  const [heard, errors]: [unknown[], unknown[]] = [[], []];
  let thrown = 0;
  item.on('changed', ({ value }) => heard.push(value.value));
  for (const event of ['error', 'internal_error'] as const) subscription.on(event, (error: Error) => errors.push(error));
  await expect.poll(() => heard).toEqual([100]);
  subscription.on('raw_notification', ({ notificationData }) => {
    // A keep-alive says nothing that could be lost.
    if (thrown > 0 || (notificationData?.length ?? 0) === 0) return;
    thrown++;
    throw new Error('a fault in a listener');
  });
  server.set('A1/Pressure', 200);
  await expect.poll(() => thrown, { timeout: 20_000 }).toBe(1);
  server.set('A1/Pressure', 300);
  await expect.poll(() => heard.at(-1), { timeout: 20_000 }).toBe(300);
  expect([heard, errors]).toEqual([[100, 300], []]);
});
