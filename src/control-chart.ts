/**
 * Control charts of single values, with their constants pinned: tables round them, and the limits move with the rounding.
 * [CC1] Individuals: sigma is the mean moving range over 1.128, limits mean ± 3 sigma; the range's limit is 3.267 times its mean
 *       (NIST e-Handbook 6.3.2.2, as printed there).
 * [CC2] A moving range never bridges a gap, a missing value or a maintenance: values are charted in unbroken stretches.
 * [CC3] EWMA: z = λx + (1-λ)z; limits ± width · sigma · √(λ/(2-λ) · (1-(1-λ)^2i)) at the i-th value, ± width · sigma · √(λ/(2-λ)) in the long run
 *       (NIST 6.3.2.4).
 * [CC4] Tabular CUSUM: high = max(0, high + x - target - k), low = max(0, low + target - k - x), a signal where either exceeds h (NIST 6.3.2.3).
 * [CC5] Modified z-score: 0.6745 (x - median) / MAD, suspect beyond 3.5 (Iglewicz and Hoaglin, NIST 1.3.5.17); null where the MAD is 0.
 */
import { mad, meanAndSd, median } from './stats.ts';

/** d2 and D4 for two values, to the digits NIST prints. */
export const RANGE_TO_SIGMA = 1.128;
export const RANGE_LIMIT = 3.267;
export const MODIFIED_Z = 0.6745;
export const MODIFIED_Z_LIMIT = 3.5;

type Dated = { readonly at: number; readonly value: number | null };
/** Values that followed one another without interruption. */
export type Stretch = readonly number[];

type Individuals = {
  readonly n: number;
  readonly mean: number;
  readonly meanRange: number;
  readonly sigma: number;
  readonly lower: number;
  readonly upper: number;
  readonly rangeUpper: number;
};

/** [CC2] `values` ascending in time, cut at missing ones, at `marks` and where the next is more than `longestGapMs` away. */
export function stretches(values: readonly Dated[], marks: readonly number[], longestGapMs = Infinity): readonly Stretch[] {
  const out: number[][] = [];
  let before: number | null = null;
  for (const { at, value } of values) {
    const from: number | null = before;
    const cut = from === null || at - from > longestGapMs || marks.some((mark) => mark > from && mark <= at);
    if (value !== null && cut) out.push([value]);
    else if (value !== null) out.at(-1)?.push(value);
    before = value === null ? null : at;
  }
  return out;
}

/** [CC1] [CC2] Null without a single pair of neighbours. */
export function individuals(parts: readonly Stretch[]): Individuals | null {
  const { n, mean } = meanAndSd(parts.flat());
  const { mean: meanRange } = meanAndSd(parts.flatMap((part) => part.slice(1).map((value, i) => Math.abs(value - (part[i] as number)))));
  if (mean === null || meanRange === null) return null;
  const sigma = meanRange / RANGE_TO_SIGMA;
  return { n, mean, meanRange, sigma, lower: mean - 3 * sigma, upper: mean + 3 * sigma, rangeUpper: RANGE_LIMIT * meanRange };
}

/** [CC3] The average after each value, beginning from `start`. */
export function ewma(values: readonly number[], { start, lambda }: { start: number; lambda: number }): readonly number[] {
  let level = start;
  return values.map((value) => (level = lambda * value + (1 - lambda) * level));
}

/** [CC3] How far the average may stray from the centre, at the `i`-th value (1-based) or, without it, in the long run. */
export function ewmaReach({ sigma, lambda, width, i = Infinity }: { sigma: number; lambda: number; width: number; i?: number }): number {
  return width * sigma * Math.sqrt((lambda / (2 - lambda)) * (1 - (1 - lambda) ** (2 * i)));
}

/** [CC4] `k` and `h` in the unit of the values. `firstSignal` is an index. */
export function cusum(
  values: readonly number[],
  { target, k, h }: { target: number; k: number; h: number },
): { readonly high: readonly number[]; readonly low: readonly number[]; readonly firstSignal: number | null } {
  let [up, down] = [0, 0];
  const high = values.map((value) => (up = Math.max(0, up + value - target - k)));
  const low = values.map((value) => (down = Math.max(0, down + target - k - value)));
  const first = values.findIndex((_, i) => (high[i] as number) > h || (low[i] as number) > h);
  return { high, low, firstSignal: first < 0 ? null : first };
}

/** [CC5] */
export function modifiedZ(values: readonly number[]): readonly (number | null)[] {
  if (values.length === 0) return [];
  const [middle, spread] = [median(values), mad(values)];
  return values.map((value) => (spread > 0 ? (MODIFIED_Z * (value - middle)) / spread : null));
}
