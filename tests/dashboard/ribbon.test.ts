import { expect, test } from 'vitest';
import { ribbon } from '../../dashboard/ribbon.ts';

const stretch = (phase: 'pump-down' | 'plasma' | 'vent', from: number, to: number): Parameters<typeof ribbon>[0][number] => ({ phase, step: null, from, to, expected: false });
const run = [stretch('pump-down', 100, 200), stretch('plasma', 200, 700), stretch('vent', 700, 1100)];

test('widths are shares of the time of the run and fill it without a hole', () => {
  const drawn = ribbon(run, 450)!;
  expect(drawn.pieces.map((p) => p.width)).toEqual([0.1, 0.5, 0.4]);
  expect(drawn.pieces.map((p) => p.start)).toEqual([0, 0.1, 0.6]);
});

test('the edge is now, and each piece knows how much of it is past', () => {
  const drawn = ribbon(run, 450)!;
  expect(drawn.now).toBe(0.35);
  expect(drawn.pieces.map((p) => p.done)).toEqual([1, 0.5, 0]);
});

test('a run past its expected end is all past, and a stretch without length is left out', () => {
  expect(ribbon(run, 5000)).toMatchObject({ now: 1 });
  expect(ribbon([...run, stretch('vent', 1100, 1100)], 450)!.pieces).toHaveLength(3);
  expect(ribbon([], 450)).toBeNull();
});
