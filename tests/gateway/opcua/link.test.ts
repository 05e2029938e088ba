import { rmSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { StatusCodes } from 'node-opcua';
import { afterEach, expect, test } from 'vitest';
import { systemClock } from '../../../gateway/clock.ts';
import { certificatesOn, trust } from '../../../gateway/opcua/certificate-store.ts';
import { openLink } from '../../../gateway/opcua/link.ts';
import type { OpcUaLink } from '../../../gateway/opcua/link.ts';
import type { SiteFile } from '../../../src/config.ts';
import { newFolder, nodeText, startFixture, startProxy } from './fixture-server.ts';
import type { Fixture, FixtureOptions } from './fixture-server.ts';
import { Heard, siteWith } from './heard.ts';

const undo: (() => Promise<unknown>)[] = [];
afterEach(async () => {
  for (const step of undo.splice(0).reverse()) await step();
});

async function fixture(options: FixtureOptions): Promise<Fixture> {
  const server = await startFixture(options);
  undo.push(() => server.close());
  return server;
}

async function link(
  site: SiteFile,
  more: { clock?: ReturnType<typeof systemClock>; pkiFolder?: string } = {},
): Promise<{ heard: Heard; link: OpcUaLink }> {
  const heard = new Heard();
  const opened = openLink({ site, clock: more.clock ?? systemClock(), pkiFolder: more.pkiFolder ?? newFolder(), events: heard.events });
  await opened.start();
  undo.push(() => opened.stop());
  return { heard, link: opened };
}

const PRESSURE = { path: 'A1/Pressure', type: 'Double', value: 100 } as const;
const pressureTag = { 'chamber.pressure': { node: nodeText('{path}/Pressure'), unit: 'mTorr' } };

test('first values arrive in SI with their source time, alarms as boolean, bit and condition', async () => {
  const server = await fixture({
    tags: [
      PRESSURE,
      { path: 'A1/RfFault', type: 'Boolean', value: true },
      { path: 'A1/Word', type: 'UInt32', value: 5 },
      { path: 'A1/Cycles', type: 'UInt64', value: [0, 1234] },
      { path: 'A1/Recipe', type: 'String', value: 'CLN-OA-10' },
    ],
    conditions: ['Overpressure', 'WaterLow'],
    refreshBrackets: true,
  });
  server.raise('Overpressure', true);
  const { heard } = await link(
    siteWith(server.port, {
      tags: { ...pressureTag, 'meter.cycles': { node: nodeText('{path}/Cycles') }, 'recipe.name': { node: nodeText('{path}/Recipe') } },
      alarms: {
        RF_FAULT: { text: 'RF fault', priority: 'high', from: { node: nodeText('{path}/RfFault') } },
        WATER: { text: 'Water', priority: 'low', from: { node: nodeText('{path}/Word'), bit: 0 } },
        AIR: { text: 'Air', priority: 'low', from: { node: nodeText('{path}/Word'), bit: 1 } },
        OVER: { text: 'Overpressure', priority: 'high', from: { condition: 'Overpressure' } },
        FLOW: { text: 'Water low', priority: 'high', from: { condition: 'WaterLow' } },
      },
      conditions: { notifier: nodeText('Chamber') },
    }),
  );
  await heard.until('all conditions', () => heard.last('alarm.OVER')?.value === true && heard.last('alarm.FLOW')?.value === false);
  await heard.until('pressure', () => heard.last('chamber.pressure') !== undefined);
  await heard.until('the slow ones', () => heard.last('meter.cycles') !== undefined && heard.last('recipe.name') !== undefined);
  expect(heard.last('chamber.pressure')).toMatchObject({ value: expect.closeTo(13.332236842, 8), quality: 'good', timeOrigin: 'source' });
  expect(['alarm.RF_FAULT', 'alarm.WATER', 'alarm.AIR', 'meter.cycles', 'recipe.name'].map((s) => heard.last(s)?.value)).toEqual([
    true,
    true,
    false,
    1234,
    'CLN-OA-10',
  ]);
  expect(heard.last('link.alive')?.value).toBe(true);
  heard.clear();
  server.set('A1/Word', 2);
  server.raise('Overpressure', false);
  server.raise('WaterLow', true);
  await heard.until(
    'changes',
    () => heard.last('alarm.OVER')?.value === false && heard.last('alarm.FLOW')?.value === true && heard.last('alarm.AIR')?.value === true,
  );
  expect(heard.of('alarm.WATER').map(({ value }) => value)).toEqual([false]);
});

// OPC 10000-9: SuppressedOrShelved (5.8.2) and AckedState (5.7.2) are told by events of their own while the alarm stands.
test('a condition tells that it is shelved and that it was acknowledged, each as it happens', async () => {
  const server = await fixture({ tags: [PRESSURE], conditions: ['Overpressure'] });
  const { heard } = await link(
    siteWith(server.port, {
      tags: pressureTag,
      alarms: { OVER: { text: 'Overpressure', priority: 'high', from: { condition: 'Overpressure' } } },
      conditions: { notifier: nodeText('Chamber') },
    }),
  );
  await heard.until('at rest', () => heard.last('alarm.OVER')?.value === false);
  server.raise('Overpressure', true);
  await heard.until('active', () => heard.last('alarm.OVER')?.value === true);
  expect([heard.last('alarm-suppressed.OVER')?.value, heard.last('alarm-acknowledged.OVER')?.value]).toEqual([false, false]);
  server.acknowledge('Overpressure');
  await heard.until('acknowledged', () => heard.last('alarm-acknowledged.OVER')?.value === true);
  server.shelve('Overpressure', true);
  await heard.until('shelved', () => heard.last('alarm-suppressed.OVER')?.value === true);
  server.raise('Overpressure', false);
  await heard.until('gone', () => heard.last('alarm.OVER')?.value === false);
  expect(heard.of('alarm.OVER').map(({ value }) => value)).toEqual([false, true, false]);
  expect(heard.last('alarm-suppressed.OVER')?.value).toBe(true);
});

test('bad status is a bad reading without a value, and a node that is not there is reported by name', async () => {
  const server = await fixture({ tags: [PRESSURE] });
  const { heard } = await link(
    siteWith(server.port, {
      tags: { ...pressureTag, 'pump.running': { node: nodeText('{path}/Nowhere') }, 'rf.enabled': { node: 'nsu=urn:quellmoor:other;s=X' } },
    }),
  );
  await heard.until('pressure', () => heard.last('chamber.pressure')?.quality === 'good');
  server.set('A1/Pressure', 7, new Date(), StatusCodes.BadSensorFailure);
  await heard.until('bad', () => heard.last('chamber.pressure')?.quality === 'bad');
  expect(heard.last('chamber.pressure')?.value).toBeNull();
  server.set('A1/Pressure', 7, new Date(), StatusCodes.UncertainSensorNotAccurate);
  await heard.until('uncertain', () => heard.last('chamber.pressure')?.quality === 'uncertain');
  await heard.until('bad tags', () => heard.status?.badTags.length === 2);
  expect(heard.status?.badTags).toEqual(
    expect.arrayContaining([
      { chamber: 'PC-01', signal: 'pump.running', reason: 'BadNodeIdUnknown: the server has no such node; correct it in the site file' },
      { chamber: 'PC-01', signal: 'rf.enabled', reason: 'namespace not on this server: correct nsu= of this node in the site file' },
    ]),
  );
  expect(heard.last('pump.running')).toMatchObject({ value: null, quality: 'bad' });
});

test('a server that takes 100 items a call serves 350 tags', async () => {
  const tags = Array.from({ length: 350 }, (_, i) => ({ path: `A1/Alarm${i}`, type: 'Boolean' as const, value: i % 2 === 0 }));
  const server = await fixture({ tags, itemLimit: 100 });
  const alarms = Object.fromEntries(
    tags.map((_, i) => [`ALARM_${i}`, { text: 'Alarm', priority: 'low', from: { node: nodeText(`{path}/Alarm${i}`) } }]),
  );
  const { heard } = await link(siteWith(server.port, { alarms }));
  await heard.until('all alarms', () => new Set(heard.readings.map(({ signal }) => signal)).size === 351);
  expect(heard.last('alarm.ALARM_348')?.value).toBe(true);
  expect(heard.status?.badTags).toEqual([]);
});

/** Twice the sampling interval: so no value is overwritten before it was sampled, but on a machine that stalls. */
const BEAT_MS = 500;

/** Steps a counter until stopped; returns how many steps were made. */
function counting(server: () => Fixture): () => number {
  let n = 0;
  const timer = setInterval(() => server().set('A1/Beat', ++n), BEAT_MS);
  undo.push(async () => clearInterval(timer));
  return () => (clearInterval(timer), n);
}
const BEAT = { path: 'A1/Beat', type: 'UInt32', value: 0 } as const;
const beatTag = { 'controller.heartbeat': { node: nodeText('{path}/Beat'), sampling: 'fast' } };

test('a cut of two seconds loses no value', async () => {
  const server = await fixture({ tags: [BEAT] });
  const proxy = await startProxy(() => server.port);
  undo.push(() => proxy.close());
  const { heard } = await link(siteWith(proxy.port, { tags: beatTag }));
  await heard.until('first', () => heard.last('controller.heartbeat')?.value === 0);
  const stop = counting(() => server);
  await heard.until('5 beats', () => Number(heard.last('controller.heartbeat')?.value) >= 5);
  proxy.cut();
  await new Promise((resolve) => setTimeout(resolve, 2000));
  proxy.heal();
  await heard.until('20 beats', () => Number(heard.last('controller.heartbeat')?.value) >= 20);
  const n = stop();
  await heard.until('the last', () => heard.of('controller.heartbeat').some(({ value }) => value === n));
  const values = new Set(heard.of('controller.heartbeat').map(({ value }) => value));
  // One that a stalled machine overwrote before it was sampled is no loss; a lost message has more than one.
  const missing = Array.from({ length: n }, (_, i) => i + 1).filter((i) => !values.has(i));
  expect(missing.filter((i) => missing.includes(i + 1))).toEqual([]);
  expect(heard.status?.counters.overflows).toBe(0);
}, 40_000);

// OPC 10000-4 5.14.6: a message that did not arrive is kept by the server until it is acknowledged, and sent again when asked for.
test('a message that never arrived is asked for again, and no time is unobserved for it', async () => {
  const server = await fixture({ tags: [BEAT] });
  const { heard } = await link(siteWith(server.port, { tags: beatTag }));
  await heard.until('first', () => heard.last('controller.heartbeat')?.value === 0);
  heard.clear();
  server.loseMessage(false);
  server.set('A1/Beat', 1);
  await heard.until('what was lost', () => heard.last('controller.heartbeat')?.value === 1);
  server.set('A1/Beat', 2);
  await heard.until('the next', () => heard.last('controller.heartbeat')?.value === 2);
  expect(heard.of('controller.heartbeat').map(({ value }) => value)).toEqual([1, 2]);
  expect(heard.of('link.alive').filter(({ value }) => value === false)).toEqual([]);
  expect(heard.status?.counters.sequenceGaps).toBe(0);
});

test('a message that the server has no more is a hole, and what holds now is read', async () => {
  const server = await fixture({ tags: [BEAT] });
  const { heard } = await link(siteWith(server.port, { tags: beatTag }));
  await heard.until('first', () => heard.last('controller.heartbeat')?.value === 0);
  heard.clear();
  server.loseMessage(true);
  server.set('A1/Beat', 1);
  await heard.until('the hole', () => heard.of('link.alive').some(({ value }) => value === false));
  await heard.until('what holds now', () => heard.last('controller.heartbeat')?.value === 1 && heard.last('link.alive')?.value === true);
  await heard.until('its count', () => heard.status?.counters.sequenceGaps === 1);
});

test('silence is told within 15 s, dated at the last word, and closed again when nothing was lost', async () => {
  const server = await fixture({ tags: [BEAT] });
  const proxy = await startProxy(() => server.port);
  undo.push(() => proxy.close());
  const { heard } = await link(siteWith(proxy.port, { tags: beatTag }));
  const stop = counting(() => server);
  await heard.until('beats', () => Number(heard.last('controller.heartbeat')?.value) >= 5);
  const lastWord = heard.readings.at(-1)?.receivedAt ?? 0;
  const cutAt = Date.now();
  heard.clear();
  proxy.swallow();
  await heard.until('silence', () => heard.last('link.alive')?.value === false);
  expect(Date.now() - cutAt).toBeLessThan(15_000);
  const silence = heard.last('link.alive');
  expect(Math.abs((silence?.at ?? 0) - Math.max(lastWord, cutAt))).toBeLessThan(1000);
  expect(heard.status?.state).toBe('silent');
  proxy.heal();
  await heard.until(
    'word again',
    () => heard.last('link.alive')?.value === true && (heard.last('link.alive')?.at ?? 0) > Date.now() - 2000,
  );
  const n = stop();
  await heard.until('the last', () => heard.of('controller.heartbeat').some(({ value }) => value === n));
  expect(heard.of('link.alive').find(({ value, at }) => value === true && at === (silence?.at ?? 0) + 1)).toBeDefined();
  const late = heard.of('controller.heartbeat').filter(({ at }) => at > cutAt + 1000 && at < cutAt + 4000);
  expect(late.length).toBeGreaterThan(3000 / BEAT_MS / 2);
}, 60_000);

test('after a restart with its namespace moved the server is read again, and the hole is told', async () => {
  let server = await startFixture({ tags: [PRESSURE] });
  const { port } = server;
  const { heard } = await link(siteWith(port, { tags: pressureTag }));
  await heard.until('value', () => heard.last('chamber.pressure')?.quality === 'good');
  await server.close();
  heard.clear();
  server = await startFixture({ tags: [{ ...PRESSURE, value: 200 }], port, namespacesBefore: 1 });
  undo.push(() => server.close());
  await heard.until('value after restart', () => Number(heard.last('chamber.pressure')?.value) > 26, 40_000);
  const alive = heard.of('link.alive').map(({ value }) => value);
  expect(alive.indexOf(false)).toBeGreaterThanOrEqual(0);
  expect(alive.lastIndexOf(true)).toBeGreaterThan(alive.indexOf(false));
}, 60_000);

test('a device clock 87 s slow is measured and not believed', async () => {
  const server = await fixture({ tags: [PRESSURE] });
  const { heard } = await link(
    siteWith(server.port, { tags: { 'chamber.pressure': { ...pressureTag['chamber.pressure'], sampling: 'fast' } } }),
  );
  let n = 0;
  const timer = setInterval(() => server.set('A1/Pressure', ++n, new Date(Date.now() - 87_000)), 300);
  undo.push(async () => clearInterval(timer));
  await heard.until('not the source clock', () => heard.last('chamber.pressure')?.timeOrigin !== 'source' && n > 12, 20_000);
  const last = heard.last('chamber.pressure');
  expect(Math.abs((last?.at ?? 0) - (last?.receivedAt ?? 0))).toBeLessThan(5000);
  await heard.until('skew', () => Math.abs((heard.status?.skewMs ?? 0) + 87_000) < 2000);
});

test('a link process that dies is started again, and the time between is told as unheard', async () => {
  const server = await fixture({ tags: [PRESSURE] });
  const { heard, link: opened } = await link(siteWith(server.port, { tags: pressureTag }));
  await heard.until('value', () => heard.last('link.alive')?.value === true);
  const first = opened.pids[0] ?? 0;
  heard.clear();
  process.kill(first, 'SIGKILL');
  await heard.until('unheard', () => heard.last('link.alive')?.value === false);
  await heard.until('value again', () => heard.last('chamber.pressure')?.quality === 'good');
  expect(opened.pids[0]).not.toBe(first);
});

test('an unknown server certificate is refused with the way to trust it, and the cure works', async () => {
  const server = await fixture({ tags: [PRESSURE], secure: true });
  const pkiFolder = newFolder();
  const site = siteWith(server.port, { tags: pressureTag }, { server: { security: 'sign-and-encrypt' } });
  const { heard } = await link(site, { pkiFolder });
  await heard.until('refused', () => heard.status?.state === 'refused');
  const [, folder, digits] =
    /not trusted yet.*thumbprint [0-9A-F]{40} .*glowfleet trust --data ("?.+"?) ([0-9A-F]{8})$/.exec(heard.status?.message ?? '') ?? [];
  expect(folder?.replaceAll('"', '')).toBe(dirname(pkiFolder));
  expect(heard.of('chamber.pressure')).toEqual([]);
  await expect.poll(() => certificatesOn(pkiFolder, 'rejected').length).toBe(1);
  trust(pkiFolder, digits ?? '', Date.now());
  await heard.until('trusted', () => heard.last('chamber.pressure')?.quality === 'good', 30_000);
}, 60_000);

test('a server that offers only no security is not read when security is asked for', async () => {
  const server = await fixture({ tags: [PRESSURE] });
  const { heard } = await link(siteWith(server.port, { tags: pressureTag }, { server: { security: 'sign-and-encrypt' } }));
  await heard.until('refused', () => heard.status?.state === 'refused', 20_000);
  expect(heard.of('chamber.pressure')).toEqual([]);
}, 30_000);

test('a folder of certificates that cannot be read ends no process, is said, and read again once it is mended', async () => {
  const before = await startFixture({ tags: [PRESSURE] });
  await before.close();
  const pkiFolder = newFolder();
  const { heard, link: opened } = await link(siteWith(before.port, { tags: pressureTag }), { pkiFolder });
  await heard.until('nothing answers', () => heard.status?.state === 'refused');
  const pids = opened.pids;
  rmSync(join(pkiFolder, 'trusted'), { recursive: true });
  writeFileSync(join(pkiFolder, 'trusted'), 'a file where a folder must be');
  await heard.until('told', () => heard.status?.message.includes('trusted') === true, 40_000);
  rmSync(join(pkiFolder, 'trusted'));
  await fixture({ tags: [PRESSURE], port: before.port });
  await heard.until('value', () => heard.last('chamber.pressure')?.quality === 'good', 60_000);
  expect(opened.pids).toEqual(pids);
}, 120_000);

test('a port where nothing answers is said in a sentence', async () => {
  const { heard } = await link(siteWith(48799, { tags: pressureTag }));
  await heard.until('refused', () => heard.status?.state === 'refused', 20_000);
  expect(heard.status?.message).toBe('Nothing answers at opc.tcp://127.0.0.1:48799. Is plc-1 running, and is its port right?');
});

test('the gateway only reads: no service but connecting, browsing, reading, subscribing and the condition refresh is ever asked', async () => {
  const server = await fixture({ tags: [PRESSURE], conditions: ['Overpressure'] });
  const { heard, link: opened } = await link(
    siteWith(server.port, {
      tags: pressureTag,
      alarms: { OVER: { text: 'Over', priority: 'high', from: { condition: 'Overpressure' } } },
      conditions: { notifier: nodeText('Chamber') },
    }),
  );
  await heard.until('condition', () => heard.last('alarm.OVER')?.value === false);
  await opened.stop();
  const allowed =
    /^(GetEndpoints|OpenSecureChannel|CloseSecureChannel|CreateSession|ActivateSession|CloseSession|Read|Browse|BrowseNext|TranslateBrowsePathsToNodeIds|CreateSubscription|DeleteSubscriptions|CreateMonitoredItems|Publish|Republish|TransferSubscriptions|Call)Request$/;
  expect(server.requests.length).toBeGreaterThan(5);
  expect(server.requests.filter((name) => !allowed.test(name))).toEqual([]);
  expect(new Set(server.calls)).toEqual(new Set(['ns=0;i=3875']));
  expect(server.requests).toContain('CloseSessionRequest');
});
