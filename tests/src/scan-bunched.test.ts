import { describe, expect, test } from 'vitest';
import { bunchedExpectation, bunchedThreshold, expectedNotices, uncertainExpectation } from '../../src/scan-bunched.ts';
import { scanProbability, scanThreshold } from '../../src/scan-statistic.ts';
import { random } from './random-history.ts';

const exponential = (dice: () => number): number => -Math.log(1 - dice());
/** Times that the trailing count of the last unit of time reaches c, coming from below half of it. */
function notices(times: readonly number[], c: number): number {
  let [found, first, isOpen] = [0, 0, false];
  times.forEach((time, i) => {
    while ((times[first] as number) <= time - 1) {
      first++;
      if (isOpen && i - first < c / 2) isOpen = false;
    }
    if (!isOpen && i - first + 1 >= c) [found, isOpen] = [found + 1, true];
  });
  return found;
}
/** Poisson clusters whose sizes are log-series, all of a cluster at one moment: counts per window are negative binomial. */
function bunchedTimes({ mu, k }: { mu: number; k: number }, windows: number, dice: () => number): number[] {
  const [p, clusters] = [mu / (mu + k), k * Math.log1p(mu / k)];
  const times: number[] = [];
  for (let at = exponential(dice) / clusters; at < windows; at += exponential(dice) / clusters) {
    let [size, left] = [1, dice() * -Math.log1p(-p)];
    while ((left -= p ** size / size) > 0) size++;
    for (let i = 0; i < size; i++) times.push(at + i * 1e-6);
  }
  return times;
}

describe('scan statistic of bunched counts', () => {
  test.each([
    [0.05, 0.05, 5],
    [0.2, 0.2, 7],
    [0.2, 0.5, 6],
    [1, 1, 14],
  ])(
    '[SB1] mean %d, k %d, %d or more: as often as Monte Carlo of the trailing window itself says, or oftener by a third at most',
    (mu, k, c) => {
      const [dice, windows] = [random(7), 400_000];
      const found = notices(bunchedTimes({ mu, k }, windows, dice), c);
      const expected = bunchedExpectation(c, { mu, k }, windows);
      expect(found).toBeGreaterThan(40);
      expect(found / expected).toBeGreaterThan(0.75 - 3 / Math.sqrt(found));
      expect(found / expected).toBeLessThan(1 + 3 / Math.sqrt(found));
    },
  );

  test('[SB2] a rate drawn anew from its gamma for each month: as often as Monte Carlo says', () => {
    const [dice, events, over, c] = [random(11), 3, 20, 4];
    let found = 0;
    for (let month = 0; month < 3000; month++) {
      // Gamma of shape 3.5 and mean 3.5/20: half the sum of seven squared normals.
      let gamma = 0;
      for (let i = 0; i < 7; i++) gamma += (Math.sqrt(2 * exponential(dice)) * Math.cos(2 * Math.PI * dice())) ** 2 / 2;
      const rate = gamma / over;
      const times: number[] = [];
      for (let at = exponential(dice) / rate; at < 200; at += exponential(dice) / rate) times.push(at);
      found += notices(times, c);
    }
    const expected = 3000 * uncertainExpectation(c, { mu: (events + 0.5) / over, k: events + 0.5 }, 200);
    expect(found).toBeGreaterThan(40);
    expect(Math.abs(found / expected - 1)).toBeLessThan(3 / Math.sqrt(found) + 0.05);
  });

  test.each([
    [5, 0.2, 4320],
    [4, 0.2, 144],
    [8, 1, 144],
  ])('[SB3] with k without bound it is the exponent of Alm: %d at mean %d in %d windows (A9)', (c, mu, windows) => {
    const alm = scanProbability(c, mu, windows);
    expect(Math.abs(bunchedExpectation(c, { mu, k: Infinity }, windows) / alm - 1)).toBeLessThan(0.03);
    expect(Math.abs(uncertainExpectation(c, { mu, k: 1e6 }, windows) / alm - 1)).toBeLessThan(0.03);
  });

  test('[SB4] a rate known from very many events that come by themselves gives the table of Alm (A10)', () => {
    const means = [0.05, 0.1, 0.2, 0.5, 1, 2];
    const found = means.map((mu) => bunchedThreshold({ events: mu * 1e7, over: 1e7, k: Infinity }, 4320, { epsilon: 0.1, most: 60 }));
    expect(found).toEqual(means.map((mu) => scanThreshold(mu, 4320, 0.1)));
  });

  test('[SB4] the threshold is the smallest that keeps the promise, by both, and no more than the most', () => {
    const rate = { events: 40, over: 4320, k: 0.1 };
    const c = bunchedThreshold(rate, 4320, { epsilon: 0.1, most: 60 });
    expect(expectedNotices(c, rate, 4320)).toBeLessThanOrEqual(0.1);
    expect(expectedNotices(c - 1, rate, 4320)).toBeGreaterThan(0.1);
    expect(bunchedThreshold(rate, 4320, { epsilon: 1e-9, most: 11 })).toBe(11);
    expect(bunchedThreshold({ events: 0, over: 4320, k: Infinity }, 4320, { epsilon: 0.1, most: 11 })).toBeLessThanOrEqual(2);
    expect([
      bunchedExpectation(2, { mu: 2, k: 1 }, 9),
      uncertainExpectation(2, { mu: 2, k: 1 }, 9),
      bunchedExpectation(1, { mu: 0, k: 1 }, 9),
    ]).toEqual([9, 9, 0]);
  });
});
