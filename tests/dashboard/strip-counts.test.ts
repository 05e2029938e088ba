import { expect, test } from 'vitest';
import { stripCounts } from '../../dashboard/strip-counts.ts';
import { face } from '../../dashboard/tile-face.ts';
import { tileCounts } from '../../src/fleet-strip.ts';
import { fleetOf } from '../e2e/fixture-plant.ts';

const NOW = Date.UTC(2026, 10, 25, 9, 48);
const none = tileCounts([]);

test.each([4, 12, 24, 40])('the counts over a hall of %i chambers add up to it', (chambers) => {
  const { usual, rare } = stripCounts(fleetOf(chambers, NOW, 'x').strip.counts, false);
  expect([...usual, ...rare].reduce((sum, { n }) => sum + n, 0)).toBe(chambers);
});

test('as many run, load, hold and stand over the hall as tiles say so', () => {
  const first = fleetOf(12, NOW, 'x').chambers[0]!;
  const productive = { ...first, state: 'productive' as const, link: 'live' as const, need: null, waitingSince: null };
  const tiles = [
    productive,
    { ...productive, phase: 'load' as const },
    { ...productive, phase: 'unload' as const },
    { ...productive, phase: 'hold' as const },
    { ...productive, state: 'scheduled-downtime' as const },
    { ...productive, state: 'unscheduled-downtime' as const },
  ];
  const { usual, rare } = stripCounts(tileCounts(tiles), false);
  const shown = [...usual, ...rare].filter(({ n }) => n > 0).map(({ word, n }) => `${n} ${word}`);
  expect(tiles.map((tile) => face(tile, { now: NOW, zone: 'UTC', speed: 1 }).word)).toEqual([
    'RUNNING',
    'LOADING',
    'UNLOADING',
    'ON HOLD',
    'MAINTENANCE',
    'DOWN',
  ]);
  expect(shown).toEqual(['1 running', '1 down', '2 door open', '1 on hold', '1 maintenance']);
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
