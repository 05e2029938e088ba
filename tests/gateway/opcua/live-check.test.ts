/** A site file held against a real server: each fault seeded, each with its cure. */
import { afterEach, expect, test } from 'vitest';
import { checkTable, type CheckLine } from '../../../gateway/opcua/check-table.ts';
import { checkServer } from '../../../gateway/opcua/live-check.ts';
import type { SiteFile } from '../../../src/config.ts';
import { newFolder, nodeText, startFixture, type Fixture, type FixtureTag } from './fixture-server.ts';
import { siteWith } from './heard.ts';

const undo: (() => Promise<unknown>)[] = [];
afterEach(async () => {
  for (const step of undo.splice(0).reverse()) await step();
});

const TAGS: readonly FixtureTag[] = [
  { path: 'A1/Pressure', type: 'Double', value: 100 },
  { path: 'A1/Door', type: 'Boolean', value: true },
  { path: 'A1/Recipe', type: 'String', value: 'CLN-OA-10' },
];
const tagsOf = (more: Record<string, unknown> = {}) => ({
  tags: {
    'chamber.pressure': { node: nodeText('{path}/Pressure'), unit: 'Pa' },
    'chamber.doorClosed': { node: nodeText('{path}/Door') },
    'recipe.name': { node: nodeText('{path}/Recipe') },
    ...more,
  },
});

async function fixture(): Promise<Fixture> {
  const server = await startFixture({ tags: TAGS });
  undo.push(() => server.close());
  return server;
}
const checked = (site: SiteFile, now: () => number = Date.now): Promise<readonly CheckLine[]> =>
  checkServer(site, site.servers[0]!, { pkiFolder: newFolder(), now });
const lineOf = (lines: readonly CheckLine[], signal: string): CheckLine | undefined => lines.find((line) => line.signal === signal);

test('a file that fits has a line per tag with its value, and only ever reads', async () => {
  const server = await fixture();
  const lines = await checked(siteWith(server.port, tagsOf()));
  expect(lines.map(({ verdict, signal, text }) => [verdict, signal, text])).toEqual([
    ['ok', '', expect.stringMatching(/^The clock is right to \d s\.$/)],
    ['ok', 'chamber.pressure', '100, taken as Pa'],
    ['ok', 'chamber.doorClosed', 'true'],
    ['ok', 'recipe.name', 'CLN-OA-10'],
  ]);
  expect(server.requests.filter((name) => /Write|Call|History/.test(name))).toEqual([]);
});

test('a node that is not there, a namespace that is not, and a value of another kind are faults with a cure', async () => {
  const server = await fixture();
  const lines = await checked(
    siteWith(
      server.port,
      tagsOf({
        'rf.forward': { node: nodeText('{path}/Forward'), unit: 'W' },
        'rf.reflected': { node: 'nsu=urn:nowhere;s={path}/Reflected', unit: 'W' },
        'chamber.temperature': { node: nodeText('{path}/Recipe'), unit: 'K' },
      }),
    ),
  );
  expect(lineOf(lines, 'rf.forward')).toMatchObject({
    verdict: 'fault',
    text: expect.stringMatching(/There is no node .*A1\/Forward.*discover/),
  });
  expect(lineOf(lines, 'rf.reflected')).toMatchObject({ verdict: 'fault', text: expect.stringMatching(/no namespace .*urn:nowhere/) });
  expect(lineOf(lines, 'chamber.temperature')).toMatchObject({
    verdict: 'fault',
    text: expect.stringMatching(/"CLN-OA-10" cannot be this signal/),
  });
  expect(lineOf(lines, 'chamber.pressure')?.verdict).toBe('ok');
});

