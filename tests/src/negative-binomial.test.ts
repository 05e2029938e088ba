import { describe, expect, test } from 'vitest';
import { negativeBinomial, negativeBinomialTail, shapeFromEmpty } from '../../src/negative-binomial.ts';

describe('negative binomial', () => {
  test.each([
    [0.2, 0.5, 4, 0.00207734],
    [1, 1, 10, 9.765625e-4],
    [2, 2, 8, 0.01953125],
  ])('[NB1] A8: mean %d, k %d, %d or more: %d (textbook)', (mu, k, c, expected) => {
    expect(Math.abs(negativeBinomialTail(c, { mu, k }) / expected - 1)).toBeLessThan(3e-6);
    const before = Array.from({ length: c }, (_, n) => negativeBinomial(n, { mu, k })).reduce((a, b) => a + b, 0);
    expect(before + negativeBinomialTail(c, { mu, k })).toBeCloseTo(1, 12);
  });

  test('[NB2] the share of empty periods of a known shape gives the shape back, and no more than chance leaves gives none', () => {
    for (const k of [0.05, 0.5, 3, 40]) expect(shapeFromEmpty(0.7, (1 + 0.7 / k) ** -k) / k).toBeCloseTo(1, 6);
    expect(shapeFromEmpty(0.7, Math.exp(-0.7))).toBe(Infinity);
    expect(shapeFromEmpty(0.01, 0.99)).toBe(Infinity);
  });

  test('[NB2] one great count more hardly moves the shape, where it halves the one by moments', () => {
    // 4320 periods, 432 with one alarm and 86 with two; then one of the empty ones with twelve.
    const usual = [...Array.from({ length: 432 }, () => 1), ...Array.from({ length: 86 }, () => 2)];
    const [byEmpty, byMoments] = [usual, [...usual, 12]].reduce<[number[], number[]]>(
      ([empty, moments], counts) => {
        const mu = counts.reduce((a, b) => a + b, 0) / 4320;
        const variance = counts.reduce((a, b) => a + b * b, 0) / 4320 - mu ** 2;
        return [
          [...empty, shapeFromEmpty(mu, 1 - counts.length / 4320)],
          [...moments, mu ** 2 / (variance - mu)],
        ];
      },
      [[], []],
    ) as unknown as [[number, number], [number, number]];
    expect(byEmpty[1] / byEmpty[0]).toBeGreaterThan(0.75);
    expect(byMoments[1] / byMoments[0]).toBeLessThan(0.5);
  });
});
