import { expect, test } from 'vitest';
import { chamberAcknowledge } from '../../gateway/chamber-acknowledge.ts';
import type { AcknowledgeAnswer, AcknowledgeRequest } from '../../gateway/opcua/link-port.ts';
import { plantOf } from '../../gateway/plant.ts';
import { UNHEARD } from '../../src/alarm.ts';
import { initialChamber } from '../../src/chamber.ts';
import { siteWith } from './opcua/heard.ts';

const ALARMS = {
  OVER: { text: 'Overpressure', priority: 'high', from: { condition: 'Overpressure' } },
  DOOR: { text: 'Door', priority: 'low', from: { node: 'nsu=urn:x;s=Door' } },
};
const act = (code: string, note = '', of?: number) => ({ chamber: 'PC-01', code, by: 'A. Person', note, of });

const EARLIER = Date.UTC(2026, 2, 2, 8, 30);

function desk(acknowledge: boolean | undefined, acknowledged: boolean | null, answer: AcknowledgeAnswer = { done: true, text: 'done' }) {
  const template = { alarms: ALARMS, conditions: { notifier: 'nsu=urn:x;s=C' } };
  const plant = plantOf(siteWith(4840, template, acknowledge === undefined ? {} : { server: { acknowledge } }));
  const did: unknown[] = [];
  const stand = { ...UNHEARD, heard: true, since: 1, acknowledged, branches: [EARLIER] };
  const acts = chamberAcknowledge({
    plant,
    clock: { now: () => 9, steadyMs: () => 0, speed: 1 },
    state: (id) => ({ ...initialChamber(plant.chamber(id).rules), alarms: { OVER: stand, DOOR: stand } }),
    record: async ({ events, audit }) => void did.push(...events, ...audit.map(({ who, deed, subject }) => [who, deed, subject])),
    ask: async (request: AcknowledgeRequest) => (did.push(request), answer),
  });
  return { acts, did };
}

test('it is written down before it is asked and after it is answered, and the name goes along as the comment', async () => {
  const { acts, did } = desk(true, false);
  await expect(acts.acknowledgeAlarm(act('OVER', 'valve is being changed'))).resolves.toEqual({ text: 'done' });
  expect(did).toEqual([
    ['A. Person', 'ask chamber to acknowledge alarm', 'PC-01 OVER'],
    { server: 'plc-1', chamber: 'PC-01', code: 'OVER', name: 'Overpressure', comment: 'A. Person: valve is being changed' },
    ['A. Person', 'alarm acknowledged at chamber', 'PC-01 OVER'],
  ]);
});

test('a refusal is told with its cure, and audited', async () => {
  const { acts, did } = desk(true, false, { done: false, text: 'Acknowledge it at the chamber.' });
  await expect(acts.acknowledgeAlarm(act('OVER'))).rejects.toMatchObject({ code: 'conflict', message: 'Acknowledge it at the chamber.' });
  expect(did.at(-1)).toEqual(['A. Person', 'acknowledgement refused by chamber', 'PC-01 OVER: Acknowledge it at the chamber.']);
});

test.each([
  ['the switch is off', undefined, 'OVER', 'forbidden'],
  ['the switch is off in words', false, 'OVER', 'forbidden'],
  ['the alarm is no condition', true, 'DOOR', 'forbidden'],
  ['no such alarm was told', true, 'NONE', 'not-found'],
])('nothing is asked and nothing written down where %s', async (_, allowed, code, fault) => {
  const { acts, did } = desk(allowed, false);
  await expect(acts.acknowledgeAlarm(act(code))).rejects.toMatchObject({ code: fault });
  expect(did).toEqual([]);
});

test('what is acknowledged already is not asked again', async () => {
  const { acts, did } = desk(true, true);
  await expect(acts.acknowledgeAlarm(act('OVER'))).rejects.toMatchObject({ code: 'conflict' });
  expect(did).toEqual([]);
});

test('an earlier activation that the machine keeps as a branch is asked for by its time, and audited so, though the last one is acknowledged', async () => {
  const { acts, did } = desk(true, true);
  await acts.acknowledgeAlarm(act('OVER', '', EARLIER));
  const subject = 'PC-01 OVER, earlier activation of 2026-03-02T08:30:00.000Z';
  expect(did).toEqual([
    ['A. Person', 'ask chamber to acknowledge alarm', subject],
    { server: 'plc-1', chamber: 'PC-01', code: 'OVER', name: 'Overpressure (earlier activation)', comment: 'A. Person', of: EARLIER },
    ['A. Person', 'alarm acknowledged at chamber', subject],
  ]);
});

test.each([
  ['no such branch is told', true, EARLIER + 1, 'conflict'],
  ['the switch is off', false, EARLIER, 'forbidden'],
])('of an earlier activation nothing is asked where %s', async (_, allowed, of, code) => {
  const { acts, did } = desk(allowed, false);
  await expect(acts.acknowledgeAlarm(act('OVER', '', of))).rejects.toMatchObject({ code });
  expect(did).toEqual([]);
});
