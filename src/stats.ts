/**
 * Plain statistics, each pinned to its published rule.
 * [ST1] Percentiles are by the NIST e-Handbook 7.2.6.2 rule: position p(n+1), ends clamped (Hyndman and Fan type 6).
 * [ST2] Mean and standard deviation are Welford's: the sum-of-squares shortcut returns nonsense on NIST's own test data.
 * [ST3] MAD is the median of absolute deviations from the median; times 1.4826022 it estimates sigma of a normal.
 */
import type { Spread } from './numbers.ts';

/** Turns a MAD into the sigma of a normal distribution: 1 / 0.6744897502. */
export const MAD_TO_SIGMA = 1.4826022185056018;

/** [ST1] The p-quantile, 0 <= p <= 1, of values in ascending order. Throws on none: there is no percentile of nothing. */
export function percentile(ascending: ArrayLike<number>, p: number): number {
  return atPosition(ascending, p * (ascending.length + 1));
}

function atPosition(ascending: ArrayLike<number>, position: number): number {
  const n = ascending.length;
  if (n === 0) throw new Error('percentile of no values');
  const clamped = Math.min(Math.max(position, 1), n);
  const below = Math.floor(clamped);
  const low = ascending[below - 1] as number;
  const high = ascending[Math.min(below, n - 1)] as number;
  return low + (clamped - below) * (high - low);
}

export function ascending(values: readonly number[]): readonly number[] {
  return values.toSorted((a, b) => a - b);
}

export function median(values: readonly number[]): number {
  return percentile(ascending(values), 0.5);
}

/** [ST3] Median absolute deviation, unscaled. */
export function mad(values: readonly number[]): number {
  const middle = median(values);
  return median(values.map((value) => Math.abs(value - middle)));
}

/** [ST2] `sd` divides by n - 1 and is null for fewer than two values; `mean` is null for none. */
export function meanAndSd(values: Iterable<number>): { readonly n: number; readonly mean: number | null; readonly sd: number | null } {
  let [n, mean, squares] = [0, 0, 0];
  for (const value of values) {
    n += 1;
    const delta = value - mean;
    mean += delta / n;
    squares += delta * (value - mean);
  }
  return { n, mean: n > 0 ? mean : null, sd: n > 1 ? Math.sqrt(squares / (n - 1)) : null };
}

/** [ST1] p10, p50 and p90, or null for no values. */
export function spreadOf(values: readonly number[]): Spread | null {
  if (values.length === 0) return null;
  const sorted = Float64Array.from(values).sort();
  return { n: values.length, p10: percentile(sorted, 0.1), p50: percentile(sorted, 0.5), p90: percentile(sorted, 0.9) };
}
