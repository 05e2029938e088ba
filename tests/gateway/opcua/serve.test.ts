/** The fleet served back over OPC UA, read by a plain client that knows nothing of Glowfleet. */
import { createServer, type AddressInfo } from 'node:net';
import { AttributeIds, DataType, MessageSecurityMode, OPCUAClient, SecurityPolicy, StatusCodes, type ClientSession } from 'node-opcua';
import { afterEach, expect, test } from 'vitest';
import { FleetServer } from '../../../gateway/opcua/serve.ts';
import type { ServeSetting } from '../../../gateway/opcua/serve-port.ts';
import type { Changes, ChamberTile, Fleet } from '../../../src/contract.ts';
import type { WindowNumbers } from '../../../src/numbers.ts';
import { exampleFleet, exampleShare, exampleTile } from '../wire-examples.ts';
import { browsePathToNodeId } from './browse-path.ts';
import { newFolder } from './fixture-server.ts';

const undo: (() => Promise<unknown>)[] = [];
afterEach(async () => {
  for (const step of undo.splice(0).reverse()) await step();
});

/** A view that counts its changes as the gateway's does. */
function view(tiles: readonly ChamberTile[]) {
  let fleet: Fleet = exampleFleet({ rev: 1, chambers: [...tiles] });
  return {
    fleet: () => fleet,
    since: (rev: number): Changes | null => (rev < 0 ? null : { ...fleet, chambers: rev < fleet.rev ? fleet.chambers : [], strip: null }),
    change: (chambers: ChamberTile[]) => (fleet = { ...fleet, rev: fleet.rev + 1, chambers }),
  };
}

const numbersOf = (chamber: string, value: number | null): WindowNumbers =>
  ({
    chamber,
    operationalUtilization: { ...exampleShare(value), low: 0.5, high: 0.9, coverage: 0.8 },
    loads: { completed: 7 },
    alarms: { activations: 3 },
  }) as WindowNumbers;

async function started(tiles: readonly ChamberTile[], setting: Partial<ServeSetting> = {}) {
  const seen = view(tiles);
  const log: string[] = [];
  const server = new FleetServer({
    setting: { host: '127.0.0.1', port: 0, security: 'none', ...setting },
    pkiFolder: newFolder(),
    version: '9.9.9',
    view: seen,
    numbers: () => Promise.resolve(tiles.map(({ chamber }, i) => numbersOf(chamber, i === 0 ? 0.75 : null))),
    log: (line) => void log.push(line),
  });
  undo.push(() => server.stop());
  return { seen, server, log, served: await server.start() };
}

async function serving(tiles: readonly ChamberTile[], setting: Partial<ServeSetting> = {}) {
  const { served, ...rest } = await started(tiles, setting);
  if (served === null) throw new Error(rest.server.trouble ?? '');
  return { ...rest, ...served };
}

/** A port that something else holds; `free` lets go of it. */
async function held() {
  const holder = createServer((socket) => socket.destroy());
  await new Promise<void>((done) => holder.listen(0, '127.0.0.1', done));
  const free = () => new Promise((done) => holder.close(done));
  undo.push(free);
  return { port: (holder.address() as AddressInfo).port, free };
}

const stateOf = async (port: number): Promise<unknown> => {
  const { read } = await reader(`opc.tcp://127.0.0.1:${port}`);
  return (await read('PC-01.EquipmentState')).value.value;
};

async function client(endpoint: string, security = MessageSecurityMode.None): Promise<ClientSession> {
  const opened = OPCUAClient.create({
    endpointMustExist: false,
    securityMode: security,
    securityPolicy: security === MessageSecurityMode.None ? SecurityPolicy.None : SecurityPolicy.Basic256Sha256,
    connectionStrategy: { maxRetry: 0 },
  });
  undo.push(() => opened.disconnect());
  await opened.connect(endpoint);
  const session = await opened.createSession();
  undo.push(() => session.close());
  return session;
}

async function reader(endpoint: string) {
  const session = await client(endpoint);
  const index = (await session.readNamespaceArray()).indexOf('urn:glowfleet:fleet');
  const read = async (name: string) => session.read({ nodeId: `ns=${index};s=${name}`, attributeId: AttributeIds.Value });
  return { session, index, read };
}

const HEARD = exampleTile({ chamber: 'PC-01', state: 'productive', reason: 'run' });
const LOST = exampleTile({ chamber: 'PC-02', state: 'unobserved', reason: 'no data' });

test('a client reads state, phase, alarms and the numbers of the day, and a change within two seconds', async () => {
  const { endpoint, seen } = await serving([HEARD, LOST]);
  const { read } = await reader(endpoint);
  expect((await read('PC-01.EquipmentState')).value.value).toBe('productive');
  expect((await read('PC-01.Phase')).value.value).toBe(HEARD.phase);
  expect((await read('PC-01.StateSince')).value.value).toEqual(new Date(HEARD.stateSince));
  expect((await read('PC-01.Today.OperationalUtilization')).value.value).toBe(0.75);
  expect((await read('PC-01.Today.Loads')).value.value).toBe(7);
  seen.change([{ ...HEARD, state: 'unscheduled-downtime', reason: 'tripped' }]);
  await expect.poll(async () => (await read('PC-01.EquipmentState')).value.value, { timeout: 4_000 }).toBe('unscheduled-downtime');
});

