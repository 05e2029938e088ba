import { expect, test } from 'vitest';
import { isActivation } from '../../src/activation.ts';
import { alarmTold, definitionOf, suppressionsOf, UNHEARD } from '../../src/alarm.ts';
import type { AlarmStand } from '../../src/chamber-state.ts';
import { ALARM_SIDES, alarmSignalOf } from '../../src/signal.ts';
import { rulesBySignals as rules } from '../scenarios/scenario-rules.ts';
import { eventsOf, runWith, stateAfter, told } from './story.ts';

const START = Date.parse('2026-11-25T06:00:00Z');

test('[AL1] each change is told once, however often the same word comes', () => {
  expect(told(runWith('alarm.RF_REFL_HIGH false@0:00 true@9:00 true@9:10 false@9:20 false@9:21 true@9:30'), 'alarm')).toEqual([
    'alarm 9:00 RF_REFL_HIGH activated',
    'alarm 9:20 RF_REFL_HIGH cleared',
    'alarm 9:30 RF_REFL_HIGH activated',
  ]);
});

test('[AL2] found standing at first sight or after a hole it is not counted', () => {
  expect(told(runWith('alarm.RF_REFL_HIGH true@0:00 false@2:00'), 'alarm')[0]).toBe('alarm 0:00 RF_REFL_HIGH activated uncounted');
  expect(told(runWith('silence 2:00..5:00', 'alarm.RF_REFL_HIGH false@0:00 true@3:00'), 'alarm')).toEqual([
    'alarm 3:00 RF_REFL_HIGH activated uncounted',
  ]);
  expect(told(runWith('silence 2:00..5:00', 'alarm.RF_REFL_HIGH false@0:00 true@1:00 true@3:00'), 'alarm')).toEqual([
    'alarm 1:00 RF_REFL_HIGH activated',
  ]);
});

test('[AL3] an unknown code stands under its own name without effect, whatever it is called', () => {
  expect(definitionOf(rules, 'HOMEMADE')).toEqual({
    code: 'HOMEMADE',
    text: 'HOMEMADE',
    priority: 'medium',
    effect: 'none',
    notice: false,
  });
  expect(definitionOf(rules, 'constructor').text).toBe('constructor');
  const { alarms } = alarmTold(rules, {}, { code: '__proto__', side: 'active', is: true, at: 1, eyesOpen: true });
  expect(Object.keys(alarms)).toEqual(['__proto__']);
});

test('[AL4] at most 200 codes of at most 40 characters are remembered', () => {
  let alarms: Readonly<Record<string, AlarmStand>> = {};
  for (let i = 0; i < 500; i++)
    ({ alarms } = alarmTold(rules, alarms, { code: `${'X'.repeat(60)}${i}`, side: 'active', is: true, at: i, eyesOpen: true }));
  expect(Object.keys(alarms)).toEqual(['X'.repeat(40)]);
  for (let i = 0; i < 500; i++) ({ alarms } = alarmTold(rules, alarms, { code: `X${i}`, side: 'active', is: true, at: i, eyesOpen: true }));
  expect(Object.keys(alarms)).toHaveLength(200);
  expect(JSON.stringify(stateAfter(runWith())).length).toBeLessThan(10_000);
});

test('[AL5] an alarm that the server says is shelved is told as suppressed, and shelving alone is no activation', () => {
  const shelved = 'alarm-suppressed.RF_REFL_HIGH false@0:00 true@8:00 false@9:08';
  const events = eventsOf(runWith('alarm.RF_REFL_HIGH false@0:00 true@9:00 false@9:05 true@9:10', shelved));
  const alarms = events.flatMap((event) => (event.kind === 'alarm' ? [[event.change, event.suppressed, isActivation(event)]] : []));
  expect(alarms).toEqual([
    ['suppression', true, false],
    ['activated', true, false],
    ['cleared', true, false],
    ['suppression', false, false],
    ['activated', false, true],
  ]);
  expect(suppressionsOf({ suppressed: true })).toEqual(['not told which']);
  // In the order of names (ordering.ts [OR1]) the server's word on shelving is judged before the activation of the same instant.
  expect(
    ALARM_SIDES.map((side) => alarmSignalOf(side, 'X'))
      .sort()
      .at(-1),
  ).toBe('alarm.X');
});

