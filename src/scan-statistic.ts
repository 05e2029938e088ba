/**
 * How likely a cluster of events is by chance, when every trailing window is looked at and not only fixed ones.
 * [SN1] Poisson tail: P(N >= c) at mean mu, summed from the first term of the tail down, so that small tails keep their digits.
 * [SN2] Scan probability by Alm's approximation: P = 1 - F(c-1) exp(-((c-mu)/c) mu (T/w - 1) p(c-1)), for c > mu. (From memory; agrees with
 *       Monte Carlo and with Naus where P is small; low where P is large, which thresholds never use.)
 * [SN3] The threshold for a chance epsilon is the smallest count whose scan probability does not exceed it.
 */

/** P(N = k) of a Poisson variable with mean mu. */
export function poisson(k: number, mu: number): number {
  let probability = Math.exp(-mu);
  for (let i = 1; i <= k; i++) probability *= mu / i;
  return probability;
}

/** [SN1] P(N >= c). */
export function poissonTail(c: number, mu: number): number {
  if (c <= 0) return 1;
  let term = poisson(c, mu);
  let sum = 0;
  for (let k = c; term > 0 && (k <= mu || term > sum * 1e-17); k++) {
    sum += term;
    term *= mu / (k + 1);
  }
  return Math.min(1, sum);
}

/** [SN2] The chance that any window of length w within T holds `c` events or more; `mu` is the mean per window, `windows` is T/w. */
export function scanProbability(c: number, mu: number, windows: number): number {
  if (c <= mu) return 1;
  const exponent = ((c - mu) / c) * mu * (windows - 1) * poisson(c - 1, mu);
  // 1 - F(c-1) e^-x, written so that it stays exact when both the tail and x are tiny.
  const tail = poissonTail(c, mu);
  return -Math.expm1(-exponent) + tail * Math.exp(-exponent);
}

/** [SN3] */
export function scanThreshold(mu: number, windows: number, epsilon: number): number {
  let c = Math.max(1, Math.floor(mu) + 1);
  while (scanProbability(c, mu, windows) > epsilon) c += 1;
  return c;
}
