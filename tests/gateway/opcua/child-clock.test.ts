import { expect, test } from 'vitest';
import { childClock } from '../../../gateway/opcua/child-clock.ts';

test('plant time is in whole milliseconds at any pace, because facts and recorded samples are', () => {
  let real = 1_000_000;
  const clock = childClock({ realMs: real, plantMs: 5_000_000, speed: 1.5 }, () => real);
  const read = Array.from({ length: 10 }, () => ((real += 7), clock.now()));
  expect(read.every(Number.isInteger)).toBe(true);
  expect(read.at(-1)).toBe(5_000_000 + 70 * 1.5);
  expect(read).toEqual(read.toSorted((a, b) => a - b));
});
