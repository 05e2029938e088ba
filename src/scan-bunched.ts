/**
 * How many notices to expect by chance of a count looked at in every trailing window, when events come in bunches or when their rate is known
 * from few of them only: Alm's approximation (scan-statistic.ts) carried over from Poisson to negative binomial counts. (Own derivation.)
 * [SB1] Bunches: clusters come by chance and last far less than a window; their sizes are log-series, which makes the counts of a window negative
 *       binomial (Quenouille, Biometrics 5 (1949) 162, from memory). The count gets to c where a cluster of s or more meets c - s: the
 *       expectation is clusters per window times that chance, over all windows, times Alm's (c - mu)/c, plus the tail for the first window.
 * [SB2] An uncertain rate: from n events it is gamma with shape n + 1/2 (Jeffreys), and Alm's exponent averaged over that gamma is
 *       c p(c) - (c+1) p(c+1) per window, with p negative binomial of k = n + 1/2.
 * [SB3] For k without bound both are Alm's exponent.
 * [SB4] The threshold is the smallest count at which neither expects more than epsilon.
 */
import { negativeBinomial, type NegativeBinomial, negativeBinomialTail } from './negative-binomial.ts';

/** From here on the counts are Poisson to all digits that matter. */
const POISSON_K = 1e6;

/** [SB1] Expected times that the trailing count reaches c within `windows` windows. */
export function bunchedExpectation(c: number, counts: NegativeBinomial, windows: number): number {
  const { mu } = counts;
  if (c <= mu) return windows;
  if (mu === 0) return 0;
  const k = Math.min(counts.k, POISSON_K);
  const p = mu / (mu + k);
  const logarithm = -Math.log1p(-p);
  let [reaches, smaller, size] = [0, 0, p / logarithm];
  for (let s = 1; s <= c; s++) {
    reaches += negativeBinomial(c - s, { mu, k }) * Math.max(0, 1 - smaller);
    smaller += size;
    size *= (p * s) / (s + 1);
  }
  return ((c - mu) / c) * k * logarithm * reaches * (windows - 1) + negativeBinomialTail(c, { mu, k });
}

/** [SB2] */
export function uncertainExpectation(c: number, { mu, k }: NegativeBinomial, windows: number): number {
  if (c <= mu) return windows;
  const perWindow = c * negativeBinomial(c, { mu, k }) - (c + 1) * negativeBinomial(c + 1, { mu, k });
  return Math.max(0, perWindow) * (windows - 1) + negativeBinomialTail(c, { mu, k });
}

export type KnownRate = {
  /** Events, and how many windows they were counted over. */
  readonly events: number;
  readonly over: number;
  /** How bunched they come; infinite where each comes by itself. */
  readonly k: number;
};

/** [SB1] [SB2] The larger of both, of a count of c in `windows` windows. */
export function expectedNotices(c: number, { events, over, k }: KnownRate, windows: number): number {
  const shape = events + 0.5;
  const mu = shape / Math.max(1, over);
  return Math.max(bunchedExpectation(c, { mu, k }, windows), uncertainExpectation(c, { mu, k: shape }, windows));
}

/** [SB4] No more than `most` is looked at. */
export function bunchedThreshold(rate: KnownRate, windows: number, { epsilon, most }: { epsilon: number; most: number }): number {
  let c = 1;
  while (c < most && expectedNotices(c, rate, windows) > epsilon) c += 1;
  return c;
}
