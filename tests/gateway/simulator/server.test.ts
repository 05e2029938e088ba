import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { AttributeIds, constructEventFilter, type DataValue, makeBrowsePath, resolveNodeId } from 'node-opcua';
import { afterAll, afterEach, beforeAll, expect, test } from 'vitest';
import type { Clock } from '../../../gateway/clock.ts';
import { quietLibrary } from '../../../gateway/simulator/quiet.ts';
import { type ProcessImage, processImage } from '../../../gateway/simulator/process-image.ts';
import { SimulatedServers } from '../../../gateway/simulator/server.ts';
import { connectTo, type TestClient, until, watch, watchEvents } from './client.ts';
import { COUNTER, DOOR, fakeChamber, type FakePlant, fakePlant, PRESSURE, RECIPE, WORD } from './fake-plant.ts';

const AT = Date.UTC(2026, 10, 25, 8, 0, 0);
const OVERHEAT = { name: 'CHILLER_FAULT', message: 'Chiller not ready', severity: 700 };

let folder: string;
let plant: FakePlant;
let servers: SimulatedServers;
let image: ProcessImage;
let urls: Readonly<Record<string, string>>;
let opened: TestClient[] = [];
const clock: Clock = { now: () => AT, steadyMs: () => performance.now(), speed: 1 };
const errors: unknown[] = [];

beforeAll(async () => {
  quietLibrary(() => {});
  folder = await mkdtemp(join(tmpdir(), 'hall 3 '));
  plant = fakePlant([fakeChamber('PC-01', 'amber'), fakeChamber('PC-02', 'amber'), fakeChamber('PC-11', 'cedar-11', [OVERHEAT])], AT);
  image = processImage(plant.chambers);
  servers = new SimulatedServers({ plant, clock, image, basePort: 0, folder, onError: (error) => errors.push(error) });
  urls = await servers.listen();
  servers.run();
});

afterEach(async () => {
  for (const client of opened) await client.close();
  opened = [];
  expect(errors).toEqual([]);
});

afterAll(async () => {
  await servers.stop();
  await rm(folder, { recursive: true });
});

async function open(server: string, options: { secure?: boolean; reconnect?: boolean } = {}): Promise<TestClient> {
  const client = await connectTo(urls[server] as string, folder, options);
  opened.push(client);
  return client;
}

/** ns index of the plant as this session's server has it now. */
async function node(client: TestClient, path: string): Promise<string> {
  const namespaces = await client.session.readNamespaceArray();
  return `ns=${namespaces.indexOf('urn:quellmoor:hall-3')};s=${path}`;
}

async function read(client: TestClient, path: string): Promise<DataValue> {
  // maxAge is left at the library's default so that the server's own timestamp comes back untouched
  return client.session.read({ nodeId: await node(client, path), attributeId: AttributeIds.Value });
}

test('chambers with the same server name share an endpoint and others do not have them', async () => {
  expect(Object.keys(urls)).toEqual(['amber', 'cedar-11']);
  const amber = await open('amber');
  expect((await read(amber, 'PC-02/Chamber/Pressure')).statusCode.name).not.toBe('BadNodeIdUnknown');
  expect((await read(amber, 'PC-11/Chamber/Pressure')).statusCode.name).toBe('BadNodeIdUnknown');
});

