/** Faults that real controllers have, seeded into a real server: each harms only what it touches, and the link goes on. */
import { readFile } from 'node:fs/promises';
import { afterEach, describe, expect, test } from 'vitest';
import { OPCUAClient } from 'node-opcua';
import { systemClock } from '../../../gateway/clock.ts';
import { openLink } from '../../../gateway/opcua/link.ts';
import type { SiteFile } from '../../../src/config.ts';
import { newFolder, nodeText, startFixture, startProxy, type Fixture, type FixtureOptions, type FixtureTag } from './fixture-server.ts';
import { Heard, siteWith } from './heard.ts';

const undo: (() => unknown)[] = [];
afterEach(async () => {
  for (const step of undo.splice(0).reverse()) await step();
});

async function fixture(options: FixtureOptions): Promise<Fixture> {
  const server = await startFixture(options);
  undo.push(() => server.close());
  return server;
}

async function linked(site: SiteFile): Promise<{ heard: Heard; pids: () => readonly number[] }> {
  const heard = new Heard();
  const link = openLink({ site, clock: systemClock(), pkiFolder: newFolder(), events: heard.events });
  await link.start();
  undo.push(() => link.stop());
  return { heard, pids: () => link.pids };
}

const PRESSURE: FixtureTag = { path: 'A1/Pressure', type: 'Double', value: 100 };
const DOOR: FixtureTag = { path: 'A1/Door', type: 'Boolean', value: true };
const RECIPE: FixtureTag = { path: 'A1/Recipe', type: 'String', value: 'CLN-OA-10' };
const template = {
  tags: {
    'chamber.pressure': { node: nodeText('{path}/Pressure'), unit: 'Pa', sampling: 'fast' },
    'chamber.doorClosed': { node: nodeText('{path}/Door') },
    'recipe.name': { node: nodeText('{path}/Recipe') },
  },
};

const alarmsOf = (count: number) => ({
  tags: Array.from({ length: count }, (_, i): FixtureTag => ({ path: `A1/Alarm${i}`, type: 'Boolean', value: i % 2 === 0 })),
  alarms: Object.fromEntries(
    Array.from({ length: count }, (_, i) => [
      `ALARM_${i}`,
      { text: 'Alarm', priority: 'low', from: { node: nodeText(`{path}/Alarm${i}`) } },
    ]),
  ),
});
const allHeard = (heard: Heard, count: number): boolean =>
  new Set(heard.readings.filter(({ signal }) => signal.startsWith('alarm.')).map(({ signal }) => signal)).size === count;

describe('a small controller', () => {
  test('that takes ten items a call serves 120 tags', async () => {
    const { tags, alarms } = alarmsOf(120);
    const server = await fixture({ tags, itemLimit: 10 });
    const { heard } = await linked(siteWith(server.port, { alarms }));
    await heard.until('all alarms', () => allHeard(heard, 120));
    expect(heard.status?.badTags).toEqual([]);
  });

  test('with message buffers of 8 KB serves 300 tags', async () => {
    const { tags, alarms } = alarmsOf(300);
    const server = await fixture({ tags, bufferBytes: 8192 });
    const { heard } = await linked(siteWith(server.port, { alarms }));
    await heard.until('all alarms', () => allHeard(heard, 300));
    expect(heard.status?.badTags).toEqual([]);
  });

  test('whose sessions are all taken is named with the cure, and read as soon as one is free', { timeout: 60_000 }, async () => {
    const server = await fixture({ tags: [PRESSURE, DOOR, RECIPE], maxSessions: 1 });
    const other = OPCUAClient.create({ endpointMustExist: false, connectionStrategy: { maxRetry: 0 } });
    await other.connect(`opc.tcp://127.0.0.1:${server.port}`);
    const session = await other.createSession();
    await session.read({ nodeId: 'i=2258' });
    const { heard } = await linked(siteWith(server.port, template));
    await heard.until('refused', () => /no free session/.test(heard.status?.message ?? ''));
    await heard.until('said to be silent', () => heard.last('link.alive')?.value === false);
    await session.close();
    await other.disconnect();
    await heard.until('read after all', () => heard.last('chamber.pressure')?.quality === 'good', 40_000);
  });
});

