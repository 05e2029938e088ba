/** Acknowledging at a chamber, by the real library at a real server that counts what it is asked. */
import { afterEach, expect, test } from 'vitest';
import { StatusCodes } from 'node-opcua';
import { openLink } from '../../../gateway/opcua/link.ts';
import type { OpcUaLink } from '../../../gateway/opcua/link.ts';
import { FullAlarm } from './alarm-kit.ts';
import { newFolder, nodeText, startFixture, type Fixture } from './fixture-server.ts';
import { Heard, siteWith } from './heard.ts';

const ACKNOWLEDGE = 'ns=0;i=9111';
const CONDITION_REFRESH = 'ns=0;i=3875';
const open: (OpcUaLink | Fixture)[] = [];
afterEach(async () => {
  for (const one of open.splice(0)) await ('stop' in one ? one.stop() : one.close());
});

async function plant(acknowledge: boolean | undefined) {
  const alarm = new FullAlarm('Over');
  const server = await startFixture({ tags: [{ path: 'A1/Pressure', type: 'Double', value: 1 }], prepare: alarm.prepare });
  const template = {
    tags: { 'chamber.pressure': { node: nodeText('{path}/Pressure'), unit: 'Pa' } },
    alarms: {
      OVER: { text: 'Overpressure', priority: 'high', from: { condition: 'Over' } },
      NEVER: { text: 'x', priority: 'low', from: { condition: 'Never' } },
    },
    conditions: { notifier: nodeText('Chamber') },
  };
  const heard = new Heard();
  const clock = { now: () => Date.now(), steadyMs: () => performance.now(), speed: 1 };
  const site = siteWith(server.port, template, acknowledge === undefined ? {} : { server: { acknowledge } });
  const link = openLink({ site, clock, pkiFolder: newFolder(), events: heard.events });
  open.push(link, server);
  await link.start();
  await heard.until('live', () => heard.status?.state === 'live' && heard.last('alarm.OVER')?.value === false);
  alarm.turn(true);
  await heard.until('active', () => heard.last('alarm.OVER')?.value === true);
  const ask = (code = 'OVER', comment = 'A. Person', of?: number) =>
    link.acknowledge({ server: 'plc-1', chamber: 'PC-01', code, name: code, comment, ...(of === undefined ? {} : { of }) });
  const written = () =>
    server.requests.filter((name) => /Write|HistoryUpdate|AddNodes|AddReferences|DeleteNodes|DeleteReferences/.test(name));
  const called = () => server.calls.filter((method) => method !== CONDITION_REFRESH);
  return { alarm, server, heard, link, ask, written, called };
}

test.each([undefined, false])('with the switch %s nothing is ever written or called, however often it is asked', async (setting) => {
  const { ask, written, called, alarm } = await plant(setting);
  for (let i = 0; i < 3; i++) await expect(ask()).resolves.toMatchObject({ done: false, text: expect.stringContaining('not turned on') });
  expect([written(), called()]).toEqual([[], []]);
  expect(alarm.alarm.currentBranch().getAckedState()).toBe(false);
});

test('with the switch on the condition is acknowledged with the name as its comment, by that one method and nothing else', async () => {
  const { ask, written, called, heard, alarm } = await plant(true);
  await expect(ask()).resolves.toEqual({ done: true, text: 'OVER is acknowledged at the chamber.' });
  await heard.until('acknowledged', () => heard.last('alarm-acknowledged.OVER')?.value === true);
  expect(alarm.alarm.currentBranch().getComment().text).toBe('A. Person');
  expect([written(), called()]).toEqual([[], [ACKNOWLEDGE]]);
});

const REFUSALS = {
  BadConditionBranchAlreadyAcked: 'OVER was acknowledged already, at the chamber or by another person.',
  BadEventIdUnknown: 'has changed meanwhile',
  BadUserAccessDenied: 'Give the user that right at plc-1',
  BadConditionDisabled: 'is disabled at plc-1',
  BadMethodInvalid: 'does not take acknowledgements',
  BadResourceUnavailable: 'refused the acknowledgement of OVER (BadResourceUnavailable)',
} as const;

test('each refusal by the chamber is told with what to do now', async () => {
  const { ask, alarm } = await plant(true);
  for (const [status, words] of Object.entries(REFUSALS)) {
    alarm.refuseAcknowledge(StatusCodes[status as keyof typeof REFUSALS]);
    await expect(ask()).resolves.toEqual({ done: false, text: expect.stringContaining(words) });
  }
});

test('of an alarm that was not heard, and of what is no condition, nothing is asked', async () => {
  const { ask, called } = await plant(true);
  await expect(ask('NEVER')).resolves.toMatchObject({ done: false, text: expect.stringContaining('Wait for its next word') });
  await expect(ask('ELSE')).resolves.toMatchObject({ done: false, text: expect.stringContaining('no alarm condition') });
  expect(called()).toEqual([]);
});

test('without a session nothing is sent, and it is said', async () => {
  const { ask, server, heard } = await plant(true);
  await server.close();
  open.splice(open.indexOf(server), 1);
  await heard.until('gone', () => heard.status?.state !== 'live');
  const { done, text } = await ask();
  expect(done).toBe(false);
  expect(text).toMatch(/not connected|did not answer|failed/);
});

/** The first activation stays as a branch while the alarm comes again; by when that began. */
async function branched(acknowledge: boolean) {
  const all = await plant(acknowledge);
  const { alarm, heard } = all;
  const kept = alarm.branch();
  alarm.turn(false);
  alarm.turn(true);
  const words = (): readonly string[] => heard.of('alarm-branch.OVER').map(({ value }) => String(value));
  await heard.until('branched', () => words().length > 0);
  await heard.until('again', () => heard.last('alarm.OVER')?.value === true && heard.of('alarm.OVER').length > 2);
  return { ...all, kept, words, began: Number(words()[0]?.split(' ')[0]) };
}

test('a branch is acknowledged by its own event and nothing else: the condition itself still waits', async () => {
  const { ask, written, called, heard, alarm, kept, words, began } = await branched(true);
  await expect(ask('OVER', 'A. Person', began)).resolves.toEqual({ done: true, text: 'OVER is acknowledged at the chamber.' });
  await heard.until('acknowledged', () => words().includes(`${began} acknowledged`));
  expect([kept.getAckedState(), kept.getComment().text]).toEqual([true, 'A. Person']);
  expect([alarm.alarm.currentBranch().getAckedState(), heard.last('alarm-acknowledged.OVER')?.value]).toEqual([false, false]);
  expect([written(), called()]).toEqual([[], [ACKNOWLEDGE]]);
  await expect(ask('OVER', 'A. Person', began)).resolves.toMatchObject({
    done: false,
    text: expect.stringContaining('acknowledged already'),
  });
  expect([called(), alarm.alarm.currentBranch().getAckedState()]).toEqual([[ACKNOWLEDGE], false]);
});

test('with the switch off no branch is acknowledged, and of one that was not told nothing is asked', async () => {
  const off = await branched(false);
  await expect(off.ask('OVER', 'A. Person', off.began)).resolves.toMatchObject({
    done: false,
    text: expect.stringContaining('not turned on'),
  });
  expect(off.called()).toEqual([]);
  const on = await branched(true);
  await expect(on.ask('OVER', 'A. Person', on.began + 1)).resolves.toMatchObject({
    done: false,
    text: expect.stringContaining('has not told'),
  });
  expect([off.written(), on.called(), on.kept.getAckedState()]).toEqual([[], [], false]);
});
