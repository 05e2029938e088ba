import { expect, test } from 'vitest';
import {
  drawnFor,
  evidenceSpan,
  followed,
  hasMoment,
  lostRuns,
  newRecipes,
  similarAlerts,
  tellingAlarms,
  type Like,
} from '../../src/alert-similar.ts';
import type { Alert, StateInterval } from '../../src/contract.ts';
import { exampleAlert, exampleAlertAlarms } from '../gateway/wire-examples.ts';

const MIN = 60_000;
const HOUR = 60 * MIN;
const first = (code: string) => exampleAlertAlarms({ firstOut: { chamber: 'PC-06', code, text: code, at: 0 } });
const closed = (id: string, startedAt: number, change: Partial<Alert> = {}): Alert =>
  exampleAlert({ id, startedAt, closedAt: startedAt + MIN, state: 'closed', alarms: first('RF_FAULT'), ...change });

test('[AE1] looked at is from ten minutes before to twenty after, or the last half hour while less has passed', () => {
  expect(evidenceSpan({ startedAt: HOUR }, 5 * HOUR)).toEqual({ from: HOUR - 10 * MIN, to: HOUR + 20 * MIN });
  expect(evidenceSpan({ startedAt: HOUR }, HOUR + MIN)).toEqual({ from: HOUR - 29 * MIN, to: HOUR + MIN });
});

test('[AE2] similar are only episodes that were over before it began, here of the same kind or anywhere with the same first alarm', () => {
  const now = exampleAlert({ id: 'now', startedAt: HOUR, alarms: first('RF_FAULT') });
  const ids = (before: readonly Alert[]) => similarAlerts(now, before).map(({ alert }) => alert.id);
  expect(ids([closed('a', 0), closed('later', 2 * HOUR), closed('still on', HOUR - MIN + 1), { ...now }])).toEqual(['a']);
  expect(ids([closed('other', 0, { chamber: 'PC-09', alarms: first('DOOR') }), closed('same', 0, { chamber: 'PC-09' })])).toEqual(['same']);
  expect(ids([closed('part', 0, { partOf: 'wider' }), closed('open', 0, { closedAt: null })])).toEqual([]);
  const flood = exampleAlert({ kind: 'flood', chamber: null, position: 'East', startedAt: HOUR, alarms: null });
  const floods = [
    closed('west', 0, { kind: 'flood', chamber: null, position: 'West' }),
    closed('east', 0, { ...flood, id: 'east', closedAt: 1 }),
  ];
  expect(similarAlerts(flood, floods).map(({ alert }) => alert.id)).toEqual(['east']);
});

test('[AE3] nearest first, newest first within, six at most', () => {
  const now = exampleAlert({ id: 'now', startedAt: HOUR, alarms: first('RF_FAULT') });
  const likes = similarAlerts(now, [
    closed('elsewhere', 3, { chamber: 'PC-09' }),
    closed('kind, old', 1, { alarms: first('DOOR') }),
    closed('kind, new', 2, { alarms: first('DOOR') }),
    closed('first, another kind', 0, { kind: 'flood' }),
  ]);
  expect(likes.map(({ alert, likeness }) => [alert.id, likeness])).toEqual([
    ['first, another kind', 'same first alarm here'],
    ['kind, new', 'same kind here'],
    ['kind, old', 'same kind here'],
    ['elsewhere', 'same first alarm elsewhere'],
  ]);
  expect(
    similarAlerts(
      now,
      Array.from({ length: 9 }, (_, i) => closed(`${i}`, i)),
    ).map(({ alert }) => alert.id),
  ).toEqual(['8', '7', '6', '5', '4', '3']);
});

const over = closed('x', HOUR) as Like['alert'];
const interval = (state: StateInterval['state'], from: number, to: number): StateInterval => ({
  ...{ chamber: 'PC-06', from, to, state, reason: state, source: 'tag', run: null, entry: null, downtime: null, observed: null },
});

