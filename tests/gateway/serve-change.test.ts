/** The fleet's own OPC UA server when the site file changes under a client that is connected to it. */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { connect, createServer, type AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { AttributeIds, ClientSubscription, OPCUAClient, TimestampsToReturn, type ClientSession } from 'node-opcua';
import { afterEach, beforeEach, expect, test } from 'vitest';
import type { Fleet, Health } from '../../src/contract.ts';
import { NAMESPACE, startFixture } from './opcua/fixture-server.ts';
import { startGateway } from './running.ts';

const FLEET = 'urn:glowfleet:fleet';
const undo: (() => unknown)[] = [];
let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'glowfleet serve '));
  undo.push(() => rmSync(folder, { recursive: true, force: true, maxRetries: 5, retryDelay: 200 }));
});
afterEach(async () => {
  for (const step of undo.splice(0).reverse()) await step();
});

type Chamber = { readonly id: string; readonly name?: string };
const site = (plcPort: number, servePort: number, chambers: readonly Chamber[]) => `
site: { name: Quellmoor Works, hall: Hall 3, zone: Europe/Berlin }
servers: [{ name: amber, endpoint: 'opc.tcp://127.0.0.1:${plcPort}', security: none }]
serve: { host: 127.0.0.1, port: ${servePort}, security: none }
templates:
  small: { rfMaxW: 1000, basePressurePa: 5, gases: {}, tags: { chamber.pressure: { node: 'nsu=${NAMESPACE};s={path}/Pressure', unit: Pa } } }
chambers:
${chambers
  .map(
    ({ id, name = id }, i) =>
      `  - { id: ${id}, name: ${name}, bay: Amber, floor: { column: ${i + 1}, row: 1 }, server: amber, template: small, path: ${id} }`,
  )
  .join('\n')}
`;

async function freePort(): Promise<number> {
  const holder = createServer();
  await new Promise<void>((done) => holder.listen(0, '127.0.0.1', done));
  const { port } = holder.address() as AddressInfo;
  await new Promise((done) => holder.close(done));
  return port;
}

const tagsOf = (...ids: string[]) => ids.map((id) => ({ path: `${id}/Pressure`, type: 'Double', value: 101_325 }) as const);
const soon = (claim: () => unknown, timeout = 40_000) => expect.poll(claim, { timeout, interval: 200 });

/** A client of another system, with nothing but the library's own reconnection. */
async function connected(port: number): Promise<ClientSession> {
  const client = OPCUAClient.create({ endpointMustExist: false, connectionStrategy: { maxRetry: -1, initialDelay: 200, maxDelay: 1000 } });
  await client.connect(`opc.tcp://127.0.0.1:${port}`);
  undo.push(() => client.disconnect());
  return client.createSession();
}

const isOpen = (port: number): Promise<boolean> =>
  new Promise((resolve) => {
    const socket = connect(port, '127.0.0.1', () => (socket.destroy(), resolve(true)));
    socket.on('error', () => resolve(false));
  });

/** What it reads, '' while it is being reconnected. */
async function read(session: ClientSession, name: string, attributeId = AttributeIds.Value): Promise<string> {
  try {
    const index = (await session.readNamespaceArray()).indexOf(FLEET);
    const { statusCode, value } = await session.read({ nodeId: `ns=${index};s=${name}`, attributeId });
    return statusCode.isGood() ? String((value.value as { text?: string }).text ?? value.value) : statusCode.name;
  } catch {
    return '';
  }
}