test('every type of tag comes over as it was told, with the device clock as source and plant time as server timestamp', async () => {
  const cedar = await open('cedar-11');
  const got: Record<number, DataValue> = {};
  const paths = ['Chamber/Pressure', 'Chamber/DoorClosed', 'Alarms/Word', 'Meters/Pulses', 'Recipe/Name'];
  const tags = [PRESSURE, DOOR, WORD, COUNTER, RECIPE];
  await watch(cedar.session, await Promise.all(paths.map((path) => node(cedar, `PC-11/${path}`))), (index, value) => (got[index] = value));
  const values = [93.5, true, 0x8000_0005, 2 ** 33 + 7, 'DSM-EP-25'];
  plant.tell((sink) => tags.forEach((tag, i) => sink.tag(2, tag, values[i] as number, AT + 1000, AT - 86_000)));
  await until(() => got[4]?.value.value === 'DSM-EP-25');
  expect(got[0]?.value.value).toBe(93.5);
  expect(got[1]?.value.value).toBe(true);
  expect([0, 2, 31].map((bit) => ((got[2]?.value.value as number) >>> bit) & 1)).toEqual([1, 1, 1]);
  expect([1, 30].map((bit) => ((got[2]?.value.value as number) >>> bit) & 1)).toEqual([0, 0]);
  expect(got[3]?.value.value).toEqual([2, 7]); // 64-bit as [high, low]
  for (const value of Object.values(got)) {
    expect(value.sourceTimestamp?.getTime()).toBe(AT - 86_000);
    expect(value.serverTimestamp?.getTime()).toBe(AT + 1000);
  }
});

test('analog tags carry range and unit: UNECE ids where the code list has the unit, -1 and the text where not', async () => {
  const amber = await open('amber');
  const children = async (path: string) => {
    const result = await amber.session.browse({
      nodeId: await node(amber, path),
      referenceTypeId: 'HasProperty',
      includeSubtypes: true,
      resultMask: 63,
    });
    return Object.fromEntries((result.references ?? []).map((reference) => [reference.browseName.name, reference.nodeId]));
  };
  const property = async (path: string, name: string) =>
    (await amber.session.read({ nodeId: (await children(path))[name] as never })).value.value;
  // unitId of W (WTT) and degree Celsius (CEL): UNECE_to_OPCUA.csv of OPCFoundation/UA-Nodeset
  expect(await property('PC-01/RF/Forward', 'EngineeringUnits')).toMatchObject({ unitId: 5723220, displayName: { text: 'W' } });
  expect(await property('PC-01/Chamber/Temperature', 'EngineeringUnits')).toMatchObject({ unitId: 4408652, displayName: { text: '°C' } });
  expect(await property('PC-01/Chamber/Pressure', 'EngineeringUnits')).toMatchObject({ unitId: -1, displayName: { text: 'mTorr' } });
  expect(await property('PC-01/Gas/1/Flow', 'EngineeringUnits')).toMatchObject({ unitId: -1, displayName: { text: 'sccm' } });
  expect(await property('PC-01/Gas/1/Flow', 'EURange')).toMatchObject({ low: 0, high: 500 });
});

test('nothing can be written: a watcher and anybody else is refused', async () => {
  const amber = await open('amber');
  const status = await amber.session.write({
    nodeId: await node(amber, 'PC-01/RF/Forward'),
    attributeId: AttributeIds.Value,
    value: { value: { dataType: 'Double', value: 1 } },
  } as never);
  expect(status.name).toBe('BadNotWritable');
});

test('every change reaches a client with sampling interval 0, also thousands of them in one beat', async () => {
  const amber = await open('amber');
  const got: number[] = [];
  await watch(amber.session, [await node(amber, 'PC-01/Chamber/Pressure')], (_, value) => got.push(value.value.value as number));
  for (let beat = 0; beat < 5; beat++) {
    plant.tell((sink) => {
      for (let i = 0; i < 600; i++) sink.tag(0, PRESSURE, beat * 600 + i, AT + i, AT + i);
    });
    await until(() => got.at(-1) === beat * 600 + 599);
  }
  expect(got.slice(-3000)).toEqual(Array.from({ length: 3000 }, (_, i) => i));
});

test('the server clock is the real one, and is off where its one controller is off', async () => {
  plant.tell((sink) => sink.tag(2, PRESSURE, 1, AT, AT - 87_000));
  await until(() => image.clockOffsetMs(2) === -87_000);
  const skewOf = async (server: string): Promise<number> => {
    const { session } = await open(server);
    const from = Date.now();
    const said = (await session.read({ nodeId: resolveNodeId('Server_ServerStatus_CurrentTime') })).value.value as Date;
    return said.getTime() - (from + Date.now()) / 2;
  };
  expect(Math.abs(await skewOf('amber'))).toBeLessThan(1000);
  expect(Math.abs((await skewOf('cedar-11')) + 87_000)).toBeLessThan(1000);
});

