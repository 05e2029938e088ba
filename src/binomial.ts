/**
 * Chance of counts.
 * [BI1] Binomial: P(at least k of n) = the sum over i from k to n of C(n, i) p^i (1 - p)^(n - i) (NIST e-Handbook 1.3.6.6.18). For counts of some
 *       dozens, summed from the smallest term.
 */

/** [BI1] */
export function atLeast(count: number, { of, share }: { readonly of: number; readonly share: number }): number {
  let sum = 0;
  for (let i = of; i >= Math.max(0, count); i--) sum += choose(of, i) * share ** i * (1 - share) ** (of - i);
  return Math.min(1, sum);
}

function choose(n: number, k: number): number {
  let ways = 1;
  for (let i = 1; i <= Math.min(k, n - k); i++) ways = (ways * (n - Math.min(k, n - k) + i)) / i;
  return ways;
}