test(
  'a chamber comes, one goes, one is renamed: a connected client finds it all by itself at the same address',
  { timeout: 120_000 },
  async () => {
    const plc = await startFixture({ tags: tagsOf('PC-01', 'PC-02', 'PC-03') });
    undo.push(() => plc.close());
    const port = await freePort();
    const running = await startGateway(folder, site(plc.port, port, [{ id: 'PC-01' }, { id: 'PC-02' }]));
    undo.push(running.stop);
    const session = await connected(port);
    await soon(() => read(session, 'PC-01.EquipmentState')).toMatch(/^(?!Bad|unobserved|$)/);
    const subscription = ClientSubscription.create(session, {
      requestedPublishingInterval: 200,
      requestedLifetimeCount: 600,
      publishingEnabled: true,
    });
    const index = (await session.readNamespaceArray()).indexOf(FLEET);
    const item = await subscription.monitor(
      { nodeId: `ns=${index};s=PC-01.EquipmentState`, attributeId: AttributeIds.Value },
      { samplingInterval: 100, queueSize: 10, discardOldest: true },
      TimestampsToReturn.Both,
    );
    let told = 0;
    item.on('changed', () => told++);
    await soon(() => told).toBeGreaterThan(0);
    expect(await read(session, 'PC-03.EquipmentState')).toBe('BadNodeIdUnknown');

    writeFileSync(join(folder, 'site.yaml'), site(plc.port, port, [{ id: 'PC-01', name: 'Asher north' }, { id: 'PC-03' }]));
    expect((await running.reload()).status).toBe(200);
    const before = told;
    await soon(() => read(session, 'PC-03.EquipmentState')).toMatch(/^(?!Bad|$)/);
    await soon(() => read(session, 'PC-02.EquipmentState')).toBe('BadNodeIdUnknown');
    await soon(() => read(session, 'PC-01', AttributeIds.DisplayName)).toBe('Asher north');
    // Its subscription came with it.
    await soon(() => told).toBeGreaterThan(before);
    expect((await running.get<Health>('/health/ready')).problems.filter((text) => text.includes('OPC UA server of the fleet'))).toEqual([]);
  },
);

test(
  'serve is taken out, put in again at a port in use, and at a free one: told each time, and nothing else stops',
  { timeout: 120_000 },
  async () => {
    const plc = await startFixture({ tags: tagsOf('PC-01') });
    undo.push(() => plc.close());
    const port = await freePort();
    const text = site(plc.port, port, [{ id: 'PC-01' }]);
    const running = await startGateway(folder, text);
    undo.push(running.stop);
    const taken = (): Promise<string[]> =>
      running.get<Health>('/health/ready').then(({ problems }) => problems.filter((one) => /cannot listen on/.test(one)));
    const change = async (words: string): Promise<void> => {
      writeFileSync(join(folder, 'site.yaml'), words);
      expect((await running.reload()).status).toBe(200);
    };
    const session = await connected(port);
    await soon(() => read(session, 'PC-01.EquipmentState')).toMatch(/^(?!Bad|$)/);

    await change(text.replace(/^serve:.*\n/m, ''));
    expect(await isOpen(port)).toBe(false);

    const holder = createServer();
    await new Promise<void>((done) => holder.listen(0, '127.0.0.1', done));
    undo.push(() => holder.close());
    await change(text.replace(`port: ${port}`, `port: ${(holder.address() as AddressInfo).port}`));
    expect(await taken()).toHaveLength(1);
    expect((await running.get<{ state: string }[]>('/api/servers')).map(({ state }) => state)).toEqual(['live']);

    await change(text);
    await soon(() => read(session, 'PC-01.EquipmentState')).toMatch(/^(?!Bad|$)/);
    expect(await taken()).toEqual([]);
  },
);

test(
  'a gateway that starts while the port is in use watches the fleet, tells it, and serves when the port is free',
  { timeout: 120_000 },
  async () => {
    const plc = await startFixture({ tags: tagsOf('PC-01') });
    undo.push(() => plc.close());
    const holder = createServer();
    await new Promise<void>((done) => holder.listen(0, '127.0.0.1', done));
    const free = () => new Promise((done) => holder.close(done));
    undo.push(free);
    const { port } = holder.address() as AddressInfo;
    const running = await startGateway(folder, site(plc.port, port, [{ id: 'PC-01' }]));
    undo.push(running.stop);
    const told = () =>
      running
        .get<Health>('/health/ready')
        .then(({ problems }) => problems.filter((one) => /cannot listen on .*Choose another/.test(one)).length);
    expect(await told()).toBe(1);
    await soon(async () => (await running.get<Fleet>('/api/fleet')).chambers[0]?.link).toBe('live');
    await free();
    await soon(told, 80_000).toBe(0);
    expect(await read(await connected(port), 'PC-01.EquipmentState')).toMatch(/^(?!Bad|$)/);
  },
);