describe('a tag', () => {
  test('that vanishes is bad from then on, and no other with it', async () => {
    const server = await fixture({ tags: [PRESSURE, DOOR, RECIPE] });
    const { heard } = await linked(siteWith(server.port, template));
    await heard.until('first values', () => heard.last('chamber.doorClosed') !== undefined && heard.last('chamber.pressure') !== undefined);
    server.remove('A1/Pressure');
    await heard.until('bad', () => heard.last('chamber.pressure')?.quality === 'bad');
    expect(heard.last('chamber.pressure')?.value).toBeNull();
    server.set('A1/Door', false);
    await heard.until('the door still speaks', () => heard.last('chamber.doorClosed')?.value === false);
    expect(heard.last('link.alive')?.value).toBe(true);
  });

  test('that changes its type is bad, never a number made of a text', async () => {
    const server = await fixture({ tags: [PRESSURE, DOOR, RECIPE] });
    const { heard } = await linked(siteWith(server.port, template));
    await heard.until('first value', () => heard.last('chamber.pressure')?.value === 100);
    server.retype('A1/Pressure', 'String', '123');
    await heard.until('bad', () => heard.last('chamber.pressure')?.quality === 'bad');
    expect(heard.readings.filter(({ signal, value }) => signal === 'chamber.pressure' && (value === 123 || value === '123'))).toEqual([]);
  });

  test('that says NaN or infinity is bad, and good again with its next number', async () => {
    const server = await fixture({ tags: [PRESSURE, DOOR, RECIPE] });
    const { heard } = await linked(siteWith(server.port, template));
    await heard.until('first value', () => heard.last('chamber.pressure')?.value === 100);
    for (const value of [Number.NaN, Number.POSITIVE_INFINITY]) {
      heard.clear();
      server.set('A1/Pressure', value);
      await heard.until(`bad by ${value}`, () => heard.last('chamber.pressure')?.quality === 'bad');
      server.set('A1/Pressure', 101);
      await heard.until('good', () => heard.last('chamber.pressure')?.value === 101);
    }
  });

  test('with a text of a megabyte, or one that plays tricks on a screen, does no harm', async () => {
    const server = await fixture({ tags: [PRESSURE, DOOR, RECIPE] });
    const { heard } = await linked(siteWith(server.port, template));
    await heard.until('first value', () => heard.last('recipe.name')?.value === 'CLN-OA-10');
    server.set('A1/Recipe', 'x'.repeat(1_000_000));
    await heard.until('bad', () => heard.last('recipe.name')?.quality === 'bad');
    server.set('A1/Recipe', '\u202e<script>alert(1)</script>\u0000\n');
    await heard.until('one plain line', () => heard.last('recipe.name')?.value === '<script>alert(1)</script>');
    expect(heard.last('link.alive')?.value).toBe(true);
  });
});

/** A device clock that was right for so long that it is believed. */
async function believed(server: Fixture, heard: Heard): Promise<void> {
  let n = 1000;
  const right = setInterval(() => server.set('A1/Pressure', n++), 100);
  undo.push(() => clearInterval(right));
  const fromSource = () => heard.of('chamber.pressure').filter(({ timeOrigin }) => timeOrigin === 'source');
  await heard.until('it is believed', () => fromSource().length > 60, 60_000);
  clearInterval(right);
}