test('what nobody knows is not served as good: unobserved by status, missing without a value', async () => {
  const { endpoint } = await serving([HEARD, LOST]);
  const { read } = await reader(endpoint);
  expect((await read('PC-02.EquipmentState')).value.value).toBe('unobserved');
  expect((await read('PC-02.Phase')).statusCode.name).toBe('UncertainLastUsableValue');
  const percent = await read('PC-02.Today.OperationalUtilization');
  expect([percent.statusCode.name, percent.value.value]).toEqual(['BadNoData', null]);
  expect((await read('PC-02.Today.Coverage')).value.value).toBe(0.8);
});

// OPC 40001-1 5.2 and annex C (example interpretation of SEMI E10).
test('chambers are machines in the manner of OPC 40001-1: found under Machines, with item state and operation mode', async () => {
  const { endpoint } = await serving([HEARD, LOST]);
  const { session, index } = await reader(endpoint);
  const machinery = (await session.readNamespaceArray()).indexOf('http://opcfoundation.org/UA/Machinery/');
  const machines = await session.browse(`ns=${machinery};i=1001`);
  expect(machines.references?.map(({ browseName }) => browseName.name).filter((name) => name?.startsWith('PC-'))).toEqual([
    'PC-01',
    'PC-02',
  ]);
  const stateOf = async (chamber: string, machine: string) => {
    const path = `/${index}:MachineryBuildingBlocks/${machinery}:${machine}/CurrentState`;
    return session.read({ nodeId: await browsePathToNodeId(session, `ns=${index};s=${chamber}`, path), attributeId: AttributeIds.Value });
  };
  expect((await stateOf('PC-01', 'MachineryItemState')).value.value).toMatchObject({ text: 'Executing' });
  expect((await stateOf('PC-01', 'MachineryOperationMode')).value.value).toMatchObject({ text: 'Processing' });
  expect((await stateOf('PC-02', 'MachineryItemState')).statusCode.name).toBe('BadNoCommunication');
});

test('nothing in it can be written', async () => {
  const { endpoint } = await serving([HEARD]);
  const { session, index } = await reader(endpoint);
  const value = { value: { dataType: DataType.String, value: 'standby' } };
  const status = await session.write({ nodeId: `ns=${index};s=PC-01.EquipmentState`, attributeId: AttributeIds.Value, value });
  expect([StatusCodes.BadNotWritable.name, StatusCodes.BadUserAccessDenied.name]).toContain(status.name);
});

test('a client that nobody trusted is refused where security is asked for', async () => {
  const { endpoint, thumbprint } = await serving([HEARD], { security: 'sign-and-encrypt' });
  // As in every list of certificates: 40 digits.
  expect(thumbprint).toMatch(/^[0-9A-F]{40}$/);
  await expect(client(endpoint, MessageSecurityMode.SignAndEncrypt)).rejects.toThrow(/Bad|rejected/);
  await expect(client(endpoint)).rejects.toThrow();
});

test('its process dies while its port is taken by another: it is tried until it is served again', { timeout: 90_000 }, async () => {
  const holder = createServer((socket) => socket.destroy());
  const hold = (port: number) => new Promise<void>((done) => holder.listen(port, '127.0.0.1', done));
  await hold(0);
  const { port } = holder.address() as AddressInfo;
  await new Promise((done) => holder.close(done));
  const { endpoint, server, log } = await serving([HEARD], { port });
  process.kill(server.pid ?? 0, 'SIGKILL');
  await expect.poll(() => server.pid, { timeout: 20_000, interval: 5 }).toBeNull();
  await hold(port);
  undo.push(() => new Promise((done) => holder.close(done)));
  await expect.poll(() => log.some((line) => /cannot listen on/.test(line)), { timeout: 40_000 }).toBe(true);
  await new Promise((done) => holder.close(done));
  const state = async (): Promise<unknown> => {
    const { read } = await reader(endpoint);
    return (await read('PC-01.EquipmentState')).value.value;
  };
  await expect.poll(() => state().catch(() => null), { timeout: 40_000, interval: 500 }).toBe('productive');
});

test('a port in use at the start is said with the cure, and it is served when the port is free', { timeout: 90_000 }, async () => {
  const { port, free } = await held();
  const { server, served, log } = await started([HEARD], { port });
  expect(served).toBeNull();
  expect(server.trouble).toMatch(/cannot listen on 127\.0\.0\.1:\d+.*Choose another port/);
  await free();
  await expect.poll(() => server.trouble, { timeout: 60_000 }).toBeNull();
  expect(await stateOf(port)).toBe('productive');
  // However often it was tried.
  expect(log.filter((line) => /cannot listen on/.test(line)).length).toBe(1);
});

test('a process that cannot be started at all is told and tried again like one that fails', { timeout: 90_000 }, async () => {
  const { execPath } = process;
  process.execPath = '/nowhere/at/all';
  const { server, served } = await started([HEARD]).finally(() => (process.execPath = execPath));
  expect([served, server.pid]).toEqual([null, null]);
  expect(server.trouble).toMatch(/ENOENT/);
  await expect.poll(() => server.trouble, { timeout: 60_000 }).toBeNull();
  expect(server.pid).not.toBeNull();
});
