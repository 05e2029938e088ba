/** The alarm conditions of a site file held against a real server: each fault seeded, each with its cure. */
import { StatusCodes } from 'node-opcua';
import { afterEach, expect, test } from 'vitest';
import type { CheckLine } from '../../../gateway/opcua/check-table.ts';
import { checkServer } from '../../../gateway/opcua/live-check.ts';
import { FullAlarm } from './alarm-kit.ts';
import { newFolder, nodeText, startFixture, type FixtureOptions } from './fixture-server.ts';
import { siteWith } from './heard.ts';

const undo: (() => Promise<unknown>)[] = [];
afterEach(async () => {
  for (const step of undo.splice(0).reverse()) await step();
});

const alarmsOf = (...names: readonly string[]) =>
  Object.fromEntries(names.map((name) => [name.toUpperCase(), { text: name, priority: 'medium', from: { condition: name } }]));

async function checked(options: Partial<FixtureOptions>, template: Record<string, unknown> = {}, now: () => number = Date.now) {
  const server = await startFixture({ tags: [], ...options });
  undo.push(() => server.close());
  const site = siteWith(server.port, { conditions: { notifier: nodeText('Chamber') }, alarms: alarmsOf('Over'), ...template });
  const lines = await checkServer(site, site.servers[0]!, { pkiFolder: newFolder(), now });
  return { server, lines, told: lines.map(({ verdict, signal, text }) => [verdict, signal, text]) };
}
const texts = (lines: readonly CheckLine[], verdict: string): string =>
  lines
    .filter((line) => line.verdict === verdict)
    .map(({ text }) => text)
    .join('\n');

test('a condition at rest is found by its node, and nothing but browsing, reading, subscribing and the refresh is asked', async () => {
  const { told, server } = await checked({ conditions: ['Over'], refreshBrackets: true });
  expect(told).toEqual([
    ['ok', '', `${nodeText('Chamber')} tells events, and replays what stands.`],
    ['ok', '', 'The clock of events is right to 1 s.'],
    ['ok', 'alarm.OVER', 'Condition "Over" is there, at rest.'],
  ]);
  expect(server.requests.filter((name) => /Write|History/.test(name))).toEqual([]);
  expect(new Set(server.calls)).toEqual(new Set(['ns=0;i=3875']));
});

test('one that stands is told with its states, type and severity; others that the site file does not name are listed', async () => {
  const alarm = new FullAlarm('Over');
  const other = new FullAlarm('Else');
  const prepare: FixtureOptions['prepare'] = (server) => {
    alarm.prepare(server);
    other.prepare(server);
    alarm.turn(true);
    other.turn(true);
  };
  const { lines } = await checked({ prepare });
  const own = lines.find(({ signal }) => signal === 'alarm.OVER');
  expect([own?.verdict, own?.text]).toEqual(['ok', 'active, not acknowledged, not confirmed; OffNormalAlarmType, severity 600']);
  expect(texts(lines, 'warning')).toContain('tells 1 more than the site file names, and they are not read: "Else"');
});

test('an event without a text is a warning, and so is a name that is nowhere', async () => {
  const alarm = new FullAlarm('Over');
  const prepare: FixtureOptions['prepare'] = (server) => {
    alarm.prepare(server);
    alarm.turn(true);
    alarm.tell(' ');
  };
  const { lines } = await checked({ prepare }, { alarms: alarmsOf('Over', 'Misspelt') });
  expect(lines.find(({ signal }) => signal === 'alarm.OVER')).toMatchObject({
    verdict: 'warning',
    text: expect.stringContaining('carry no text'),
  });
  expect(lines.find(({ signal }) => signal === 'alarm.MISSPELT')).toMatchObject({
    verdict: 'warning',
    text: expect.stringContaining('Compare the name'),
  });
});

test.each([
  ['a namespace that is not there', 'nsu=urn:nowhere;s=Chamber', /no namespace of .*Look with discover/],
  ['a node that is not there', nodeText('Nowhere'), /There is no node .*Look with discover/],
  ['an object that tells no events', nodeText('A1/Pressure'), /tells no events\. Name the object/],
])('%s as notifier is a fault with its cure', async (_, notifier, words) => {
  const { lines } = await checked(
    { conditions: ['Over'], tags: [{ path: 'A1/Pressure', type: 'Double', value: 1 }] },
    { conditions: { notifier } },
  );
  expect(texts(lines, 'fault')).toMatch(words);
  expect(lines.filter(({ verdict }) => verdict === 'fault')).toHaveLength(1);
});

test('a server that does not replay what stands is a fault', async () => {
  const prepare: FixtureOptions['prepare'] = (server) => {
    const refresh = server.engine.addressSpace!.findMethod('i=3875')!;
    refresh.bindMethod((_inputs, _context, answer) => answer(null, { statusCode: StatusCodes.BadUserAccessDenied }));
  };
  const { lines } = await checked({ conditions: ['Over'], prepare });
  expect(texts(lines, 'fault')).toMatch(/not replayed \(ConditionRefresh: BadUserAccessDenied\).*Allow the method/);
});

test('a clock of events that is off is a warning that says by how much', async () => {
  const { lines } = await checked({ conditions: ['Over'], refreshBrackets: true }, {}, () => Date.now() + 87_000);
  expect(texts(lines, 'warning')).toMatch(/Events are stamped 8[678] s ago: set the server's clock/);
});
