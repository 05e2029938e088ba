import { expect, test } from 'vitest';
import { stripCounts } from '../../dashboard/strip-counts.ts';
import { fleetOf } from '../e2e/fixture-plant.ts';

const NOW = Date.UTC(2026, 10, 25, 9, 48);
const none = { running: 0, waiting: 0, idle: 0, down: 0, unobserved: 0, nonscheduled: 0, engineering: 0 };

test.each([4, 12, 24, 40])('the counts over a hall of %i chambers add up to it', (chambers) => {
  const { usual, rare } = stripCounts(fleetOf(chambers, NOW, 'x').strip.counts, false);
  expect([...usual, ...rare].reduce((sum, { n }) => sum + n, 0)).toBe(chambers);
});

test('a chamber without a planned shift is not idle', () => {
  const { usual, rare } = stripCounts({ ...none, nonscheduled: 3, idle: 1 }, false);
  expect([...usual, ...rare].filter(({ n }) => n > 0).map(({ word, n }) => `${n} ${word}`)).toEqual(['1 idle', '3 no shift']);
});

test('rare counts are shown only while there are any, the usual ones always', () => {
  const { usual, rare } = stripCounts(none, false);
  expect([usual.map(({ word }) => word), rare]).toEqual([['running', 'waiting', 'down', 'no data', 'idle'], []]);
  expect(stripCounts({ ...none, engineering: 1 }, false).rare).toMatchObject([{ word: 'engineering', n: 1 }]);
});

test('down is red only while somebody has yet to come', () => {
  expect([true, false].map((called) => stripCounts({ ...none, down: 1 }, called).usual[2]!.tone)).toEqual(['act', '']);
});
