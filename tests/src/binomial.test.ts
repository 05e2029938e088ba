import { binomialDistribution } from 'simple-statistics';
import { expect, test } from 'vitest';
import { atLeast } from '../../src/binomial.ts';

// simple-statistics gives the single terms; summed here from the other end.
test.each([
  [4, 0.045],
  [9, 0.2],
  [20, 0.12],
  [20, 0.9],
])('[BI1] at least k of %i at a share of %f, beside simple-statistics', (of, share) => {
  const terms = binomialDistribution(of, share) as number[];
  for (let k = 0; k <= of; k++) {
    const beside = terms.slice(k).reduce((sum, term) => sum + term, 0);
    // Its list ends where the sum is within 1e-4 of one.
    expect(Math.abs(atLeast(k, { of, share }) - beside)).toBeLessThan(1.1e-4);
  }
});

test('[BI1] by hand: four of four at 1/22 is 1/22^4; 19 or more of 20 at one half is 21/2^20', () => {
  expect(atLeast(4, { of: 4, share: 1 / 22 })).toBeCloseTo(1 / 22 ** 4, 15);
  expect(atLeast(19, { of: 20, share: 0.5 })).toBeCloseTo(21 / 2 ** 20, 15);
  expect(atLeast(0, { of: 5, share: 0.3 })).toBeCloseTo(1, 12);
  expect(atLeast(6, { of: 5, share: 0.3 })).toBe(0);
});
