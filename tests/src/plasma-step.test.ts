import { expect, test } from 'vitest';
import { runWith, taggedRun, told } from './story.ts';

const steps = (text: string): readonly string[] => told(text, 'phase').filter((line) => line.includes('plasma'));

test('[PS1] the step tag decides', () => {
  expect(steps(taggedRun().replace('2@12:46', '2@12:40'))).toEqual(['phase 8:45 plasma 1', 'phase 12:40 plasma 2']);
});

test('[PS2] a settled change of a set point begins a step; noise, a pause and a change taken back do not', () => {
  expect(steps(runWith())).toEqual(['phase 8:46 plasma 1', 'phase 12:46 plasma 2']);
  expect(steps(runWith('rf.forwardSetPoint 0@0:00 2800@8:45 2840@10:00 0@30:46'))).toHaveLength(1);
  expect(steps(runWith('rf.forwardSetPoint 0@0:00 2800@8:45 3600@12:46 2800@12:48 0@30:46'))).toHaveLength(1);
  expect(steps(runWith('rf.forwardSetPoint 0@0:00 2800@8:45 0@12:46 2800@12:54 0@30:46'))).toHaveLength(1);
});

test('[PS3] without set points the actual values tell', () => {
  expect(steps(runWith('rf.forwardSetPoint'))).toEqual(['phase 8:46 plasma 1', 'phase 12:46 plasma 2']);
});
