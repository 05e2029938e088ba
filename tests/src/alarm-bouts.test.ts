import { expect, test } from 'vitest';
import { bouts, busyGaps } from '../../src/alarm-bouts.ts';
import { negativeBinomialTail } from '../../src/negative-binomial.ts';
import { random } from './random-history.ts';

const labels = (gaps: readonly number[], s: number, gamma = 1): string =>
  busyGaps(gaps, { s, gamma })
    .map((busy) => (busy ? '1' : '0'))
    .join('');

test.each([2, 3, 4, 5])(
  '[AB1] A11: gaps 30 30 30 2 2 2 2 30 30 min are 000111100 with s %d, gamma 1 (Kleinberg 2003, method from memory)',
  (s) => {
    expect(labels([30, 30, 30, 2, 2, 2, 2, 30, 30], s)).toBe('000111100');
  },
);

test('[AB1] even gaps are quiet, whatever their length; no gaps have no label', () => {
  expect(labels([5, 5, 5, 5, 5, 5], 2)).toBe('000000');
  expect(labels([], 2)).toBe('');
});

/** Every sequence of labels, its cost summed term by term. */
function cheapest(gaps: readonly number[], s: number, gamma: number): number {
  const rate = gaps.length / gaps.reduce((sum, gap) => sum + gap, 0);
  const cost = (bits: number): number =>
    gaps.reduce((sum, gap, i) => {
      const [now, before] = [(bits >> i) & 1, i === 0 ? 0 : (bits >> (i - 1)) & 1];
      const own = rate * (now ? s : 1);
      return sum + own * gap - Math.log(own) + (now > before ? gamma * Math.log(gaps.length) : 0);
    }, 0);
  const all = Array.from({ length: 2 ** gaps.length }, (_, bits) => bits);
  return all.reduce((best, bits) => (cost(bits) < cost(best) - 1e-12 ? bits : best), 0);
}

test('[AB1] the labels are the cheapest of all sequences, for 60 random histories of ten gaps', () => {
  const chance = random(11);
  for (let round = 0; round < 60; round++) {
    const gaps = Array.from({ length: 10 }, () => (chance() < 0.5 ? 1 : 20) * (0.1 + chance()));
    const best = cheapest(gaps, 3, 0.5);
    expect(labels(gaps, 3, 0.5)).toBe(gaps.map((_, i) => (best >> i) & 1).join(''));
  }
});

test('[AB2] a hunting hour in a quiet week is one bout from its first to its last activation; three close ones are none', () => {
  const quiet = Array.from({ length: 20 }, (_, i) => i * 8 * 3_600_000);
  const hunting = Array.from({ length: 100 }, (_, i) => 50 * 3_600_000 + i * 30_000);
  const all = [...quiet, ...hunting].sort((a, b) => a - b);
  expect(bouts(all)).toEqual([{ from: hunting[0], to: hunting[99], activations: 100 }]);
  expect(bouts([...quiet, 50 * 3_600_000, 50 * 3_600_000 + 1000, 50 * 3_600_000 + 2000].sort((a, b) => a - b))).toEqual([]);
});

test.each([
  [0.2, 0.5, 4, 0.00207734],
  [1, 1, 10, 9.765625e-4],
  [2, 2, 8, 0.01953125],
])('[NB1] A8: negative binomial of mean %d and k %d, %d or more: %d (textbook)', (mu, k, c, expected) => {
  // The case table gives six digits where the number does not end.
  expect(Math.abs(negativeBinomialTail(c, { mu, k }) / expected - 1)).toBeLessThan(2e-6);
});

test('[NB1] mean 1 and k 1 is 2^-c, down to tails that one less a sum could not tell', () => {
  for (const c of [0, 1, 5, 30, 60]) expect(negativeBinomialTail(c, { mu: 1, k: 1 }) / 2 ** -c).toBeCloseTo(1, 12);
});
