/** Alarm conditions of servers that do not know every optional state: told all the same, whatever the server makes of a field it does not know. */
import type { OPCUAServer } from 'node-opcua';
import { afterEach, expect, test } from 'vitest';
import { checkServer } from '../../../gateway/opcua/live-check.ts';
import { openLink } from '../../../gateway/opcua/link.ts';
import type { OpcUaLink } from '../../../gateway/opcua/link.ts';
import { FullAlarm } from './alarm-kit.ts';
import { newFolder, nodeText, startFixture, type Fixture } from './fixture-server.ts';
import { foreignEvents, type Manner } from './foreign-events.ts';
import { Heard, siteWith } from './heard.ts';

const open: (OpcUaLink | Fixture)[] = [];
afterEach(async () => {
  for (const one of open.splice(0)) await ('stop' in one ? one.stop() : one.close());
});

const TEMPLATE = {
  alarms: { OVER: { text: 'Overpressure', priority: 'high', from: { condition: 'Over' } } },
  conditions: { notifier: nodeText('Chamber') },
};

async function foreign(manner: Manner, unknown: RegExp) {
  const alarm = new FullAlarm('Over');
  let asked: string[][] = [];
  const prepare = (server: OPCUAServer): void => {
    alarm.prepare(server);
    ({ asked } = foreignEvents(server, manner, unknown));
  };
  const server = await startFixture({ tags: [], prepare });
  open.push(server);
  return { alarm, server, asked: () => asked, site: siteWith(server.port, TEMPLATE) };
}

test.each([
  ['silent', /Shelving|OutOfService|Latched/],
  ['refusing', /Shelving|Confirmed/],
] as const)(
  'a server that is %s about fields it does not know is asked for the others, and its alarms are told',
  async (manner, unknown) => {
    const { alarm, asked, site } = await foreign(manner, unknown);
    const heard = new Heard();
    const clock = { now: () => Date.now(), steadyMs: () => performance.now(), speed: 1 };
    const link = openLink({ site, clock, pkiFolder: newFolder(), events: heard.events });
    open.unshift(link);
    await link.start();
    await heard.until('at rest', () => heard.last('alarm.OVER')?.value === false);
    alarm.turn(true);
    await heard.until('active', () => heard.last('alarm.OVER')?.value === true);
    expect(asked()).toHaveLength(2);
    expect(asked()[1]?.some((path) => unknown.test(path))).toBe(false);
    expect(asked()[1]).toEqual(expect.arrayContaining(['ConditionName', 'ActiveState.Id', 'Retain', 'BranchId', 'Time']));
    expect(heard.of('alarm-shelved.OVER')).toEqual([]);
  },
);

test('what nothing needs is not asked for: the name of an event only where it may be acknowledged', async () => {
  const { asked, site } = await foreign('silent', /nothing/);
  const heard = new Heard();
  const clock = { now: () => Date.now(), steadyMs: () => performance.now(), speed: 1 };
  const link = openLink({ site, clock, pkiFolder: newFolder(), events: heard.events });
  open.unshift(link);
  await link.start();
  await heard.until('at rest', () => heard.last('alarm.OVER')?.value === false);
  expect(asked()).toHaveLength(1);
  expect(asked()[0]).not.toContain('ConditionId');
});

test('the check says which states such a server does not know', async () => {
  const { alarm, site } = await foreign('silent', /Shelving|OutOfService/);
  alarm.turn(true);
  const lines = await checkServer(site, site.servers[0]!, { pkiFolder: newFolder(), now: Date.now });
  const texts = lines.map(({ text }) => text);
  expect(texts[0]).toMatch(/It does not know: shelved, out of service\.$/);
  expect(lines.find(({ signal }) => signal === 'alarm.OVER')?.text).toMatch(/^active, not acknowledged/);
});
