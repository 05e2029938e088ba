/**
 * Counts that vary more than chance allows: a Poisson count whose mean itself varies (gamma), textbook.
 * [NB1] With mean mu and variance mu + mu^2/k: P(N = n) = G(n+k)/(n! G(k)) (k/(k+mu))^k (mu/(k+mu))^n. The tail is one less the terms before it,
 *       or where that loses its digits the sum of the terms from there on.
 * [NB2] k from the share of empty periods: the one with (1 + mu/k)^-k = that share (Anscombe, Biometrika 37 (1950) 358, his second method, from
 *       memory). A single great count is one period that is not empty and no more, so that it hardly moves k. Infinite (Poisson) where no more
 *       periods are empty than chance leaves.
 */

export type NegativeBinomial = { readonly mu: number; readonly k: number };

/** [NB1] P(N = n). */
export function negativeBinomial(n: number, { mu, k }: NegativeBinomial): number {
  const q = mu / (k + mu);
  let term = Math.exp(k * Math.log1p(-q));
  for (let i = 0; i < n; i++) term *= ((i + k) / (i + 1)) * q;
  return term;
}

/** [NB1] P(N >= c). */
export function negativeBinomialTail(c: number, { mu, k }: NegativeBinomial): number {
  const q = mu / (k + mu);
  let term = Math.exp(k * Math.log1p(-q));
  let before = 0;
  for (let n = 0; n < c; n++) {
    before += term;
    term *= ((n + k) / (n + 1)) * q;
  }
  if (before < 0.9) return 1 - before;
  let tail = 0;
  for (let n = c; term > tail * 1e-17; n++) {
    tail += term;
    term *= ((n + k) / (n + 1)) * q;
  }
  return Math.min(1, tail);
}

const [LEAST_K, MOST_K] = [1e-6, 1e6];

/** [NB2] `emptyShare` 0..1 of the periods, of mean `mu`. */
export function shapeFromEmpty(mu: number, emptyShare: number): number {
  if (emptyShare <= Math.exp(-mu)) return Infinity;
  let [low, high] = [LEAST_K, MOST_K];
  for (let i = 0; i < 60; i++) {
    const middle = Math.sqrt(low * high);
    // More bunched (smaller k) leaves more periods empty.
    if (Math.exp(-middle * Math.log1p(mu / middle)) > emptyShare) low = middle;
    else high = middle;
  }
  return low;
}
