import { expect, test } from 'vitest';
import { isActivation } from '../../src/activation.ts';
import type { AlarmEvent } from '../../src/event.ts';

const alarm: AlarmEvent = {
  kind: 'alarm',
  chamber: 'PC-01',
  at: 0,
  code: 'A',
  text: 'A',
  priority: 'low',
  notice: false,
  change: 'activated',
  counted: true,
  suppressed: false,
};

test.each([
  ['an activation', {}, true],
  ['a clearing', { change: 'cleared' }, false],
  ['an acknowledgement', { change: 'acknowledged' }, false],
  ['a notice', { notice: true }, false],
  ['a suppressed alarm', { suppressed: true }, false],
  ['an alarm found standing', { counted: false }, false],
] as const)('[AC1] %s: %o counts: %s (in the manner of ISA-18.2, known second-hand)', (_what, part, counts) => {
  expect(isActivation({ ...alarm, ...part })).toBe(counts);
});
