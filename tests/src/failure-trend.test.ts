import { describe, expect, test } from 'vitest';
import { laplace, militaryHandbook, powerLaw, reverseArrangement } from '../../src/failure-trend.ts';
import { random } from './random-history.ts';

/** NIST e-Handbook 8.2.3.4 and 8.4.5.2: repairs of one system watched for 1500 h (data seen). */
const TIMES = [5, 40, 43, 175, 389, 712, 747, 795, 1299, 1478];
const NIST = { timesH: TIMES, endH: 1500 };

describe('trend of failures', () => {
  test('[FT1] R6: 33 reversals of 45, chance .036275; 32 would have .054157 (NIST 8.2.3.4, data seen; chance recomputed by counting)', () => {
    const found = reverseArrangement(TIMES);
    expect(found).toMatchObject({ reversals: 33, pairs: 45 });
    expect(found?.pImproving).toBeCloseTo(0.036275, 6);
    expect(found?.z).toBeCloseTo(1.9677, 4);
    // A neighbouring pair of gaps swapped takes one reversal away.
    const gaps = [35, 5, 3, 132, 214, 323, 35, 48, 504, 179];
    const swapped = gaps.map((_, i) => gaps.slice(0, i + 1).reduce((a, b) => a + b, 0));
    const less = reverseArrangement(swapped);
    expect(less?.reversals).toBe(32);
    expect(less?.pImproving).toBeCloseTo(0.054157, 6);
  });

  test('[FT1] steadily longer gaps reverse every pair, chance 1/5!; steadily shorter none, the same chance the other way (by hand)', () => {
    const longer = reverseArrangement([1, 3, 6, 10, 15]);
    expect([longer?.reversals, longer?.pImproving, longer?.pWorsening]).toEqual([10, expect.closeTo(1 / 120, 12), expect.closeTo(1, 12)]);
    const shorter = reverseArrangement([5, 9, 12, 14, 15]);
    expect([shorter?.reversals, shorter?.pWorsening]).toEqual([0, expect.closeTo(1 / 120, 12)]);
    expect(reverseArrangement([1, 2, 3])).toMatchObject({
      reversals: 0,
      pImproving: expect.closeTo(1, 12),
      pWorsening: expect.closeTo(1, 12),
    });
  });

  test('[FT2] R6: the military handbook test gives 37.2281 with 20 degrees, p .010986 (NIST 8.2.3.4)', () => {
    const found = militaryHandbook(NIST);
    expect(found?.chiSquare).toBeCloseTo(37.2281, 4);
    expect(found?.degrees).toBe(20);
    expect(found?.pImproving).toBeCloseTo(0.010986, 6);
  });

  test('[FT3] R6: Laplace z is -1.326949, share below .09226 (NIST 8.2.3.4)', () => {
    expect(laplace(NIST)?.z).toBeCloseTo(-1.326949, 6);
    expect(laplace(NIST)?.pImproving).toBeCloseTo(0.09226, 4);
  });

  test("[FT4] R7: NIST's estimator gives b .4835060, a .2913003, MTBF at the end 310.2340 h, 80 % from 157.7138 to 548.5566 h (NIST 8.4.5.2, seen)", () => {
    const nist = powerLaw(NIST, 0.8)?.nist;
    expect(nist).toMatchObject({ estimator: 'NIST, bias-corrected', confidence: 0.8 });
    expect(nist?.b).toBeCloseTo(0.483506, 6);
    expect(nist?.growthSlope).toBeCloseTo(0.516494, 6);
    expect(nist?.a).toBeCloseTo(0.2913003, 6);
    expect(nist?.mtbfAtEndH).toBeCloseTo(310.234, 3);
    expect(nist?.lowH).toBeCloseTo(157.7138, 4);
    expect(nist?.highH).toBeCloseTo(548.5566, 4);
  });

  test('[FT4] R7: maximum likelihood gives .5372289 and 279.2106 h for the same data, under its own name (recomputed)', () => {
    const mle = powerLaw(NIST, 0.8)?.mle;
    expect(mle?.estimator).toBe('maximum likelihood');
    expect(mle?.b).toBeCloseTo(0.5372289, 6);
    expect(mle?.mtbfAtEndH).toBeCloseTo(279.2106, 4);
  });

  test('[FT4] with too few failures for the approximation there is no upper bound', () => {
    expect(powerLaw({ timesH: [10, 20], endH: 100 }, 0.99)?.nist.highH).toBeNull();
  });

  test('[FT5] fewer than two failures, or one at no hours at all, have no trend; a failure outside the span is a mistake of the caller', () => {
    expect([reverseArrangement([5]), laplace({ timesH: [5], endH: 10 }), powerLaw({ timesH: [5], endH: 10 }, 0.8)]).toEqual([
      null,
      null,
      null,
    ]);
    expect(militaryHandbook({ timesH: [0, 5], endH: 10 })).toBeNull();
    expect(powerLaw({ timesH: [10, 10], endH: 10 }, 0.8)).toBeNull();
    expect(() => militaryHandbook({ timesH: [5, 11], endH: 10 })).toThrow('11');
  });

  test('[FT1] [FT2] [FT3] without a trend each test calls improvement at 5 % in at most about 5 % of 2,000 histories of 12 failures (Monte Carlo)', () => {
    const chance = random(7);
    const calls = [0, 0, 0];
    for (let n = 0; n < 2000; n++) {
      const timesH = Array.from({ length: 12 }, () => 1000 * chance() || 1).sort((a, b) => a - b);
      const history = { timesH, endH: 1000 };
      const found = [reverseArrangement(timesH), militaryHandbook(history), laplace(history)];
      for (const [i, each] of found.entries()) if ((each as { pImproving: number }).pImproving <= 0.05) calls[i] = (calls[i] as number) + 1;
    }
    for (const count of calls) expect(count / 2000).toBeLessThan(0.065);
    for (const count of calls) expect(count / 2000).toBeGreaterThan(0.03);
  });
});
