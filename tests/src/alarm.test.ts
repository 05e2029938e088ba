import { expect, test } from 'vitest';
import { alarmTold, definitionOf } from '../../src/alarm.ts';
import type { AlarmStand } from '../../src/chamber-state.ts';
import { rulesBySignals as rules } from '../scenarios/scenario-rules.ts';
import { runWith, stateAfter, told } from './story.ts';

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
  const { alarms } = alarmTold(rules, {}, { code: '__proto__', active: true, at: 1, eyesOpen: true });
  expect(Object.keys(alarms)).toEqual(['__proto__']);
});

test('[AL4] at most 200 codes of at most 40 characters are remembered', () => {
  let alarms: Readonly<Record<string, AlarmStand>> = {};
  for (let i = 0; i < 500; i++)
    ({ alarms } = alarmTold(rules, alarms, { code: `${'X'.repeat(60)}${i}`, active: true, at: i, eyesOpen: true }));
  expect(Object.keys(alarms)).toEqual(['X'.repeat(40)]);
  for (let i = 0; i < 500; i++) ({ alarms } = alarmTold(rules, alarms, { code: `X${i}`, active: true, at: i, eyesOpen: true }));
  expect(Object.keys(alarms)).toHaveLength(200);
  expect(JSON.stringify(stateAfter(runWith())).length).toBeLessThan(10_000);
});
