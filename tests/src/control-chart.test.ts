import { describe, expect, test } from 'vitest';
import {
  cusum,
  ewma,
  ewmaReach,
  individuals,
  MODIFIED_Z,
  modifiedZ,
  RANGE_LIMIT,
  RANGE_TO_SIGMA,
  stretches,
} from '../../src/control-chart.ts';
import { normalQuantile, normalShare } from '../../src/normal.ts';

/** NIST e-Handbook 6.3.2.2, flow rate (data seen). */
const FLOW = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1];
/** NIST 6.3.2.4 (data seen). */
const EWMA = [52, 47, 53, 49.3, 50.1, 47, 51, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1];
const PRINTED = [
  50.6, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99,
];
/** NIST 6.3.2.3 (data seen). */
const CUSUM = [
  324.925, 324.675, 324.725, 324.35, 325.35, 325.225, 324.125, 324.525, 325.225, 324.6, 324.625, 325.15, 328.325, 327.25, 327.825, 328.5,
  326.675, 327.775, 326.875, 328.35,
];

describe('individuals and moving range', () => {
  test('[CC1] Q3: mean 50.81, mean range 1.877778, limits 55.80409 and 45.81591, range limit 6.1347 (NIST 6.3.2.2, seen)', () => {
    const chart = individuals([FLOW]);
    expect(chart?.n).toBe(10);
    expect(chart?.mean).toBeCloseTo(50.81, 10);
    expect(chart?.meanRange).toBeCloseTo(1.877778, 6);
    expect(chart?.upper).toBeCloseTo(55.80409, 5);
    expect(chart?.lower).toBeCloseTo(45.81591, 5);
    expect(chart?.rangeUpper).toBeCloseTo(6.1347, 4);
  });

  test('[CC1] Q3: the exact 2/√π, or the factor 2.66, would put the upper limit at 55.80241 or 55.80489: the constant is pinned', () => {
    const chart = individuals([FLOW]) as NonNullable<ReturnType<typeof individuals>>;
    expect(chart.mean + (3 * chart.meanRange * Math.sqrt(Math.PI)) / 2).toBeCloseTo(55.80241, 5);
    expect(chart.mean + 2.66 * chart.meanRange).toBeCloseTo(55.80489, 5);
    expect(chart.upper).not.toBeCloseTo(55.80241, 3);
  });

  test('[CC2] a maintenance between 5 and 95 makes no range of 90 (by hand: ranges 1, 1, 1, 1)', () => {
    const values = [4, 5, 6, 95, 96, 97].map((value, i) => ({ at: i * 10, value }));
    expect(individuals(stretches(values, []))?.meanRange).toBeCloseTo(93 / 5, 12);
    expect(stretches(values, [25])).toEqual([
      [4, 5, 6],
      [95, 96, 97],
    ]);
    expect(individuals(stretches(values, [25]))?.meanRange).toBe(1);
    expect(stretches(values, [30])).toHaveLength(2);
    expect(stretches(values, [20])).toEqual([
      [4, 5],
      [6, 95, 96, 97],
    ]);
  });

  test('[CC2] nor does a missing value or a long gap; alone values have no range and no limits', () => {
    const gap = [
      { at: 0, value: 1 },
      { at: 10, value: 2 },
      { at: 20, value: null },
      { at: 30, value: 9 },
      { at: 500, value: 10 },
    ];
    expect(stretches(gap, [], 100)).toEqual([[1, 2], [9], [10]]);
    expect(individuals([[1], [9]])).toBeNull();
    expect(individuals([])).toBeNull();
  });
});

describe('constants, recomputed by integrating the normal distribution', () => {
  const STEP = 0.02;
  const grid = Array.from({ length: 801 }, (_, i) => -8 + i * STEP);
  const shares = grid.map(normalShare);
  /** Mean and deviation of the range of n normal values: ∫(1 - F^n - (1-F)^n), and the same over pairs x < y for the square (textbook). */
  const range = (n: number): { d2: number; d3: number } => {
    const d2 = shares.reduce((sum, f) => sum + (1 - f ** n - (1 - f) ** n) * STEP, 0);
    let square = 0;
    for (const [i, low] of shares.entries()) {
      for (let j = i; j < shares.length; j++) {
        const high = shares[j] as number;
        square += (1 - high ** n - (1 - low) ** n + (high - low) ** n) * (i === j ? 1 : 2) * STEP ** 2;
      }
    }
    return { d2, d3: Math.sqrt(square - d2 ** 2) };
  };

  test.each([
    [2, 1.12838, 0.8525, 0, 3.2665, 1.88],
    [3, 1.69257, 0.88837, 0, 2.5746, 1.0233],
    [5, 2.32593, 0.86408, 0, 2.1145, 0.5768],
    [7, 2.70436, 0.83321, 0.0757, 1.9243, 0.4193],
  ])('[CC1] for %d values d2 %d, d3 %d, D3 %d, D4 %d, A2 %d (tables of the trade, as NIST 6.3.2 has them)', (n, ...printed) => {
    const { d2, d3 } = range(n);
    const found = [d2, d3, Math.max(0, 1 - (3 * d3) / d2), 1 + (3 * d3) / d2, 3 / (d2 * Math.sqrt(n))];
    for (const [i, digits] of [5, 3, 3, 3, 4].entries()) expect(found[i]).toBeCloseTo(printed[i] as number, digits);
    if (n === 2) expect([RANGE_TO_SIGMA, RANGE_LIMIT]).toEqual([expect.closeTo(d2, 3), expect.closeTo(1 + (3 * d3) / d2, 2)]);
  });

  test('[CC5] .6745 is the upper quartile of the normal distribution', () => {
    expect(MODIFIED_Z).toBeCloseTo(normalQuantile(0.75), 4);
  });
});

