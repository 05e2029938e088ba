import * as simple from 'simple-statistics';
import { describe, expect, test } from 'vitest';
import { ascending, mad, MAD_TO_SIGMA, meanAndSd, median, percentile, spreadOf } from '../../src/stats.ts';
import { random } from './random-history.ts';

/** NIST e-Handbook 7.2.6.2 (prc252), the gauge data. */
const NIST = ascending([95.1772, 95.1567, 95.1937, 95.1959, 95.1442, 95.061, 95.1591, 95.1195, 95.1065, 95.0925, 95.199, 95.1682]);

describe('stats', () => {
  test('[ST1] Q1: NIST gauge data, p90 95.19807 (printed 95.1981), p50 95.1579, p0 and p100 the ends (NIST e-Handbook 7.2.6.2)', () => {
    expect(percentile(NIST, 0.9)).toBeCloseTo(95.19807, 5);
    expect(percentile(NIST, 0.9).toFixed(4)).toBe('95.1981');
    expect(percentile(NIST, 0.5)).toBeCloseTo(95.1579, 5);
    expect(percentile(NIST, 0.1)).toBeCloseTo(95.07045, 5);
    expect(percentile(NIST, 0.25)).toBeCloseTo(95.10975, 5);
    expect(percentile(NIST, 0.75)).toBeCloseTo(95.189575, 5);
    expect([percentile(NIST, 0), percentile(NIST, 1), percentile(NIST, 0.95)]).toEqual([95.061, 95.199, 95.199]);
  });

  test('[ST1] Q2: the rule of spreadsheets (type 7) gives other numbers: p90 95.19568, p25 95.11625, p75 95.181325 (recomputed by hand)', () => {
    const type7 = (p: number): number => {
      const position = p * (NIST.length - 1);
      const [low, high] = [NIST[Math.floor(position)] as number, NIST[Math.ceil(position)] as number];
      return low + (position - Math.floor(position)) * (high - low);
    };
    for (const [p, value] of [
      [0.9, 95.19568],
      [0.25, 95.11625],
      [0.75, 95.181325],
    ] as const) {
      expect(type7(p)).toBeCloseTo(value, 6);
      expect(Math.abs(percentile(NIST, p) - value)).toBeGreaterThan(1e-3);
    }
  });

  // StRD NumAcc1 to 4 (NIST, certified values): built by the published rule. LRE is the number of correct digits.
  const numAcc = (c: number): number[] => [c + 0.2, ...Array.from({ length: 1000 }, (_, i) => c + (i % 2 === 0 ? 0.1 : 0.3))];
  test.each([
    ['NumAcc1', [10000001, 10000003, 10000002], 10000002, 1, 15],
    ['NumAcc2', numAcc(1), 1.2, 0.1, 14],
    ['NumAcc3', numAcc(1_000_000), 1_000_000.2, 0.1, 9],
    ['NumAcc4', numAcc(10_000_000), 10_000_000.2, 0.1, 8],
  ])(
    '[ST2] Q6: %s mean and standard deviation to the digits its representation allows (NIST StRD univariate)',
    (_name, values, mean, sd, digits) => {
      const found = meanAndSd(values);
      const lre = found.sd === sd ? 16 : -Math.log10(Math.abs((found.sd as number) - sd) / sd);
      expect(found.mean).toBeCloseTo(mean, 7);
      expect(lre).toBeGreaterThanOrEqual(digits);
    },
  );

  test('[ST2] the sum-of-squares shortcut, which is not used, gives a negative variance on NumAcc4', () => {
    const values = numAcc(10_000_000);
    const [sum, squares] = values.reduce(([s, q], x) => [s + x, q + x * x] as [number, number], [0, 0]);
    expect((squares - sum ** 2 / values.length) / (values.length - 1)).toBeLessThanOrEqual(0);
  });

  test('[ST2] nothing has no mean, one value has no deviation', () => {
    expect(meanAndSd([])).toEqual({ n: 0, mean: null, sd: null });
    expect(meanAndSd([5])).toEqual({ n: 1, mean: 5, sd: null });
  });

  test('[ST3] Q7: 1 1 2 2 4 6 9 has median 2 and MAD 1; the ten values of Iglewicz and Hoaglin have 2.45 and .15 (NIST 1.3.5.17, from memory)', () => {
    expect([median([1, 1, 2, 2, 4, 6, 9]), mad([1, 1, 2, 2, 4, 6, 9])]).toEqual([2, 1]);
    const values = [2.1, 2.6, 2.4, 2.5, 2.3, 2.1, 2.3, 2.6, 8.2, 8.3];
    expect(median(values)).toBeCloseTo(2.45, 12);
    expect(mad(values)).toBeCloseTo(0.15, 12);
    expect((0.6745 * (8.2 - median(values))) / mad(values)).toBeCloseTo(25.8558, 4);
    expect(1 / MAD_TO_SIGMA).toBeCloseTo(0.6745, 4);
  });

  test('mean, deviation, median and MAD equal simple-statistics 7.12.1 on random data (its quantiles follow another rule and are not compared)', () => {
    const chance = random(3);
    for (let n = 2; n < 60; n++) {
      const values = Array.from({ length: n }, () => chance() * 1e6 - 5e5);
      const { mean, sd } = meanAndSd(values);
      expect(mean).toBeCloseTo(simple.mean(values), 6);
      expect(sd).toBeCloseTo(simple.sampleStandardDeviation(values), 6);
      expect(median(values)).toBeCloseTo(simple.median(values), 9);
      expect(mad(values)).toBeCloseTo(simple.medianAbsoluteDeviation(values), 9);
    }
  });

  test('[ST1] a spread of nothing is null, of one value that value three times; a percentile of nothing is a mistake of the caller', () => {
    expect(spreadOf([])).toBeNull();
    expect(spreadOf([7])).toEqual({ n: 1, p10: 7, p50: 7, p90: 7 });
    expect(() => percentile([], 0.5)).toThrow('no values');
  });

  test('[ST1] values are ordered by size, not as text', () => {
    expect(spreadOf([100, 9, 20])).toEqual({ n: 3, p10: 9, p50: 20, p90: 100 });
  });
});