describe('time', () => {
  test('a device clock that steps ahead by five minutes puts nothing into the future', { timeout: 90_000 }, async () => {
    const server = await fixture({ tags: [PRESSURE, DOOR, RECIPE] });
    const { heard } = await linked(siteWith(server.port, template));
    await heard.until('first value', () => heard.last('chamber.pressure')?.value === 100);
    await believed(server, heard);
    for (let i = 0; i < 12; i++) {
      server.set('A1/Pressure', 200 + i, new Date(Date.now() + 300_000));
      await new Promise((done) => setTimeout(done, 100));
    }
    await heard.until('the last', () => heard.last('chamber.pressure')?.value === 211);
    expect(Math.max(...heard.of('chamber.pressure').map(({ at, receivedAt }) => at - receivedAt))).toBeLessThanOrEqual(5_000);
  });

  test('a device clock that steps back goes on in the order of receipt once it is known to be off', { timeout: 120_000 }, async () => {
    const server = await fixture({ tags: [PRESSURE, DOOR, RECIPE] });
    const { heard } = await linked(siteWith(server.port, template));
    await heard.until('first value', () => heard.last('chamber.pressure')?.value === 100);
    await believed(server, heard);
    let n = 0;
    const timer = setInterval(() => server.set('A1/Pressure', ++n, new Date(Date.now() - 3_600_000)), 150);
    undo.push(() => clearInterval(timer));
    await heard.until('not the source clock', () => heard.last('chamber.pressure')?.timeOrigin !== 'source' && n > 15, 60_000);
    const [a, b] = heard.of('chamber.pressure').slice(-2);
    expect((b?.at ?? 0) - (a?.at ?? 0)).toBeGreaterThan(0);
  });
});

test('a storm of ten times what is usual keeps the link, tells what was lost, and leaves memory flat', { timeout: 90_000 }, async () => {
  const tags = Array.from({ length: 60 }, (_, i): FixtureTag => ({ path: `A1/T${i}`, type: 'Boolean', value: false }));
  const alarms = Object.fromEntries(
    tags.map((_, i) => [`A_${i}`, { text: 'Alarm', priority: 'low', from: { node: nodeText(`{path}/T${i}`) } }]),
  );
  const server = await fixture({ tags: [...tags, PRESSURE] });
  const { heard, pids } = await linked(siteWith(server.port, { alarms, tags: { 'chamber.pressure': template.tags['chamber.pressure'] } }));
  await heard.until('all', () => allHeard(heard, 60));
  const memory = async (): Promise<number> => {
    return Number(/VmRSS:\s+(\d+)/.exec(await readFile(`/proc/${pids()[0]}/status`, 'utf8'))?.[1]) / 1024;
  };
  const storm = async (ms: number): Promise<void> => {
    for (const end = Date.now() + ms; Date.now() < end; await new Promise((done) => setTimeout(done, 4))) {
      for (let i = 0; i < tags.length; i++) server.set(`A1/T${i}`, Date.now() % 8 < 4);
    }
  };
  await storm(4_000);
  const before = await memory();
  await storm(12_000);
  server.set('A1/Pressure', 321);
  await heard.until('still heard', () => heard.last('chamber.pressure')?.value === 321);
  expect(heard.status?.state).toBe('live');
  const lost = heard.readings.filter(({ signal }) => signal === 'link.hole').length;
  expect(lost > 0 || heard.status?.counters.overflows === 0).toBe(true);
  expect((await memory()) - before).toBeLessThan(60);
});

test('a slow line, half a second each way, is no silence', { timeout: 60_000 }, async () => {
  const server = await fixture({ tags: [PRESSURE, DOOR, RECIPE] });
  const proxy = await startProxy(() => server.port, 500);
  undo.push(() => proxy.close());
  const { heard } = await linked(siteWith(proxy.port, template));
  await heard.until('first value', () => heard.last('chamber.pressure')?.value === 100, 40_000);
  heard.clear();
  for (let i = 1; i <= 20; i++) {
    server.set('A1/Pressure', i);
    await new Promise((done) => setTimeout(done, 300));
  }
  await heard.until('the last', () => heard.last('chamber.pressure')?.value === 20);
  expect(heard.of('link.alive').filter(({ value }) => value === false)).toEqual([]);
});