test('a clock that is off is a warning that says by how much', async () => {
  const server = await fixture();
  const lines = await checked(siteWith(server.port, tagsOf()), () => Date.now() + 87_000);
  expect(lines[0]).toMatchObject({ verdict: 'warning', text: expect.stringMatching(/8[678] s ago: set the controller's clock/) });
});

test('a value that is bad at the moment is a warning, not a wrong tag', async () => {
  const server = await fixture();
  server.set('A1/Pressure', Number.NaN);
  const { StatusCodes } = await import('node-opcua');
  server.set('A1/Door', true, new Date(), StatusCodes.BadDeviceFailure);
  const lines = await checked(siteWith(server.port, tagsOf()));
  expect(lineOf(lines, 'chamber.doorClosed')).toMatchObject({ verdict: 'warning', text: expect.stringMatching(/BadDeviceFailure/) });
  expect(lineOf(lines, 'chamber.pressure')).toMatchObject({
    verdict: 'warning',
    text: expect.stringMatching(/^NaN.*Look at the instrument/),
  });
});

test('a heartbeat that stands, and a door open under vacuum, are warnings that name the cure; a heartbeat that steps is in order', async () => {
  const server = await startFixture({
    tags: [...TAGS, { path: 'A1/Beat', type: 'Int32', value: 7 }, { path: 'A1/Watt', type: 'Double', value: 12_000 }],
  });
  undo.push(() => server.close());
  server.set('A1/Door', false);
  const site = siteWith(
    server.port,
    tagsOf({ 'controller.heartbeat': { node: nodeText('{path}/Beat') }, 'rf.forward': { node: nodeText('{path}/Watt'), unit: 'W' } }),
  );
  const standing = await checked(site);
  expect(lineOf(standing, 'controller.heartbeat')).toMatchObject({
    verdict: 'warning',
    text: expect.stringMatching(/did not step in 3 s/),
  });
  expect(lineOf(standing, 'chamber.doorClosed')).toMatchObject({
    verdict: 'warning',
    text: expect.stringMatching(/open and the chamber under vacuum/),
  });
  expect(lineOf(standing, 'rf.forward')).toMatchObject({ verdict: 'warning', text: expect.stringMatching(/at most \d+ W/) });
  let beat = 7;
  const timer = setInterval(() => server.set('A1/Beat', ++beat), 200);
  undo.push(async () => clearInterval(timer));
  expect(lineOf(await checked(site), 'controller.heartbeat')).toMatchObject({ verdict: 'ok' });
}, 30_000);

test('bits of a word are shown as they are taken, and held against the word: too narrow, no whole number; the door by its bit against the pressure', async () => {
  const tags: readonly FixtureTag[] = [{ path: 'A1/Inputs', type: 'UInt16', value: 0b1001 }];
  const server = await startFixture({ tags: [...TAGS, ...tags] });
  undo.push(() => server.close());
  const inputs = (bit: number, inverted = false) => ({ node: nodeText('{path}/Inputs'), bit, inverted });
  const lines = await checked(
    siteWith(
      server.port,
      tagsOf({
        'chamber.doorClosed': inputs(3, true),
        'pump.running': inputs(0),
        'vent.valveOpen': inputs(16),
        'rf.enabled': { node: nodeText('{path}/Recipe'), bit: 0 },
      }),
    ),
  );
  const said = (signal: string) => [lineOf(lines, signal)?.verdict, lineOf(lines, signal)?.text];
  expect(said('pump.running')).toEqual(['ok', 'bit 0 of 9, taken as true']);
  expect(said('chamber.doorClosed')).toEqual([
    'warning',
    expect.stringMatching(/^bit 3 of 9, taken as false: The door is open and the chamber under/),
  ]);
  expect(said('vent.valveOpen')).toEqual(['fault', expect.stringMatching(/^Its value "9" has 16 bits, and bit 16 is asked for/)]);
  expect(said('rf.enabled')).toEqual(['fault', expect.stringMatching(/has no bits/)]);
});

test('a step number is held against what the site file says that it counts', async () => {
  const server = await startFixture({
    tags: [...TAGS, { path: 'A1/Step', type: 'Int32', value: 12 }, { path: 'A1/Steps', type: 'Int32', value: 7 }],
  });
  undo.push(() => server.close());
  const step = async (counts?: string) => {
    const more = { 'recipe.step': { node: nodeText('{path}/Step'), counts }, 'recipe.stepCount': { node: nodeText('{path}/Steps') } };
    const line = lineOf(await checked(siteWith(server.port, tagsOf(more))), 'recipe.step');
    return [line?.verdict, line?.text];
  };
  expect(await step('plasma-steps')).toEqual([
    'warning',
    expect.stringMatching(/but it is 12, and the recipe has 7 steps.*say counts: all-steps/),
  ]);
  expect(await step()).toEqual(['warning', expect.stringMatching(/does not say what it counts.*all-steps is likely/)]);
  expect(await step('all-steps')).toEqual(['ok', '12']);
});

test('a server that does not answer is one line, and the table puts what is off first', async () => {
  const lines = await checked(siteWith(9, tagsOf()));
  expect(lines).toMatchObject([
    { verdict: 'fault', chamber: '', text: expect.stringMatching(/Nothing answers at opc\.tcp:\/\/127\.0\.0\.1:9/) },
  ]);
  const ok: CheckLine = { verdict: 'ok', server: 'a', chamber: 'PC-01', signal: 'rf.forward', text: '0 W' };
  expect(
    checkTable([ok, ...lines])
      .split('\n')
      .at(0),
  ).toMatch(/^fault/);
  expect(checkTable([ok, ...lines])).toContain('1 fault, 0 warnings, 1 in order.');
});
