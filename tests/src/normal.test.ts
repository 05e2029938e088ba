import { expect, test } from 'vitest';
import { normalQuantile, normalShare } from '../../src/normal.ts';

// Textbook values of the standard normal, ten digits (any table; from memory).
test.each([
  [0, 0.5],
  [1, 0.8413447461],
  [-1, 0.1586552539],
  [1.959963985, 0.975],
  [3, 0.998650102],
])('[ND1] the share below %d is %d (textbook)', (z, share) => expect(normalShare(z)).toBeCloseTo(share, 9));

test('[ND1] small tails keep their digits: -5 has 2.866516e-7, -8 has 6.220961e-16 (textbook); the two ways meet at four', () => {
  expect(normalShare(-5) / 2.866515719e-7).toBeCloseTo(1, 8);
  expect(normalShare(-8) / 6.220960574e-16).toBeCloseTo(1, 8);
  expect(normalShare(-4.0000001) / normalShare(-4)).toBeCloseTo(1, 6);
  expect(normalShare(5) + normalShare(-5)).toBe(1);
});

test('[ND2] the quantiles of 90, 95 and 99.865 % are 1.2815515655, 1.6448536270 and 3 (textbook)', () => {
  expect(normalQuantile(0.9)).toBeCloseTo(1.2815515655, 9);
  expect(normalQuantile(0.95)).toBeCloseTo(1.644853627, 9);
  expect(normalQuantile(normalShare(3))).toBeCloseTo(3, 9);
  expect(() => normalQuantile(0)).toThrow('0..1');
});
