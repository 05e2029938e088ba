import { describe, expect, test } from 'vitest';
import { countBounds, meanBetween, meanTimeBounds, mtbfBounds } from '../../src/mtbf-bounds.ts';
import { random } from './random-history.ts';

describe('bounds of the mean time between failures', () => {
  test('[MB1] R1: 800 h, 2 failures, 90 % two-sided: 400 h, 127.0690 to 2251.2286 h (NIST e-Handbook 8.4.5.1; example from memory, formula seen)', () => {
    const found = mtbfBounds({ amount: 800, failures: 2, confidence: 0.9 });
    expect(found).toMatchObject({ estimate: 400, sides: 'two-sided', confidence: 0.9 });
    expect(found.low).toBeCloseTo(127.069, 4);
    expect(found.high).toBeCloseTo(2251.2286, 4);
  });

  test('[MB1] R2: the same at 95 %: 110.7314 to 3302.9288 h (NIST 8.4.5.1)', () => {
    const found = mtbfBounds({ amount: 800, failures: 2, confidence: 0.95 });
    expect(found.low).toBeCloseTo(110.7314, 4);
    expect(found.high).toBeCloseTo(3302.9288, 4);
  });

  test('[MB2] R3: 500 h without a failure: at least 217.14724 h with 90 %, 166.90410 h with 95 %; no estimate, no upper bound (NIST 8.4.5.1, seen)', () => {
    const found = mtbfBounds({ amount: 500, failures: 0, confidence: 0.9 });
    expect(found).toMatchObject({ estimate: null, high: null, sides: 'lower only' });
    expect(found.low).toBeCloseTo(217.14724, 5);
    expect(mtbfBounds({ amount: 500, failures: 0, confidence: 0.95 }).low).toBeCloseTo(166.9041, 5);
    expect(mtbfBounds({ amount: 0, failures: 0, confidence: 0.9 }).low).toBeNull();
  });

  test('[MB1] R4: 500 h, 1 failure, 90 %: 105.39930 to 9747.86287 h (NIST 8.4.5.1)', () => {
    const found = mtbfBounds({ amount: 500, failures: 1, confidence: 0.9 });
    expect(found.low).toBeCloseTo(105.3993, 4);
    expect(found.high).toBeCloseTo(9747.86287, 4);
  });

  test('[MB1] R5: a week of 96 productive hours with 4 failures: 12.00962 to 55.02159 h at 80 %, 10.48777 to 70.26181 h at 90 % (NIST 8.4.5.1)', () => {
    const at = (confidence: number) => mtbfBounds({ amount: 96, failures: 4, confidence });
    expect([at(0.8).low, at(0.8).high].map((h) => h?.toFixed(5))).toEqual(['12.00962', '55.02159']);
    expect([at(0.9).low, at(0.9).high].map((h) => h?.toFixed(5))).toEqual(['10.48777', '70.26181']);
  });

  // Factors × the estimate, as NIST 8.4.5.1 tabulates them (digits recomputed with scipy): failures, then low and high at 60, 80, 90, 95 %.
  test.each([
    [1, 0.334, 4.4814, 0.2571, 9.4912, 0.2108, 19.4957, 0.1795, 39.4979],
    [2, 0.4674, 2.426, 0.3758, 3.7607, 0.3177, 5.6281, 0.2768, 8.2573],
    [3, 0.544, 1.9543, 0.449, 2.7222, 0.3869, 3.6689, 0.3422, 4.8491],
    [4, 0.5952, 1.7416, 0.5004, 2.2926, 0.437, 2.9276, 0.3906, 3.6702],
    [5, 0.6324, 1.6184, 0.5391, 2.0554, 0.4756, 2.5379, 0.4285, 3.0798],
    [6, 0.6611, 1.537, 0.5697, 1.9036, 0.5067, 2.2962, 0.4594, 2.7249],
    [10, 0.7326, 1.3719, 0.6491, 1.6074, 0.5895, 1.8432, 0.5438, 2.0853],
    [20, 0.8088, 1.2367, 0.7395, 1.3769, 0.6882, 1.5089, 0.6475, 1.6371],
  ])('[MB1] the table of factors for %d failures at 60, 80, 90 and 95 % (NIST 8.4.5.1)', (failures, ...factors) => {
    const found = [0.6, 0.8, 0.9, 0.95].flatMap((confidence) => {
      const { low, high } = mtbfBounds({ amount: failures, failures, confidence });
      return [low, high];
    });
    for (const [i, factor] of factors.entries()) expect(Math.abs((found[i] as number) - factor)).toBeLessThanOrEqual(0.50001e-4);
  });

  test('[MB2] the multipliers of no failure at 60, 80, 90, 95 % are 1.0914, .6213, .4343, .3338 (recomputed; three of them as E10 is remembered to print)', () => {
    const found = [0.6, 0.8, 0.9, 0.95].map((confidence) => mtbfBounds({ amount: 1, failures: 0, confidence }).low?.toFixed(4));
    expect(found).toEqual(['1.0914', '0.6213', '0.4343', '0.3338']);
  });

  test.each([
    [0, 0, 3.688879],
    [1, 0.025318, 5.571643],
    [5, 1.623486, 11.668332],
    [10, 4.795389, 18.390356],
  ])('[MB3] R8: a count of %d has the limits %d and %d at 95 percent (Garwood, textbook; recomputed with scipy)', (count, low, high) => {
    const found = countBounds(count, 0.95);
    expect(found.low).toBeCloseTo(low, 6);
    expect(found.high).toBeCloseTo(high, 6);
  });

  test('[MB4] U7: 84 h and 3 failures are 28 h by failures and 21 h by failures plus one (ISO 22400-2 divisor unverified): the divisor is told', () => {
    expect(meanBetween(84, 3, 'failures')).toEqual({ value: 28, divisor: 'failures' });
    expect(meanBetween(84, 3, 'failures + 1')).toEqual({ value: 21, divisor: 'failures + 1' });
    expect(meanBetween(84, 0, 'failures').value).toBeNull();
    expect(meanBetween(84, 0, 'failures + 1').value).toBe(84);
  });

  test('[MB5] five repairs of 10 h in all: mean 2 h, 90 % from 20/18.307 to 20/3.940 h (chi-square table of NIST 1.3.6.7.4, from memory)', () => {
    const found = meanTimeBounds({ amount: 10, failures: 5, confidence: 0.9 });
    expect(found.estimate).toBe(2);
    expect(found.low).toBeCloseTo(20 / 18.307, 4);
    expect(found.high).toBeCloseTo(20 / 3.9403, 4);
    expect(meanTimeBounds({ amount: 0, failures: 0, confidence: 0.9 })).toMatchObject({ estimate: null, low: null, high: null });
  });

  test('[MB1] of 4,000 simulated weeks with a true mean of 20 h, the 90 % bounds hold it in at least 90 % (Monte Carlo)', () => {
    const chance = random(41);
    let held = 0;
    for (let week = 0; week < 4000; week++) {
      let failures = 0;
      for (let at = -20 * Math.log(1 - chance()); at < 96; at -= 20 * Math.log(1 - chance())) failures += 1;
      const { low, high } = mtbfBounds({ amount: 96, failures, confidence: 0.9 });
      if ((low as number) <= 20 && (high ?? Infinity) >= 20) held += 1;
    }
    expect(held / 4000).toBeGreaterThan(0.9);
    expect(held / 4000).toBeLessThan(0.97);
  });

  test('[MB1] half a failure is a mistake of the caller', () => {
    expect(() => mtbfBounds({ amount: 1, failures: 0.5, confidence: 0.9 })).toThrow('0.5');
    expect(() => countBounds(-1, 0.9)).toThrow('-1');
  });
});
