/**
 * Counts that vary more than chance allows: a Poisson count whose mean itself varies (gamma), textbook.
 * [NB1] With mean mu and variance mu + mu^2/k: P(N = n) = G(n+k)/(n! G(k)) (k/(k+mu))^k (mu/(k+mu))^n. The tail is one less the terms before it,
 *       or where that loses its digits the sum of the terms from there on.
 */

/** [NB1] P(N >= c). */
export function negativeBinomialTail(c: number, { mu, k }: { readonly mu: number; readonly k: number }): number {
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
