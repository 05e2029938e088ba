/**
 * The standard normal distribution.
 * [ND1] Below four the distribution function is the series of positive terms x^(2k+1) / (1·3·5···(2k+1)); beyond, the continued fraction of the
 *       tail, so that small tails keep their digits (Abramowitz and Stegun 26.2.11 and 26.2.14, from memory).
 * [ND2] A quantile is found by bisection.
 */

const density = (z: number): number => Math.exp(-(z ** 2) / 2) / Math.sqrt(2 * Math.PI);

/** [ND1] P(Z <= z). */
export function normalShare(z: number): number {
  if (z < -4) return farTail(-z);
  if (z > 4) return 1 - farTail(z);
  let [term, sum] = [z, 0];
  for (let odd = 3; Math.abs(term) > 1e-18; odd += 2) {
    sum += term;
    term *= z ** 2 / odd;
  }
  return 0.5 + density(z) * sum;
}

function farTail(z: number): number {
  let fraction = z;
  for (let k = 60; k >= 1; k--) fraction = z + k / fraction;
  return density(z) / fraction;
}

/** [ND2] The z below which lies the share `p`, 0 < p < 1. */
export function normalQuantile(p: number): number {
  if (!(p > 0 && p < 1)) throw new Error(`normal quantile of a share outside 0..1: ${p}`);
  let [low, high] = [-40, 40];
  for (let middle = 0; middle > low && middle < high; middle = (low + high) / 2) {
    if (normalShare(middle) < p) low = middle;
    else high = middle;
  }
  return high;
}