describe('what the library keeps silent about', () => {
  test('a half-open line is told within 15 s and left for a new one, without a hand', { timeout: 90_000 }, async () => {
    const server = await fixture({ tags: [PRESSURE, DOOR, RECIPE] });
    const proxy = await startProxy(() => server.port);
    undo.push(() => proxy.close());
    const { heard } = await linked(siteWith(proxy.port, template));
    await heard.until('first value', () => heard.last('chamber.pressure')?.value === 100);
    const timer = setInterval(() => server.set('A1/Pressure', Date.now() % 1000), 250);
    undo.push(() => clearInterval(timer));
    await heard.until('it changes', () => heard.last('chamber.pressure')?.value !== 100);
    const strandedAt = Date.now();
    heard.clear();
    proxy.strand();
    await heard.until('silence', () => heard.last('link.alive')?.value === false, 15_000);
    expect(Math.abs((heard.last('link.alive')?.at ?? 0) - strandedAt)).toBeLessThan(2_000);
    await heard.until(
      'a new line',
      () => heard.last('link.alive')?.value === true && heard.last('chamber.pressure')?.quality === 'good',
      60_000,
    );
    expect(heard.status?.state).toBe('live');
  });

  test('a tag that a restarted server has no longer is told as unread, and the others go on', { timeout: 60_000 }, async () => {
    const first = await startFixture({ tags: [PRESSURE, DOOR, RECIPE] });
    const { heard } = await linked(siteWith(first.port, template));
    await heard.until('first values', () => heard.last('chamber.pressure')?.value === 100 && heard.last('recipe.name') !== undefined);
    await first.close();
    heard.clear();
    await fixture({ tags: [DOOR, RECIPE], port: first.port });
    await heard.until('unread', () => heard.status?.badTags.some(({ signal }) => signal === 'chamber.pressure') === true, 40_000);
    await heard.until('bad', () => heard.last('chamber.pressure')?.quality === 'bad');
    await heard.until('the door goes on', () => heard.last('chamber.doorClosed')?.quality === 'good' && heard.status?.state === 'live');
  });

  // node-opcua 2.186 adds five publish requests per repaired connection and never takes one back: 55 after ten cuts (measured).
  // Without a guard the library asks for lost messages without end, hears nothing else, and both sides burn a core.
  test('a server that answers for lost messages with empty ones is read again after a cut', { timeout: 60_000 }, async () => {
    const server = await fixture({ tags: [PRESSURE], emptyRepublish: true });
    const proxy = await startProxy(() => server.port);
    undo.push(() => proxy.close());
    const { heard } = await linked(siteWith(proxy.port, { tags: template.tags }));
    await heard.until('value', () => heard.last('chamber.pressure')?.quality === 'good');
    proxy.cut();
    await heard.until('silence', () => heard.last('link.alive')?.value === false);
    proxy.heal();
    heard.clear();
    server.set('A1/Pressure', 200);
    await heard.until('value after the cut', () => heard.last('chamber.pressure')?.value === 200, 40_000);
    const asked = server.requests.filter((name) => name === 'RepublishRequest').length;
    server.set('A1/Pressure', 300);
    await heard.until('the next', () => heard.last('chamber.pressure')?.value === 300);
    expect(server.requests.filter((name) => name === 'RepublishRequest').length).toBe(asked);
  });

  test('publish requests do not pile up: a session that was repaired often is opened afresh', { timeout: 120_000 }, async () => {
    const server = await fixture({ tags: [PRESSURE, DOOR, RECIPE] });
    const proxy = await startProxy(() => server.port);
    undo.push(() => proxy.close());
    const { heard } = await linked(siteWith(proxy.port, template));
    await heard.until('first value', () => heard.last('chamber.pressure')?.value === 100);
    const rebuilds = () => heard.status?.counters.rebuilds ?? 0;
    let most = 0;
    for (let cut = 1; cut <= 12 && rebuilds() === 0; cut++) {
      heard.clear();
      proxy.cut();
      await new Promise((done) => setTimeout(done, 300));
      proxy.heal();
      server.set('A1/Pressure', cut);
      await heard.until(`value after cut ${cut}`, () => heard.of('chamber.pressure').some(({ value }) => value === cut), 30_000);
      most = Math.max(most, server.pendingPublishes());
    }
    await heard.until('opened afresh', () => rebuilds() === 1, 30_000);
    server.set('A1/Pressure', 99);
    await heard.until('still read', () => heard.last('chamber.pressure')?.value === 99, 30_000);
    expect(most).toBeGreaterThan(20);
    await expect.poll(() => server.pendingPublishes(), { timeout: 20_000 }).toBeLessThanOrEqual(20);
  });
});
