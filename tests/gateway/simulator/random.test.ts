/** The dice: distributions against their textbook moments, computed by simple-statistics. */
import { mean, median, standardDeviation } from 'simple-statistics';
import { describe, expect, test } from 'vitest';
import { exponential, integer, logNormal, noise, normal, pick, stream, uniform, type Stream } from '../../../gateway/simulator/random.ts';

const many = (draw: (dice: Stream) => number, purpose = 'test'): number[] => {
  const dice = stream(7, purpose);
  return Array.from({ length: 40_000 }, () => draw(dice));
};

describe('40 000 draws', () => {
  test('uniform: mean 1/2, deviation 1/√12, within [0, 1)', () => {
    const drawn = many(uniform);
    expect(mean(drawn)).toBeCloseTo(0.5, 2);
    expect(standardDeviation(drawn)).toBeCloseTo(1 / Math.sqrt(12), 2);
    expect(drawn.every((x) => x >= 0 && x < 1)).toBe(true);
  });
  test.each([
    ['normal', normal],
    ['noise', noise],
  ] as const)('%s: mean 0, deviation 1', (_, draw) => {
    const drawn = many(draw);
    expect(Math.abs(mean(drawn))).toBeLessThan(0.02);
    expect(Math.abs(standardDeviation(drawn) - 1)).toBeLessThan(0.02);
  });
  test('exponential: mean and deviation are the spacing', () => {
    const drawn = many((dice) => exponential(dice, 22));
    expect(Math.abs(mean(drawn) / 22 - 1)).toBeLessThan(0.02);
    expect(Math.abs(standardDeviation(drawn) / 22 - 1)).toBeLessThan(0.03);
  });
  test('log-normal: the median is the median', () =>
    expect(Math.abs(median(many((dice) => logNormal(dice, 4200, 1))) / 4200 - 1)).toBeLessThan(0.03));
  test('integers reach both ends evenly', () => {
    const drawn = many((dice) => integer(dice, 1, 4));
    for (const value of [1, 2, 3, 4]) expect(Math.abs(drawn.filter((x) => x === value).length / 10_000 - 1)).toBeLessThan(0.05);
  });
  test('a pick follows its weights', () => {
    const drawn = many((dice) =>
      pick(dice, [
        [1, 3],
        [0, 1],
      ]),
    );
    expect(Math.abs(mean(drawn) - 0.75)).toBeLessThan(0.01);
  });
});

test('streams of other purposes and other seeds are other streams', () => {
  const first = (seed: number, purpose: string): number => uniform(stream(seed, purpose));
  const seen = [first(1, 'people'), first(1, 'work'), first(2, 'people'), first(1, 'noise PC-01'), first(1, 'noise PC-02')];
  expect(new Set(seen).size).toBe(seen.length);
});
