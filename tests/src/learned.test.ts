import { expect, test } from 'vitest';
import type { Learned, OpenRun } from '../../src/chamber-state.ts';
import { learn, medianPlasmaMs } from '../../src/learned.ts';
import { runWith, stateAfter } from './story.ts';
import { openRunExample } from './examples.ts';

const run = (recipe: string, seconds: number): OpenRun =>
  openRunExample({
    recipe,
    phases: [
      { phase: 'plasma', step: 1, from: 0, to: seconds * 1000, source: 'tag' },
      { phase: 'vent', step: null, from: 0, to: 90_000, source: 'tag' },
    ],
  });

test('[LN1] completed, wholly observed runs teach: the last 20 of each recipe, of the 12 used last', () => {
  expect(stateAfter(runWith()).learned[0]?.durations).toMatchObject({
    'plasma/1': [240_000],
    'plasma/2': [1_080_000],
    'purge/': [60_000],
    'vent/': [90_000],
  });
  expect(stateAfter(runWith('silence 20:00..23:00')).learned).toEqual([]);
  let learned: readonly Learned[] = [];
  for (let i = 0; i < 30; i++) learned = learn(learned, run('A', i));
  expect(learned[0]?.durations['plasma/1']).toEqual(Array.from({ length: 20 }, (_, i) => (10 + i) * 1000));
  for (let i = 0; i < 12; i++) learned = learn(learned, run(`R${i}`, i));
  expect(learned.map(({ recipe }) => recipe)).toEqual(Array.from({ length: 12 }, (_, i) => `R${i}`));
});

test('[LN2] a median needs three runs', () => {
  let learned = learn(learn([], run('A', 100)), run('A', 102));
  expect(medianPlasmaMs(learned, 'A')).toBeNull();
  learned = learn(learned, run('A', 110));
  expect(medianPlasmaMs(learned, 'A')).toBe(102_000);
  expect(medianPlasmaMs(learned, 'B')).toBeNull();
});
