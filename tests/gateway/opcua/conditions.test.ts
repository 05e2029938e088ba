/** The states of OPC 10000-9 through the real link, each apart. */
import { afterEach, expect, test } from 'vitest';
import { resolveNodeId } from 'node-opcua';
import type { ConditionField } from '../../../gateway/opcua/condition-filter.ts';
import { Conditions, REFRESH_END, REFRESH_START } from '../../../gateway/opcua/conditions.ts';
import type { EventFields } from '../../../gateway/opcua/line.ts';
import { openLink } from '../../../gateway/opcua/link.ts';
import type { OpcUaLink } from '../../../gateway/opcua/link.ts';
import type { ConditionWord, TagNode } from '../../../src/tag-map.ts';
import { FullAlarm } from './alarm-kit.ts';
import { newFolder, nodeText, startFixture, type Fixture } from './fixture-server.ts';
import { Heard, siteWith } from './heard.ts';

const open: (OpcUaLink | Fixture)[] = [];
afterEach(async () => {
  for (const one of open.splice(0)) await ('stop' in one ? one.stop() : one.close());
});

const TEMPLATE = {
  tags: { 'chamber.pressure': { node: nodeText('{path}/Pressure'), unit: 'Pa' } },
  alarms: { OVER: { text: 'Overpressure', priority: 'high', from: { condition: 'Over' } } },
  conditions: { notifier: nodeText('Chamber') },
};

async function watched() {
  const alarm = new FullAlarm('Over');
  const server = await startFixture({ tags: [{ path: 'A1/Pressure', type: 'Double', value: 1 }], prepare: alarm.prepare });
  const heard = new Heard();
  const clock = { now: () => Date.now(), steadyMs: () => performance.now(), speed: 1 };
  const link = openLink({ site: siteWith(server.port, TEMPLATE), clock, pkiFolder: newFolder(), events: heard.events });
  open.push(link, server);
  await link.start();
  await heard.until('at rest', () => heard.last('alarm.OVER')?.value === false);
  const told = (side: string): readonly unknown[] => heard.of(`alarm-${side}.OVER`).map(({ value }) => value);
  const until = (side: string, value: unknown) => heard.until(`${side} ${String(value)}`, () => told(side).at(-1) === value);
  alarm.turn(true);
  await heard.until('active', () => heard.last('alarm.OVER')?.value === true);
  return { alarm, heard, told, until };
}

test('shelved, suppressed by design and out of service are told apart, and none is told twice as merely suppressed', async () => {
  const { alarm, told, until } = await watched();
  alarm.set('suppressedState', true);
  await until('by-design', true);
  alarm.shelve('OneShotShelved');
  await until('shelved', true);
  alarm.set('suppressedState', false);
  await until('by-design', false);
  alarm.shelve('Unshelved');
  await until('shelved', false);
  alarm.set('outOfServiceState', true);
  await until('out-of-service', true);
  alarm.set('outOfServiceState', false);
  await until('out-of-service', false);
  expect(told('suppressed')).toEqual([false]);
  expect([told('by-design'), told('out-of-service')]).toEqual([
    [false, true, false],
    [false, true, false],
  ]);
});

test('timed shelving is told with its end', async () => {
  const { alarm, heard, told } = await watched();
  const before = Date.now();
  alarm.shelve('TimedShelved', 600_000);
  await heard.until('shelved', () => typeof told('shelved').at(-1) === 'number');
  const end = told('shelved').at(-1) as number;
  expect(end).toBeGreaterThanOrEqual(before + 600_000);
  expect(end).toBeLessThan(Date.now() + 600_000 + 1);
});

test('acknowledged and confirmed are told each as it happens', async () => {
  const { alarm, told, until } = await watched();
  expect([told('acknowledged').at(-1), told('confirmed').at(-1)]).toEqual([false, false]);
  alarm.acknowledge();
  await until('acknowledged', true);
  expect(told('confirmed').at(-1)).toBe(false);
  alarm.confirm();
  await until('confirmed', true);
});

test('latched is told with its begin and its reset, and is not activity', async () => {
  const { alarm, heard, told, until } = await watched();
  expect(told('latched')).toEqual([false]);
  alarm.latch(true);
  await until('latched', true);
  alarm.turn(false);
  await heard.until('returned', () => heard.last('alarm.OVER')?.value === false);
  expect(told('latched')).toEqual([false, true]);
  alarm.acknowledge();
  await until('acknowledged', true);
  alarm.latch(false);
  await until('latched', false);
  expect(heard.last('alarm.OVER')?.value).toBe(false);
});

test('a latch that a refresh no longer tells was reset meanwhile; one that it tells goes on', () => {
  const targets = [{ chamber: 'PC-01', signal: 'alarm.OVER', name: 'x', bit: null, convert: () => undefined }] as const;
  const node: TagNode = { server: 'plc-1', node: 'n#Over', kind: 'condition', sampling: 'fast', word: false, targets };
  const words: ConditionWord[] = [];
  const conditions = new Conditions([node], (_node, word) => void words.push(word));
  const say = (part: Readonly<Partial<Record<ConditionField, unknown>>>): void =>
    conditions.event({ item: 0, fields: conditions.choice.fields.map((field) => ({ value: part[field] })) } as unknown as EventFields, 0);
  const latched = { ConditionName: 'Over', Retain: true, 'ActiveState.Id': false, 'LatchedState.Id': true };
  const refreshed = (...events: (typeof latched)[]): void => {
    say({ EventType: resolveNodeId(REFRESH_START) });
    events.forEach(say);
    say({ EventType: resolveNodeId(REFRESH_END) });
  };
  refreshed(latched);
  expect(words).toEqual([{ active: false, latched: true }]);
  refreshed();
  expect(words.slice(1)).toEqual([{ active: false, latched: false }]);
  refreshed();
  expect(words).toHaveLength(2);
  say({ ConditionName: 'Over', Retain: true, 'ActiveState.Id': true });
  refreshed();
  expect(words.slice(3)).toEqual([{ active: false }]);
});

test('a branch is told by the time its activation began, acknowledged on its own, and touches neither activity nor acknowledgement of the condition', async () => {
  const { alarm, heard, told } = await watched();
  const began = heard.last('alarm.OVER')?.at as number;
  const kept = alarm.branch();
  alarm.turn(false);
  alarm.turn(true);
  await heard.until('branched', () => told('branch').length === 1);
  const [word] = told('branch') as [string];
  expect(word).toMatch(/^\d+ branched$/);
  expect(Math.abs(Number(word.split(' ')[0]) - began)).toBeLessThan(1000);
  alarm.acknowledgeBranch(kept);
  await heard.until('ended', () => told('branch').length === 3);
  expect(told('branch').map((text) => String(text).split(' ')[1])).toEqual(['branched', 'acknowledged', 'branch-ended']);
  expect([heard.last('alarm.OVER')?.value, told('acknowledged').at(-1)]).toEqual([true, false]);
});