test('[AL5] a word on shelving before the first on activity does not make the activation seen', () => {
  const word = { code: 'RF_REFL_HIGH', at: 1, eyesOpen: true };
  const { alarms } = alarmTold(rules, {}, { ...word, side: 'shelved', is: true });
  expect(alarmTold(rules, alarms, { ...word, side: 'active', is: true }).event).toMatchObject({
    change: 'activated',
    counted: false,
    suppressed: true,
    suppressedAs: ['shelved'],
  });
});

/** What was told of suppressions: at, reasons, end of shelving, begin seen. */
const suppressions = (...lines: readonly string[]) =>
  eventsOf(runWith('alarm.RF_REFL_HIGH false@0:00', ...lines)).flatMap((event) =>
    event.kind === 'alarm' && event.change === 'suppression'
      ? [[(event.at - START) / 1000, event.suppressedAs?.join(' + '), event.shelvedUntil, event.counted]]
      : [],
  );

test('[AL7] shelved, by design and out of service are told apart, also where they overlap', () => {
  expect(
    suppressions(
      'alarm-shelved.RF_REFL_HIGH false@0:00 true@8:00 false@10:00',
      'alarm-by-design.RF_REFL_HIGH false@0:00 true@9:00 false@11:00',
      'alarm-out-of-service.RF_REFL_HIGH false@0:00 true@12:00',
    ),
  ).toEqual([
    [480, 'shelved', null, true],
    [540, 'shelved + by design', null, true],
    [600, 'by design', undefined, true],
    [660, '', undefined, true],
    [720, 'out of service', undefined, true],
  ]);
});

test('[AL7] timed shelving has an end, which is told anew only when it moves by five seconds or more', () => {
  const until = START + 3_600_000;
  const shelve = (shelvedUntil: number) => ({ code: 'X', side: 'shelved', is: shelvedUntil, at: START, eyesOpen: true }) as const;
  const first = alarmTold(rules, { X: { ...UNHEARD, heard: true } }, shelve(until));
  expect(first.event).toMatchObject({ change: 'suppression', suppressedAs: ['shelved'], shelvedUntil: until, counted: true });
  expect(alarmTold(rules, first.alarms, shelve(until + 4999)).event).toBeNull();
  expect(alarmTold(rules, first.alarms, shelve(until + 5000)).event).toMatchObject({ shelvedUntil: until + 5000 });
});

test('[AL7] an acknowledgement heard before it does not make its begin seen', () => {
  const word = { code: 'X', at: 1, eyesOpen: true } as const;
  const { alarms } = alarmTold(rules, {}, { ...word, side: 'acknowledged', is: true });
  expect(alarmTold(rules, alarms, { ...word, side: 'shelved', is: true }).event?.counted).toBe(false);
});

test('[AL7] found shelved at first sight its begin was not seen, and a wrong type says nothing', () => {
  expect(suppressions('alarm-shelved.RF_REFL_HIGH true@0:00')[0]).toEqual([0, 'shelved', null, false]);
  const word = { code: 'X', at: 1, eyesOpen: true } as const;
  for (const side of [
    'shelved',
    'by-design',
    'out-of-service',
    'suppressed',
    'acknowledged',
    'confirmed',
    'active',
    'branch',
    'latched',
  ] as const)
    expect(alarmTold(rules, {}, { ...word, side, is: 'yes' })).toEqual({ alarms: {}, event: null });
});

test('[AL9] latched is told when it holds an alarm that has returned to normal, and when that is reset', () => {
  const changes = (...story: string[]) => told(runWith(...story), 'alarm');
  const latched = 'alarm-latched.X false@0:00 true@9:00';
  expect(changes('alarm.X false@0:00 true@9:00 false@9:10', `${latched} false@9:30`)).toEqual([
    'alarm 9:00 X activated',
    'alarm 9:10 X cleared',
    'alarm 9:30 X reset',
  ]);
  expect(changes('alarm.X false@0:00 true@9:00 false@9:10', 'alarm-latched.X false@0:00 true@9:20 false@9:30')).toEqual([
    'alarm 9:00 X activated',
    'alarm 9:10 X cleared',
    'alarm 9:20 X latched',
    'alarm 9:30 X reset',
  ]);
  expect(changes('alarm.X false@0:00 true@9:00 false@9:40', `${latched} false@9:30`)).toEqual([
    'alarm 9:00 X activated',
    'alarm 9:40 X cleared',
  ]);
});

