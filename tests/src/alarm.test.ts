import { expect, test } from 'vitest';
import { isActivation } from '../../src/activation.ts';
import { alarmTold, definitionOf } from '../../src/alarm.ts';
import type { AlarmStand } from '../../src/chamber-state.ts';
import { rulesBySignals as rules } from '../scenarios/scenario-rules.ts';
import { eventsOf, runWith, stateAfter, told } from './story.ts';

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
    ['activated', true, false],
    ['cleared', true, false],
    ['activated', false, true],
  ]);
  // In the order of names (ordering.ts [OR1]) the server's word on shelving is judged before the activation of the same instant.
  expect(['alarm.X', 'alarm-suppressed.X', 'alarm-acknowledged.X'].sort().at(-1)).toBe('alarm.X');
});

test('[AL5] a word on shelving before the first on activity does not make the activation seen', () => {
  const word = { code: 'RF_REFL_HIGH', at: 1, eyesOpen: true };
  const { alarms } = alarmTold(rules, {}, { ...word, side: 'suppressed', is: true });
  expect(alarmTold(rules, alarms, { ...word, side: 'active', is: true }).event).toMatchObject({
    change: 'activated',
    counted: false,
    suppressed: true,
  });
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
