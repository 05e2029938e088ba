import { describe, expect, test } from 'vitest';
import { eventsOf, runWith, taggedRun, told } from './story.ts';

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

/** The number counts the whole sequence: pump-down 1, gas 2, two plasma steps, purge 5, vent delay 6, vent 7. Power is sampled a second late. */
const NUMBER = 'recipe.step 0@0:00 1@6:05 2@8:25 3@8:45 4@12:46 5@30:46 6@31:46 7@31:50 0@33:20';
const EVER = NUMBER.replaceAll(/(\d)@/g, '103$1@');
const TIMES = [
  'recipe.stepCount 7@0:00',
  'recipe.stepDuration 0@0:00 140@6:05 20@8:25 241@8:45 1080@12:46 60@30:46 4@31:46 90@31:50 0@33:20',
];
const LATE = 'rf.forward 0@0:00 2800@8:46 3600@12:47 0@30:47';
const CODES = 'sequence.phaseCode 0@0:00 10@6:05 20@8:25 30@8:46 40@30:46 50@31:46 60@31:50 70@33:20 75@35:00';
const outcome = (text: string): readonly string[] => told(text, 'run').map((line) => line.split(' ').at(-1) as string);

const CONTROLLERS: readonly (readonly [string, readonly string[]])[] = [
  ['from 1 in each run', [NUMBER, ...TIMES]],
  ['never anew', [EVER, ...TIMES]],
  ['with nothing but the number', [EVER]],
  ['power sampled late', [NUMBER, ...TIMES, LATE]],
  ['power sampled late, without set points', [NUMBER, ...TIMES, LATE, 'rf.forwardSetPoint']],
  ['with a phase tag', ['rules tag', NUMBER, ...TIMES, LATE, CODES]],
];
describe.each(['all-steps', 'unsaid'])('a number that counts all steps (%s)', (counts) => {
  test.each(CONTROLLERS)('[PS4] [RN3] tells where plasma steps end and aborts no run: %s', (_, lines) => {
    const text = runWith(`steps ${counts}`, ...lines);
    expect(steps(text)).toEqual(['phase 8:46 plasma 1', 'phase 12:46 plasma 2']);
    expect(outcome(text)).toEqual(['completed']);
  });
});

test('[PS4] after a pause another number is the next step, whichever of number and power comes first, and the same number the same step', () => {
  const paused = (number: string, again: string): readonly string[] =>
    steps(
      runWith(
        'steps all-steps',
        `recipe.step 0@0:00 1@6:05 2@8:25 3@8:45 ${number} 6@30:46`,
        `rf.forward 0@0:00 2800@8:46 0@12:46 2800@${again} 0@30:46`,
        'rf.forwardSetPoint',
      ),
    );
  const first = 'phase 8:46 plasma 1';
  // Short enough to stay in the phase, then long enough to be a hold.
  for (const [again, before, after] of [
    ['13:10', '13:09', '13:12'],
    ['20:10', '20:09', '20:12'],
  ] as const) {
    expect(paused(`4@12:46 5@${before}`, again)).toEqual([first, `phase ${again} plasma 2`]);
    expect(paused(`4@12:46 5@${after}`, again)).toEqual([first, `phase ${again} plasma 2`]);
  }
  expect(paused('4@13:12', '13:10')).toEqual([first, 'phase 13:12 plasma 2']);
  expect(paused('4@20:12', '20:10')).toEqual([first, 'phase 20:10 plasma 1', 'phase 20:12 plasma 2']);
  expect(paused('', '13:10')).toEqual([first]);
  expect(paused('0@12:46 3@20:09', '20:10')).toEqual([first, 'phase 20:10 plasma 1']);
});

test('[PS4] a number that falls to zero while plasma burns, or was left standing by the run before, begins no step', () => {
  expect(steps(runWith('steps all-steps', 'recipe.step 0@0:00 3@8:45 0@10:00 3@10:10 5@30:46', 'rf.forwardSetPoint'))).toHaveLength(1);
  const anew = runWith(
    'steps unsaid',
    'pump.chamberValveOpen false@0:00 true@6:05 false@31:46 true@31:55 false@33:15',
    'vent.valveOpen false@0:00 true@33:17 false@33:20',
    'recipe.step 0@0:00 1@8:45 2@12:46 1@32:12',
    'rf.forward 0@0:00 2800@8:46 3600@12:46 0@30:46 2800@32:10 0@33:05',
    'rf.forwardSetPoint',
  );
  expect(steps(anew)).toEqual(['phase 8:46 plasma 1', 'phase 12:46 plasma 2', 'phase 32:10 plasma 1']);
});

test('[PS4] [RN3] where the number is no word on the end, an alarm that stops the run and the usual plasma time still are', () => {
  const short = ['rf.forward 0@0:00 2800@8:46 0@20:00', 'rf.forwardSetPoint 0@0:00 2800@8:45 0@20:00', 'recipe.step 0@0:00 3@8:45 0@20:00'];
  expect(outcome(runWith('steps all-steps', ...short, 'alarm.NO_IGNITION false@0:00 true@19:59'))).toEqual(['aborted']);
});

test('[PS5] the number of steps is shown and judged by only where the number counts plasma steps', () => {
  const counts = (words: string): readonly unknown[] =>
    eventsOf(runWith(words, NUMBER, ...TIMES)).flatMap((event) =>
      event.kind === 'phase' && event.phase === 'plasma' ? [event.stepCount] : [],
    );
  expect(counts('steps all-steps')).toEqual([null, null]);
  expect(counts('steps plasma-steps')).toContain(7);
  expect(outcome(runWith('steps plasma-steps', NUMBER, ...TIMES))).toEqual(['aborted']);
});