test('[AL9] the clearing of a latched alarm says so, its standing ends all the same, and it counts in no rate', () => {
  const word = { code: 'X', at: START, eyesOpen: true } as const;
  const standing = { X: { ...UNHEARD, heard: true, since: START - 9, counted: true, latched: true } };
  const cleared = alarmTold(rules, standing, { ...word, side: 'active', is: false });
  expect(cleared.event).toMatchObject({ change: 'cleared', latched: true });
  expect(cleared.alarms['X']?.since).toBeNull();
  const reset = alarmTold(rules, cleared.alarms, { ...word, side: 'latched', is: false });
  expect([reset.event?.change, reset.event && isActivation(reset.event)]).toEqual(['reset', false]);
  const plain = alarmTold(rules, { X: { ...UNHEARD, heard: true, since: 1 } }, { ...word, side: 'active', is: false });
  expect(plain.event).not.toHaveProperty('latched');
});

test('[AL8] a branch is told, answered and gone, and is never an activation', () => {
  const began = START + 540_000;
  let { alarms } = stateAfter(runWith('alarm.X false@0:00 true@9:00 false@9:10 true@9:20'));
  const say = (is: string, eyesOpen = true) => {
    const told = alarmTold(rules, alarms, { code: 'X', side: 'branch', is, at: began + 60_000, eyesOpen });
    ({ alarms } = told);
    return told.event && [told.event.change, told.event.of, told.event.counted, isActivation(told.event)];
  };
  expect(say(`${began} acknowledged`)).toBeNull();
  expect(say(`${began} branched`)).toEqual(['branched', began, true, false]);
  expect(say(`${began} branched`)).toBeNull();
  expect(alarms['X']?.branches).toEqual([began]);
  expect(say(`${began} acknowledged`)).toEqual(['acknowledged', began, true, false]);
  expect(say(`${began} activated`)).toBeNull();
  expect(say(`${began} branch-ended`, false)).toEqual(['branch-ended', began, false, false]);
  expect(alarms['X']?.branches).toEqual([]);
});

test('[AL4] of one alarm at most 20 branches are remembered', () => {
  let alarms: Readonly<Record<string, AlarmStand>> = {};
  for (let i = 0; i < 100; i++)
    ({ alarms } = alarmTold(rules, alarms, { code: 'X', side: 'branch', is: `${i} branched`, at: i, eyesOpen: true }));
  expect(alarms['X']?.branches).toHaveLength(20);
});

test('[AL6] confirmed is told like acknowledged, and one is not the other', () => {
  expect(
    told(
      runWith('alarm.X false@0:00 true@9:00', 'alarm-acknowledged.X false@9:00 true@9:30', 'alarm-confirmed.X false@9:00 true@9:50'),
      'alarm',
    ),
  ).toEqual(['alarm 9:00 X activated', 'alarm 9:30 X acknowledged', 'alarm 9:50 X confirmed']);
});

test('[AL6] an acknowledgement at the machine is told once, when it was seen', () => {
  const story = (acknowledged: string) =>
    told(runWith('alarm.RF_REFL_HIGH false@0:00 true@9:00', `alarm-acknowledged.RF_REFL_HIGH ${acknowledged}`), 'alarm');
  expect(story('true@0:00 false@9:00 true@9:30 true@9:40')).toEqual([
    'alarm 9:00 RF_REFL_HIGH activated',
    'alarm 9:30 RF_REFL_HIGH acknowledged',
  ]);
  expect(story('true@9:30')).toEqual(['alarm 9:00 RF_REFL_HIGH activated']);
  expect(
    told(
      runWith('alarm-acknowledged.RF_REFL_HIGH false@0:00', 'alarm-suppressed.RF_REFL_HIGH false@0:00', 'alarm.RF_REFL_HIGH true@0:00'),
      'alarm',
    ),
  ).toEqual(['alarm 0:00 RF_REFL_HIGH activated uncounted']);
});
