/**
 * The chi-square distribution with an even number of degrees of freedom, which is all that counts of events need.
 * [CQ1] P(X > x) with 2k degrees is exp(-x/2) times the sum over i < k of (x/2)^i / i! (NIST e-Handbook 1.3.6.6.6; textbook identity with Poisson).
 * [CQ2] A quantile is found by bisection to the last digit a number holds.
 */

/** [CQ1] Terms are summed through their logarithm: exp(-x/2) alone is zero from x = 1491 on. */
export function chiSquareTail(x: number, degrees: number): number {
  if (degrees < 2 || degrees % 2 !== 0) throw new Error(`chi-square tail needs even degrees of freedom of 2 or more, not ${degrees}`);
  if (x <= 0) return 1;
  const half = x / 2;
  let logTerm = -half;
  let sum = Math.exp(logTerm);
  for (let i = 1; i < degrees / 2; i++) {
    logTerm += Math.log(half / i);
    sum += Math.exp(logTerm);
  }
  return Math.min(1, sum);
}

/** [CQ2] The x below which lies the share `p`, 0 < p < 1. */
export function chiSquareQuantile(p: number, degrees: number): number {
  if (!(p > 0 && p < 1)) throw new Error(`chi-square quantile of a share outside 0..1: ${p}`);
  const key = `${p}/${degrees}`;
  const known = quantiles.get(key) ?? searched(p, degrees);
  if (quantiles.size < MOST_KEPT) quantiles.set(key, known);
  return known;
}

/** Bounds ask for the same few quantiles again and again, and each takes some fifty sums to find. */
const quantiles = new Map<string, number>();
const MOST_KEPT = 2_000;

function searched(p: number, degrees: number): number {
  let [low, high] = [0, degrees];
  while (chiSquareTail(high, degrees) > 1 - p) high *= 2;
  for (let middle = high / 2; middle > low && middle < high; middle = (low + high) / 2) {
    if (chiSquareTail(middle, degrees) > 1 - p) low = middle;
    else high = middle;
  }
  return high;
}
