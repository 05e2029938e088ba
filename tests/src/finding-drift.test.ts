import { expect, test } from 'vitest';
import type { DriftCell, DriftFleet } from '../../src/drift-answer.ts';
import { driftFindings } from '../../src/finding-drift.ts';
import { at } from './watch-fixture.ts';

const cell = (part: Partial<DriftCell>): DriftCell => ({
  ...{ name: 'pump-down-first', recipe: null, line: null, gas: null, state: 'shifted', learned: null, value: 161, usual: 137, sigma: 3 },
  ...{ size: '+24 s (17 %)', sentence: 'Pump-down 24 s longer (17 %): 161 s, usually 137 s, for 12 runs.', since: at(-600), runsSince: 12 },
  ...part,
});
const cause = {
  ...{
    cause: 'pump speed',
    evidence: ['First part slower.'],
    against: ['Tail unchanged.'],
    open: ['rate of rise'],
    firstCheck: 'Check the belt.',
  },
};
const fleet = (cells: DriftCell[], pointsTo: DriftFleet['chambers'][number]['pointsTo'] = { recipe: 'DSM', causes: [cause] }) => ({
  chambers: [{ chamber: 'PC-07', recipes: ['DSM'], cells, pointsTo }],
  notCheckable: 'Flow calibration is not checkable.',
});

test('[DG1] one finding per chamber and figure that shifted; an odd run and what is learned are none', () => {
  const cells = [cell({}), cell({ name: 'plasma-pressure', recipe: 'DSM' }), cell({ name: 'flow-zero', gas: 'O2', line: 1 })];
  expect(driftFindings(fleet(cells), 'UTC').map(({ subject }) => subject)).toEqual([
    'PC-07 pump-down-first',
    'PC-07 plasma-pressure',
    'PC-07 flow-zero O2',
  ]);
  for (const state of ['odd-run', 'learning', 'steady', 'no-figure'] as const)
    expect(driftFindings(fleet([cell({ state })]), 'UTC')).toEqual([]);
});

test('[DG2] it says size, since when, what it points to, for and against, what is not known, and the first check', () => {
  const [found] = driftFindings(fleet([cell({})]), 'UTC');
  expect(found).toMatchObject({
    chamber: 'PC-07',
    headline: 'PC-07: Pump-down 24 s longer (17 %): 161 s, usually 137 s, for 12 runs. It points to pump speed.',
    cure: 'Check the belt.',
    cause: 'pump speed',
    over: 'PC-07: over. Pump-down is back to its usual, or its baseline began anew after maintenance.',
    facts: [
      { label: 'Size', value: '+24 s (17 %)' },
      { label: 'Since', value: '25 Nov 02:00, 12 runs' },
      { label: 'For it', value: 'First part slower.' },
      { label: 'Against it', value: 'Tail unchanged.' },
      { label: 'Not known yet', value: 'rate of rise' },
      { label: 'Not checkable', value: 'Flow calibration is not checkable.' },
    ],
  });
});

test('[DG3] a leak whose pattern names nothing is told with its usual cause as advice; what has none is said to fit no pattern', () => {
  const rise = { name: 'rate-of-rise', value: 0.4, usual: 0.1, sentence: 'Rate of rise 300 mTorr/min higher: for 2 runs.' };
  for (const name of ['rate-of-rise', 'base-pressure'])
    expect(driftFindings(fleet([cell({ ...rise, name })], { recipe: 'DSM', causes: [] }), 'UTC')[0]).toMatchObject({
      headline: expect.stringMatching(/by itself this is most often a leak/) as string,
      cure: expect.stringMatching(/^Check .*leak/) as string,
      cause: null,
    });
  expect(driftFindings(fleet([cell({ name: 'purge' })], null), 'UTC')[0]).toMatchObject({
    headline: expect.stringContaining('fits no pattern') as string,
    cause: null,
  });
});