const FIELDS = ['EventType', 'ConditionName', 'Severity', 'Message', 'Time', 'Retain', 'ActiveState.Id', 'AckedState.Id', 'SourceName'];
const REFRESH_START = 'ns=0;i=2787'; // RefreshStartEventType, OPC 10000-9
const REFRESH_END = 'ns=0;i=2788';

test('an alarm is an OPC UA condition of its chamber: raised, cleared, and told again by ConditionRefresh while it stands', async () => {
  const cedar = await open('cedar-11');
  const events: unknown[][] = [];
  const sub = await watchEvents(cedar.session, await node(cedar, 'PC-11'), constructEventFilter(FIELDS), (fields) =>
    events.push([...fields]),
  );
  const named = (index: number) => Object.fromEntries(FIELDS.map((field, i) => [field, events[index]?.[i]]));
  const refresh = () =>
    cedar.session.call({
      objectId: 'ns=0;i=2782',
      methodId: 'ns=0;i=3875',
      inputArguments: [{ dataType: 'UInt32', value: sub.subscriptionId }],
    } as never);

  plant.tell((sink) => sink.condition(2, 0, true, AT + 2000, AT + 1000));
  await until(() => events.length === 1);
  expect(named(0)).toMatchObject({
    ConditionName: 'CHILLER_FAULT',
    Severity: 700,
    Retain: true,
    'ActiveState.Id': true,
    'AckedState.Id': false,
    SourceName: 'PC-11',
  });
  expect((named(0)['Time'] as Date).getTime()).toBe(AT + 1000);
  expect((named(0)['Message'] as { text: string }).text).toBe('Chiller not ready');

  expect((await refresh()).statusCode.name).toBe('Good');
  await until(() => events.length === 4);
  expect(events.slice(1).map((fields) => String(fields[0]))).toEqual([REFRESH_START, String(events[0]?.[0]), REFRESH_END]);
  expect(named(2)).toMatchObject({ ConditionName: 'CHILLER_FAULT', Retain: true, 'ActiveState.Id': true });

  plant.tell((sink) => sink.condition(2, 0, false, AT + 9000, AT + 8000));
  await until(() => events.length === 5);
  expect(named(4)).toMatchObject({ Retain: false, 'ActiveState.Id': false, 'AckedState.Id': true });
  await refresh();
  await until(() => events.length === 7);
  expect(events.slice(5).map((fields) => String(fields[0]))).toEqual([REFRESH_START, REFRESH_END]);
});

test('an encrypted session works through the link proxy', async () => {
  const amber = await open('amber', { secure: true });
  plant.tell((sink) => sink.tag(0, PRESSURE, 42, AT, AT));
  await until(() => image.valueOf(0, PRESSURE)?.value === 42);
  expect((await read(amber, 'PC-01/Chamber/Pressure')).value.value).toBe(42);
  const policies = new Set((await amber.client.getEndpoints()).map((endpoint) => endpoint.securityPolicyUri?.split('#')[1]));
  expect([...policies].sort()).toEqual(['Basic256Sha256', 'None']);
  const addresses = new Set((await amber.client.getEndpoints()).map((endpoint) => endpoint.endpointUrl));
  expect([...addresses]).toEqual([urls['amber']]); // never the port behind the proxy
});