test('[AE4] what followed is the first downtime from its begin to two hours after its end', () => {
  const [idle, unseen] = [interval('standby', 0, HOUR), interval('unobserved', HOUR, HOUR + 5)];
  const down = interval('unscheduled-downtime', HOUR + 5, HOUR + 9);
  expect(followed(over, [idle, unseen, down, interval('scheduled-downtime', HOUR + 9, 2 * HOUR)])).toBe(down);
  expect(followed(over, [interval('unscheduled-downtime', 0, HOUR)])).toBeNull();
  expect(followed(over, [interval('scheduled-downtime', 3 * HOUR + MIN - 1, 4 * HOUR)])).not.toBeNull();
  expect(followed(over, [interval('scheduled-downtime', 3 * HOUR + MIN, 4 * HOUR)])).toBeNull();
});

test('[AE5] runs that ended meanwhile without completing were lost with it', () => {
  const run = (at: number, outcome: 'completed' | 'aborted' | 'interrupted') => ({ at, outcome });
  const runs = [
    run(HOUR - 1, 'aborted'),
    run(HOUR, 'aborted'),
    run(HOUR + 1, 'completed'),
    run(3 * HOUR, 'interrupted'),
    run(4 * HOUR, 'aborted'),
  ];
  expect(lostRuns(over, runs)).toBe(2);
});

test('[AE6] drawn is what the alarms name: gas, power or a utility; where they name none, power beside the pressure', () => {
  const drawn = (...codes: string[]) => drawnFor(codes.map((code) => ({ code })));
  expect(drawn('DOOR_NOT_CLOSED')).toEqual({ flow: false, power: true, utility: null });
  expect(drawn('RF_FAULT', 'WATER_FLOW_LOW')).toEqual({ flow: false, power: true, utility: 'utility.waterFlow' });
  expect(drawn('WATER_FLOW_LOW')).toEqual({ flow: false, power: false, utility: 'utility.waterFlow' });
  expect(drawn('FLOW_DEVIATION')).toEqual({ flow: true, power: false, utility: null });
  expect(drawn('MFC_FAULT', 'NO_IGNITION')).toEqual({ flow: true, power: true, utility: null });
  expect([drawn('CDA_LOW'), drawn('COMPRESSED_AIR_LOW'), drawn('N2_PRESSURE_LOW'), drawn('CHAIR')].map(({ utility }) => utility)).toEqual([
    ...['utility.compressedAirPressure', 'utility.compressedAirPressure', 'utility.nitrogenPressure', null],
  ]);
});

test('[AE7] a recipe is news where the week before had none of it; a run that names none says nothing', () => {
  const run = (startedAt: number, recipe: string | null) => ({ startedAt, recipe });
  const week = 7 * 24 * HOUR;
  const runs = [run(week + 3, 'B'), run(week + 2, 'A'), run(week + 1, null), run(1, 'A'), run(0, 'B')];
  expect(newRecipes(runs, week)).toEqual([
    { at: week + 3, recipe: 'B' },
    { at: week + 2, recipe: 'A' },
  ]);
  expect(newRecipes([run(week + 1, 'A'), run(1, 'A')], week)).toEqual([]);
  expect(newRecipes([run(week + 2, 'A'), run(week + 1, 'A'), run(0, 'A')], week)).toEqual([{ at: week + 1, recipe: 'A' }]);
  expect(newRecipes([run(5, 'A')], week)).toEqual([]);
});

test('[AE8] the first alarm and the two most frequent others say what is drawn; notices say nothing', () => {
  const alarm = (code: string, isFirst = false, notice = false) => ({ code, isFirst, notice });
  const alarms = [
    alarm('NOTICE', false, true),
    alarm('A'),
    alarm('F', true),
    alarm('B'),
    alarm('C'),
    alarm('C'),
    alarm('B'),
    alarm('B'),
    alarm('F'),
  ];
  expect(tellingAlarms(alarms).map(({ code }) => code)).toEqual(['F', 'B', 'C']);
  expect(tellingAlarms([alarm('A'), alarm('B')]).map(({ code }) => code)).toEqual(['A', 'B']);
  expect(tellingAlarms([alarm('NOTICE', false, true)])).toEqual([]);
});

test('[AE9] a drift, a meter, a certificate and the gateway have no moment to look at', () => {
  expect((['burst', 'down', 'no-data', 'process-check'] as const).map(hasMoment)).toEqual([true, true, true, true]);
  expect((['drift', 'meter-due', 'certificate', 'gateway'] as const).map(hasMoment)).toEqual([false, false, false, false]);
});
