/**
 * What a count of failures says about the mean time between them, with confidence bounds. One amount (hours, or cycles) in, the same out.
 * [MB1] Observed for a fixed time with r failures at a constant rate: 2T / chi²(1-α/2; 2r+2) <= MTBF <= 2T / chi²(α/2; 2r)
 *       (NIST e-Handbook 8.4.5.1, seen).
 * [MB2] No failure: there is no estimate and no upper bound; the lower bound is one-sided, T / -ln α, at the stated confidence (same place).
 * [MB3] Exact limits of a Poisson count: chi²(α/2; 2n) / 2 and chi²(1-α/2; 2n+2) / 2, the lower one 0 at n = 0 (Garwood 1936, textbook).
 * [MB4] The divisor is named: the number of failures, or one more, as ISO 22400-2 is remembered to have it (not verified).
 * [MB5] A mean of n times measured to their end (repairs) has 2n degrees on both sides, if they are exponential: an assumption, said beside the bounds.
 */
import { chiSquareQuantile } from './chi-square.ts';

type Exposure = {
  /** Hours or cycles under observation. */
  readonly amount: number;
  readonly failures: number;
  /** Such as 0.9. */
  readonly confidence: number;
};
export type MeanBounds = {
  readonly estimate: number | null;
  readonly low: number | null;
  readonly high: number | null;
  readonly confidence: number;
  readonly sides: 'two-sided' | 'lower only';
  readonly rule: string;
};

const FAILURE_RULE = 'constant failure rate, fixed observed time: chi-square bounds (NIST e-Handbook 8.4.5.1)';
const REPAIR_RULE = 'exponential times assumed: chi-square bounds with 2n degrees (textbook)';

/** [MB1] [MB2] */
export function mtbfBounds({ amount, failures, confidence }: Exposure): MeanBounds {
  demandCount(failures);
  const told = { confidence, rule: FAILURE_RULE };
  if (failures === 0) {
    const low = amount > 0 ? amount / -Math.log(1 - confidence) : null;
    return { ...told, estimate: null, low, high: null, sides: 'lower only' };
  }
  const { low, high } = countBounds(failures, confidence);
  return { ...told, estimate: amount / failures, low: amount / high, high: amount / low, sides: 'two-sided' };
}

/** [MB3] */
export function countBounds(count: number, confidence: number): { readonly low: number; readonly high: number } {
  demandCount(count);
  const alpha = 1 - confidence;
  return {
    low: count === 0 ? 0 : chiSquareQuantile(alpha / 2, 2 * count) / 2,
    high: chiSquareQuantile(1 - alpha / 2, 2 * count + 2) / 2,
  };
}

type MtbfDivisor = 'failures' | 'failures + 1';

/** [MB4] Null where there is nothing to divide by. */
export function meanBetween(amount: number, failures: number, divisor: MtbfDivisor): { value: number | null; divisor: MtbfDivisor } {
  demandCount(failures);
  const by = divisor === 'failures' ? failures : failures + 1;
  return { value: by > 0 ? amount / by : null, divisor };
}

/** [MB5] `amount`: the sum of `failures` times, each measured from begin to end. */
export function meanTimeBounds({ amount, failures: times, confidence }: Exposure): MeanBounds {
  demandCount(times);
  const told = { confidence, sides: 'two-sided' as const, rule: REPAIR_RULE };
  if (times === 0) return { ...told, estimate: null, low: null, high: null };
  const at = (share: number): number => (2 * amount) / chiSquareQuantile(share, 2 * times);
  const alpha = 1 - confidence;
  return { ...told, estimate: amount / times, low: at(1 - alpha / 2), high: at(alpha / 2) };
}

function demandCount(count: number): void {
  if (!Number.isInteger(count) || count < 0) throw new Error(`a count of failures is a whole number, not ${count}`);
}
