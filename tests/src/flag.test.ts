import { expect, test } from 'vitest';
import { held, NEVER, rawly, told, UNSEEN } from '../../src/flag.ts';

test('[FL1] a flag turns once the opposite held, back-dated to when it was first seen', () => {
  const off = { on: false, since: 0, turningAt: NEVER };
  const turning = told(told(off, true, 5_000), true, 6_000);
  expect(rawly(turning)).toBe(true);
  expect(held(turning, 2_000, 6_999)).toBe(turning);
  expect(held(turning, 2_000, 7_000)).toEqual({ on: true, since: 5_000, turningAt: NEVER });
});

test('[FL2] a change that does not hold leaves no mark', () => {
  const off = { on: false, since: 0, turningAt: NEVER };
  expect(told(told(off, true, 5_000), false, 6_000)).toEqual(off);
});

test('[FL3] a flag never seen takes its first value at once, and no word leaves it unseen', () => {
  expect(told(UNSEEN, true, 9)).toEqual({ on: true, since: 9, turningAt: NEVER });
  expect(told(UNSEEN, null, 9)).toBe(UNSEEN);
});
