import { expect, test } from 'vitest';
import { chiSquareQuantile, chiSquareTail } from '../../src/chi-square.ts';
import { poissonTail } from '../../src/scan-statistic.ts';

// NIST e-Handbook 1.3.6.7.4, upper critical values (from memory, three decimals as printed).
test.each([
  [0.95, 2, 5.991],
  [0.95, 10, 18.307],
  [0.99, 20, 37.566],
  [0.9, 30, 40.256],
  [0.05, 10, 3.94],
  [0.975, 4, 11.143],
])('[CQ2] the %d quantile with %d degrees is %d (NIST e-Handbook 1.3.6.7.4, from memory)', (p, degrees, printed) => {
  expect(chiSquareQuantile(p, degrees)).toBeCloseTo(printed, 3);
});

test('[CQ1] with two degrees the tail is exp(-x/2), and every tail is a Poisson sum computed another way', () => {
  expect(chiSquareTail(3, 2)).toBeCloseTo(Math.exp(-1.5), 15);
  for (const k of [1, 2, 5, 17, 40])
    for (const x of [0.1, 3, 20, 90]) expect(chiSquareTail(x, 2 * k)).toBeCloseTo(1 - poissonTail(k, x / 2), 12);
});

test('[CQ1] two thousand degrees do not underflow: the tail at the middle is near a half', () => {
  // Wilson-Hilferty puts the median at k(1 - 2/(9k))^3 (textbook).
  expect(chiSquareTail(2000 * (1 - 2 / 18000) ** 3, 2000)).toBeCloseTo(0.5, 4);
});

test('[CQ1] [CQ2] odd degrees and shares outside 0..1 are a mistake of the caller; nothing lies below zero', () => {
  expect(() => chiSquareTail(1, 3)).toThrow('even');
  expect(() => chiSquareQuantile(1, 2)).toThrow('0..1');
  expect([chiSquareTail(0, 4), chiSquareTail(-3, 4)]).toEqual([1, 1]);
});