describe('EWMA', () => {
  test('[CC3] Q4: the series of NIST 6.3.2.4 with λ .3 from 50, as printed', () => {
    const found = ewma(EWMA, { start: 50, lambda: 0.3 });
    expect(found).toHaveLength(20);
    for (const [i, printed] of PRINTED.entries()) expect(Math.abs((found[i] as number) - printed)).toBeLessThanOrEqual(0.0051);
  });

  test('[CC3] Q4: long-run limits 52.588432 and 47.411568 (printed 52.5884 and 47.4115), no signal (NIST 6.3.2.4, seen)', () => {
    const reach = ewmaReach({ sigma: 2.0539, lambda: 0.3, width: 3 });
    expect(50 + reach).toBeCloseTo(52.588432, 6);
    expect(50 - reach).toBeCloseTo(47.411568, 6);
    expect(Math.max(...ewma(EWMA, { start: 50, lambda: 0.3 }).map((level) => Math.abs(level - 50)))).toBeLessThan(reach);
  });

  test('[CC3] Q4: the first limits are narrower: 51.8485 52.2564 52.4314 52.5516 52.5874 at 1, 2, 3, 5, 10 (recomputed)', () => {
    const found = [1, 2, 3, 5, 10].map((i) => (50 + ewmaReach({ sigma: 2.0539, lambda: 0.3, width: 3, i })).toFixed(4));
    expect(found).toEqual(['51.8485', '52.2564', '52.4314', '52.5516', '52.5874']);
  });
});

describe('CUSUM', () => {
  test('[CC4] Q5: first signal at the 14th value with 4.94, 19.035 at the 20th (NIST 6.3.2.3, seen)', () => {
    const { high, low, firstSignal } = cusum(CUSUM, { target: 325, k: 0.3175, h: 4.1959 });
    expect(firstSignal).toBe(13);
    expect(high[4]).toBeCloseTo(0.0325, 9);
    expect(high.slice(12).map((value) => Number(value.toFixed(4)))).toEqual([
      3.0075, 4.94, 7.4475, 10.63, 11.9875, 14.445, 16.0025, 19.035,
    ]);
    const printedLow = [0, 0.0075, 0, 0.3325, 0, 0, 0.5575, 0.715, 0.1725, 0.255, 0.3125, 0];
    for (const [i, value] of printedLow.entries()) expect(low[i]).toBeCloseTo(value, 9);
    expect(CUSUM.reduce((sum, value) => sum + value - 325, 0)).toBeCloseTo(19.075, 9);
    expect(0.635 * Math.log(1 / 0.00135)).toBeCloseTo(4.1959, 4);
  });

  test('[CC4] it sees a fall as well, and a quiet series never signals', () => {
    expect(cusum([0, -2, -2, -2], { target: 0, k: 0.5, h: 4 }).firstSignal).toBe(3);
    expect(cusum([0, 0.1, -0.1], { target: 0, k: 0.5, h: 4 }).firstSignal).toBeNull();
  });
});

describe('modified z-score', () => {
  test('[CC5] Q7: the ten values of Iglewicz and Hoaglin score -1.5738 to 25.8558 and 26.3055 (NIST 1.3.5.17, from memory)', () => {
    const found = modifiedZ([2.1, 2.6, 2.4, 2.5, 2.3, 2.1, 2.3, 2.6, 8.2, 8.3]);
    expect(found[0]).toBeCloseTo(-1.5738, 4);
    expect(found[8]).toBeCloseTo(25.8558, 4);
    expect(found[9]).toBeCloseTo(26.3055, 4);
  });

  test('[CC5] Q7: where more than half the values are equal there is no score, not an infinite one', () => {
    expect(modifiedZ([5, 5, 5, 9])).toEqual([null, null, null, null]);
    expect(modifiedZ([])).toEqual([]);
  });
});
