import { expect, test } from 'vitest';
import { isActivation } from '../../src/activation.ts';
import { initialChamber } from '../../src/chamber.ts';
import { rulesBySignals } from '../scenarios/scenario-rules.ts';
import { observeAll, readingsOfStory, runWith } from './story.ts';

const STORY = [
  'alarm.RF_REFL_HIGH false@0:00 true@2:00 false@2:30 true@4:00 false@4:10',
  'sequence.mode auto@0:00 maintenance@1:00 auto@3:00',
];

function told(outOfServiceInMaintenance: boolean, ...more: readonly string[]) {
  const rules = { ...rulesBySignals, outOfServiceInMaintenance };
  const { events } = observeAll(rules, readingsOfStory(runWith(...STORY, ...more)), initialChamber(rules));
  return events.flatMap((event) =>
    event.kind === 'alarm'
      ? [
          `${new Date(event.at).toISOString().slice(14, 19)} ${event.change} ${event.suppressedAs?.join() ?? ''}${isActivation(event) ? ' counts' : ''}`,
        ]
      : [],
  );
}

test('[AG1] without a word of the site file maintenance mode changes nothing about alarms', () => {
  expect(told(false)).toEqual(['02:00 activated  counts', '02:30 cleared ', '04:00 activated  counts', '04:10 cleared ']);
});

test('[AG1] [AG2] with it they are out of service as long as the mode lasts, and what is activated then does not count', () => {
  expect(told(true)).toEqual([
    '01:00 suppression out of service',
    '02:00 activated out of service',
    '02:30 cleared out of service',
    '03:00 suppression ',
    '04:00 activated  counts',
    '04:10 cleared ',
  ]);
});

test('[AG1] a condition has states of its own and keeps them', () => {
  expect(told(true, 'alarm-acknowledged.RF_REFL_HIGH false@0:00')).toEqual([
    '02:00 activated  counts',
    '02:30 cleared ',
    '04:00 activated  counts',
    '04:10 cleared ',
  ]);
});

test('[AG2] an alarm first heard of in maintenance is out of service from that word on', () => {
  const late = 'alarm.RF_REFL_HIGH true@2:00';
  const rules = { ...rulesBySignals, outOfServiceInMaintenance: true };
  const story = readingsOfStory(runWith(late, 'sequence.mode auto@0:00 maintenance@1:00')).filter(
    ({ at }) => at < Date.parse('2026-11-25T06:05:00Z'),
  );
  const { events } = observeAll(rules, story, initialChamber(rules));
  expect(events.flatMap((event) => (event.kind === 'alarm' ? [[event.change, event.suppressed, event.counted]] : []))).toEqual([
    ['suppression', true, false],
    ['activated', true, false],
  ]);
});