test('a dropped link cuts this server only, refuses until it is up, then serves the same values', async () => {
  const amber = await open('amber', { reconnect: true });
  const cedar = await open('cedar-11');
  const lost = new Promise<void>((resolve) => amber.client.once('connection_lost', () => resolve()));
  const back = new Promise<void>((resolve) => amber.client.once('connection_reestablished', () => resolve()));
  plant.tell((sink) => sink.tag(0, PRESSURE, 7, AT, AT));
  plant.tell((sink) => sink.link('amber', 'drop', AT));
  await Promise.race([lost, afterMs(1500)]); // cut at once, not noticed by a timeout
  await expect(connectTo(urls['amber'] as string, folder)).rejects.toThrow();
  expect((await read(cedar, 'PC-11/Chamber/Pressure')).statusCode.name).toBeDefined();
  plant.tell((sink) => sink.link('amber', 'up', AT));
  await back;
  expect((await read(amber, 'PC-01/Chamber/Pressure')).value.value).toBe(7);
});

test('a half-open link answers nothing and closes nothing, and is cut when it ends', async () => {
  const amber = await open('amber');
  let lost = false;
  amber.client.on('connection_lost', () => (lost = true));
  const path = await node(amber, 'PC-01/Chamber/Pressure');
  plant.tell((sink) => sink.link('amber', 'half-open', AT));
  let heard = false;
  await watchUntilSilent(amber, path);
  amber.session.read({ nodeId: path }).then(
    () => (heard = true),
    () => {},
  );
  await new Promise((resolve) => setTimeout(resolve, 700)); // a silence can only be waited for
  expect({ heard, lost }).toEqual({ heard: false, lost: false });
  plant.tell((sink) => sink.link('amber', 'up', AT));
  await until(() => lost, 1500);
  const again = await open('amber');
  expect((await read(again, 'PC-01/Chamber/Pressure')).statusCode.name).toBeDefined();
});

function afterMs(ms: number): Promise<never> {
  return new Promise((_, reject) => setTimeout(() => reject(new Error(`nothing within ${ms} ms`)), ms).unref());
}

/** The order reaches the proxy at the next beat. */
async function watchUntilSilent(client: TestClient, path: string): Promise<void> {
  for (;;) {
    const answer = client.session.read({ nodeId: path }).then(
      () => 'heard',
      () => 'failed',
    );
    const silence = new Promise((resolve) => setTimeout(() => resolve('silent'), 250));
    if ((await Promise.race([answer, silence])) !== 'heard') return;
  }
}

test('a restart keeps address and values, and moves the namespace index, so that old node ids fail', async () => {
  const cedar = await open('cedar-11');
  plant.tell((sink) => sink.tag(2, PRESSURE, 11, AT, AT - 87_000));
  plant.tell((sink) => sink.condition(2, 0, true, AT, AT));
  await until(() => image.conditionOf(2, 0) !== null);
  const before = await node(cedar, 'PC-11/Chamber/Pressure');
  const lost = new Promise((resolve) => cedar.client.once('close', resolve));
  plant.tell((sink) => sink.link('cedar-11', 'restart', AT));
  await lost;
  await expect(connectTo(urls['cedar-11'] as string, folder)).rejects.toThrow(); // away until its link is up
  plant.tell((sink) => sink.link('cedar-11', 'up', AT));
  const again = await connected('cedar-11');
  expect((await again.session.read({ nodeId: before })).statusCode.name).toBe('BadNodeIdUnknown');
  const value = await read(again, 'PC-11/Chamber/Pressure');
  expect(value.value.value).toBe(11);
  expect(value.sourceTimestamp?.getTime()).toBe(AT - 87_000);
  const condition = await node(again, 'PC-11/Conditions/CHILLER_FAULT');
  const path = await again.session.translateBrowsePath(makeBrowsePath(condition, '.ActiveState.Id'));
  expect((await again.session.read({ nodeId: path.targets?.[0]?.targetId as never })).value.value).toBe(true);
});

async function connected(server: string): Promise<TestClient> {
  for (let attempt = 0; attempt < 50; attempt++) {
    try {
      return await open(server);
    } catch {
      await new Promise((resolve) => setTimeout(resolve, 100));
    }
  }
  throw new Error(`${server} did not come back`);
}
