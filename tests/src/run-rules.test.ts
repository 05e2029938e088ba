import { describe, expect, test } from 'vitest';
import { normalQuantile, normalShare } from '../../src/normal.ts';
import { DEFAULT_RUN_RULES, ruleHits, RUN_RULES } from '../../src/run-rules.ts';
import type { RunRule } from '../../src/run-rules.ts';
import { random } from './random-history.ts';

const hits = (z: readonly (number | null)[], rules: readonly RunRule[] = RUN_RULES): string[] =>
  ruleHits(z, rules).map(({ rule, index }) => `${rule}@${index + 1}`);

describe('run rules', () => {
  // Q8, constructed: each series breaks the named rules and no other.
  test.each<[string, string, readonly number[], string]>([
    ['[RR1] a', 'a value beyond 3 sigma', [0.5, -0.2, 3.1, 0.1, -0.4], 'beyond-3-sigma@3'],
    ['[RR2] b', 'two of three beyond 2 sigma', [0.1, 2.1, 0.3, 2.2, -0.1, 0.2], 'two-of-three-beyond-2-sigma@4'],
    ['[RR2] c', 'four of five beyond 1 sigma', [1.2, 1.4, 0.2, 1.1, 1.3, -0.5], 'four-of-five-beyond-1-sigma@5'],
    ['[RR3] d', 'eight and nine on one side', Array<number>(9).fill(0.2), 'eight-same-side@8 eight-same-side@9 nine-same-side@9'],
    ['[RR4] e', 'six steadily rising', [-0.9, -0.5, -0.1, 0.2, 0.6, 0.9, 0.1], 'six-steadily@6'],
    [
      '[RR4] [RR5] f',
      'fifteen alternating within 1 sigma',
      Array.from({ length: 15 }, (_, i) => (i % 2 ? 0.5 : -0.5)),
      'fourteen-alternating@14 fourteen-alternating@15 fifteen-within-1-sigma@15',
    ],
    ['[RR5] h', 'eight outside 1 sigma', [1.1, -1.2, 1.3, -1.1, -1.5, 1.6, 1.2, -1.3], 'eight-outside-1-sigma@8'],
  ])('%s, Q8: %s and no other rule (own construction)', (_id, _name, z, expected) => {
    expect(hits(z).join(' ')).toBe(expected);
    const mirrored = hits(z.map((value) => -value)).join(' ');
    expect(mirrored).toBe(expected);
  });

  test('[RR5] eight outside 1 sigma on one side only are another pattern', () => {
    expect(hits(Array<number>(8).fill(1.2), ['eight-outside-1-sigma'])).toEqual([]);
  });

  test('[RR6] by default only beyond 3 sigma and nine on one side are asked for', () => {
    expect(DEFAULT_RUN_RULES).toEqual(['beyond-3-sigma', 'nine-same-side']);
    expect(ruleHits([...Array<number>(9).fill(1.2), 3.5])).toEqual([
      { rule: 'nine-same-side', index: 8 },
      { rule: 'beyond-3-sigma', index: 9 },
      { rule: 'nine-same-side', index: 9 },
    ]);
  });

  test('[RR7] a missing value ends a pattern', () => {
    expect(hits([...Array<number>(5).fill(0.2), null, ...Array<number>(5).fill(0.2)], ['eight-same-side'])).toEqual([]);
    expect(hits([2.1, null, 2.2], ['two-of-three-beyond-2-sigma'])).toEqual([]);
    expect(hits([null, 3.2], ['beyond-3-sigma'])).toEqual(['beyond-3-sigma@2']);
  });
});

describe('false alarms without any change', () => {
  const chance = random(11);
  const z = Array.from({ length: 120_000 }, () => normalQuantile(chance() || 1e-12));

  test.each<[RunRule, string, number]>([
    ['beyond-3-sigma', '[RR1]', 0.0026998],
    ['eight-same-side', '[RR3]', 2 * 0.5 ** 8],
    ['nine-same-side', '[RR3]', 2 * 0.5 ** 9],
    ['two-of-three-beyond-2-sigma', '[RR2]', 2 * (normalShare(-2) * (1 - normalShare(2) ** 2))],
  ])('%s hits by chance as often as the normal distribution says (%s, textbook; 120,000 values, fixed start)', (rule, _id, expected) => {
    const rate = ruleHits(z, [rule]).length / z.length;
    // Hits of long patterns come in clusters, hence the wider band than a binomial's.
    expect(rate / expected).toBeGreaterThan(0.85);
    expect(rate / expected).toBeLessThan(1.15);
  });

  /** Mean values until a hit, counting afresh after each. */
  const runLength = (rules: readonly RunRule[]): number => {
    const byIndex = new Set(ruleHits(z, ['beyond-3-sigma']).map(({ index }) => index));
    const needed = rules.includes('nine-same-side') ? 9 : rules.includes('eight-same-side') ? 8 : Infinity;
    let [signals, side, length] = [0, 0, 0];
    for (const [index, value] of z.entries()) {
      length = Math.sign(value) === side ? length + 1 : 1;
      side = Math.sign(value);
      if (!byIndex.has(index) && length < needed) continue;
      signals += 1;
      [side, length] = [0, 0];
    }
    return z.length / signals;
  };
  /** The same from the chain of states "k values on one side": E_k = 1 + p E_(k+1) + p E_1, solved backwards. */
  const chain = (needed: number): number => {
    const p = normalShare(3) - 0.5;
    // E_k = a_k + b_k E_1, with E_needed = 0.
    let [a, b] = [0, 0];
    for (let k = needed - 1; k >= 1; k--) [a, b] = [1 + p * a, p * b + p];
    const first = a / (1 - b);
    return 1 + 2 * p * first;
  };

  test('[RR1] beyond 3 sigma alone: 370.4 values between false alarms (NIST 6.3.2; Monte Carlo)', () => {
    expect(runLength(['beyond-3-sigma']) / 370.4).toBeGreaterThan(0.88);
    expect(runLength(['beyond-3-sigma']) / 370.4).toBeLessThan(1.12);
  });

  test('[RR6] with eight in a row 152.7 (Champ and Woodall 1987, from memory; chain and Monte Carlo agree), with the default nine 217', () => {
    expect(chain(8)).toBeCloseTo(152.73, 1);
    for (const [rule, needed] of [
      ['eight-same-side', 8],
      ['nine-same-side', 9],
    ] as const) {
      expect(runLength(['beyond-3-sigma', rule]) / chain(needed)).toBeGreaterThan(0.9);
      expect(runLength(['beyond-3-sigma', rule]) / chain(needed)).toBeLessThan(1.1);
    }
    expect(Math.round(chain(9))).toBe(217);
  });
});
