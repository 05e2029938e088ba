import { describe, expect, test } from 'vitest';
import { poisson, poissonTail, scanProbability, scanThreshold } from '../../src/scan-statistic.ts';
import { random } from './random-history.ts';

const close = (found: number, expected: number, relative: number): void => expect(Math.abs(found / expected - 1)).toBeLessThan(relative);

describe('scan statistic', () => {
  test.each([
    [0.2, 3, 1.14848e-3],
    [0.2, 4, 5.68402e-5],
    [1, 6, 5.94185e-4],
    [3, 10, 1.1024881e-3],
    [2, 11, 8.308224e-6],
  ])('[SN1] A7: Poisson tail, mean %d, %d or more: %d (textbook; recomputed with scipy)', (mu, c, expected) =>
    close(poissonTail(c, mu), expected, 5e-6),
  );

  test('[SN1] the tail and the terms before it sum to 1, and a tiny tail keeps its digits', () => {
    for (const mu of [0.01, 0.5, 3, 40]) {
      for (const c of [1, 2, 5, 30]) {
        const before = Array.from({ length: c }, (_, k) => poisson(k, mu)).reduce((a, b) => a + b, 0);
        expect(before + poissonTail(c, mu)).toBeCloseTo(1, 12);
      }
    }
    // First term dominates: e^-0.01 0.01^11 / 11! (1 + 0.01/12 + ...)
    close(poissonTail(11, 0.01), ((Math.exp(-0.01) * 1e-22) / 39916800) * (1 + 0.01 / 12), 1e-6);
    expect([poissonTail(0, 3), poissonTail(1, 0)]).toEqual([1, 0]);
  });

  test.each([
    [5, 0.2, 4320, 0.0442552],
    [4, 0.2, 144, 0.0292795],
    [8, 1, 144, 0.0091017],
  ])(
    '[SN2] A9: %d or more at mean %d somewhere in %d windows: %d (Alm approximation, from memory; Monte Carlo agrees)',
    (c, mu, windows, expected) => close(scanProbability(c, mu, windows), expected, 5e-6),
  );

  test('[SN2] Monte Carlo of the trailing window itself gives the same chance: 4 at mean .2 in 144 windows, 20 000 trials', () => {
    const chance = random(99);
    let hits = 0;
    for (let trial = 0; trial < 20_000; trial++) {
      const times: number[] = [];
      for (let at = -Math.log(1 - chance()) / 0.2; at < 144; at += -Math.log(1 - chance()) / 0.2) times.push(at);
      if (times.some((at, i) => i >= 3 && at - (times[i - 3] as number) < 1)) hits += 1;
    }
    const sigma = Math.sqrt((0.0292795 * (1 - 0.0292795)) / 20_000);
    expect(Math.abs(hits / 20_000 - scanProbability(4, 0.2, 144))).toBeLessThan(3 * sigma);
  });

  test('[SN2] no count at or under the mean is rare, and no event at all has no chance', () => {
    expect([scanProbability(2, 2, 100), scanProbability(3, 0, 4320)]).toEqual([1, 0]);
  });

  test('[SN3] A10: thresholds for .1 per 30 days at means .05 .1 .2 .5 1 2 are 4 4 5 7 9 12 (own, by Alm)', () => {
    expect([0.05, 0.1, 0.2, 0.5, 1, 2].map((mu) => scanThreshold(mu, 4320, 0.1))).toEqual([4, 4, 5, 7, 9, 12]);
  });

  test('[SN3] the whole threshold table for .1 and .01 per 30 days (own, by Alm)', () => {
    const means = [0.01, 0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 1, 2, 3, 5];
    expect(means.map((mu) => scanThreshold(mu, 4320, 0.1))).toEqual([3, 3, 4, 4, 5, 6, 7, 9, 12, 15, 19]);
    expect(means.map((mu) => scanThreshold(mu, 4320, 0.01))).toEqual([3, 4, 4, 5, 6, 7, 8, 10, 13, 16, 21]);
  });
});
