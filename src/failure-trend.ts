/**
 * Do failures come closer together? Three tests and a growth model over failure times in hours since the start, ascending, watched until `endH`.
 * [FT1] Reverse arrangement: R counts the pairs of gaps between failures of which the later is the longer; many reversals mean
 *       improvement. Equal pairs are no reversal, as in NIST's example, and never make a trend likelier. The chance is exact, by counting
 *       orders (NIST e-Handbook 8.2.3.4); z is the normal approximation meant for more than 12 failures (Dataplot).
 * [FT2] Military handbook: 2 Σ ln(T/t) is chi-square with 2r degrees without a trend; large means improvement (NIST 8.2.3.4, time-terminated).
 * [FT3] Laplace: z = √(12r) Σ(t - T/2) / (rT); negative means improvement (NIST 8.2.3.4).
 * [FT4] Power law by NIST's estimator: b = (r-1) / Σ ln(T/t), a = r/T^b, MTBF at the end T/(r b), interval by NIST's approximation
 *       (8.4.5.2). The maximum-likelihood figures differ (b = r / Σ) and are given beside it under their own name.
 * [FT5] A failure at no hours at all has no logarithm, and fewer than two failures no trend: those figures are null.
 */
import { chiSquareTail } from './chi-square.ts';
import { normalQuantile, normalShare } from './normal.ts';

type FailureTimes = { readonly timesH: readonly number[]; readonly endH: number };

type ReverseArrangement = {
  readonly reversals: number;
  readonly pairs: number;
  /** Chances without a trend of so many reversals or more, and of so many or fewer. */
  readonly pImproving: number;
  readonly pWorsening: number;
  readonly z: number;
};

/** [FT1] */
export function reverseArrangement(timesH: readonly number[]): ReverseArrangement | null {
  const r = timesH.length;
  if (r < 2) return null;
  const gaps = timesH.map((time, i) => time - (timesH[i - 1] ?? 0));
  const differences = gaps.flatMap((gap, i) => gaps.slice(i + 1).map((later) => later - gap));
  const reversals = differences.filter((each) => each > 0).length;
  const equal = differences.filter((each) => each === 0).length;
  const chances = inversionChances(r);
  const pairs = (r * (r - 1)) / 2;
  return {
    reversals,
    pairs,
    pImproving: Math.min(1, chances.slice(reversals).reduce(sum, 0)),
    pWorsening: Math.min(1, chances.slice(0, reversals + equal + 1).reduce(sum, 0)),
    z: (reversals - pairs / 2 + 0.5) / Math.sqrt(((2 * r + 5) * (r - 1) * r) / 72),
  };
}

/** The chance of each number of inversions in a random order of n things. */
function inversionChances(n: number): readonly number[] {
  let chances = [1];
  for (let size = 2; size <= n; size++) {
    const next = new Array<number>(chances.length + size - 1).fill(0);
    for (const [i, chance] of chances.entries()) for (let k = 0; k < size; k++) next[i + k] = (next[i + k] as number) + chance / size;
    chances = next;
  }
  return chances;
}

/** [FT2] */
export function militaryHandbook(failures: FailureTimes): { chiSquare: number; degrees: number; pImproving: number } | null {
  const logs = logSum(failures);
  if (logs === null) return null;
  const degrees = 2 * failures.timesH.length;
  return { chiSquare: 2 * logs, degrees, pImproving: chiSquareTail(2 * logs, degrees) };
}

/** [FT3] `pImproving` is the chance of so low a z without a trend. */
export function laplace({ timesH, endH }: FailureTimes): { z: number; pImproving: number } | null {
  const r = timesH.length;
  if (r < 2 || endH <= 0) return null;
  const z = (Math.sqrt(12 * r) * timesH.reduce((total, time) => total + time - endH / 2, 0)) / (r * endH);
  return { z, pImproving: normalShare(z) };
}

type PowerLaw = {
  readonly estimator: 'NIST, bias-corrected' | 'maximum likelihood';
  readonly b: number;
  readonly a: number;
  readonly growthSlope: number;
  readonly mtbfAtEndH: number;
};
type PowerLawBounds = PowerLaw & { readonly confidence: number; readonly lowH: number; readonly highH: number | null };

/** [FT4] */
export function powerLaw(failures: FailureTimes, confidence: number): { nist: PowerLawBounds; mle: PowerLaw } | null {
  const logs = logSum(failures);
  const { length: r } = failures.timesH;
  if (logs === null || logs === 0) return null;
  const nist = fitted('NIST, bias-corrected', (r - 1) / logs, failures);
  const z = normalQuantile((1 + confidence) / 2);
  const base = nist.mtbfAtEndH * r * (r - 1);
  const below = r - z * Math.sqrt(r / 2);
  return {
    nist: {
      ...nist,
      confidence,
      lowH: base / (r + z ** 2 / 4 + Math.sqrt((r * z ** 2) / 2 + z ** 4 / 16)) ** 2,
      highH: below > 0 ? base / below ** 2 : null,
    },
    mle: fitted('maximum likelihood', r / logs, failures),
  };
}

function fitted(estimator: PowerLaw['estimator'], b: number, { timesH, endH }: FailureTimes): PowerLaw {
  const r = timesH.length;
  return { estimator, b, a: r / endH ** b, growthSlope: 1 - b, mtbfAtEndH: endH / (r * b) };
}

/** [FT5] Σ ln(T/t), or null. */
function logSum({ timesH, endH }: FailureTimes): number | null {
  const outside = timesH.find((time) => time < 0 || time > endH);
  if (outside !== undefined) throw new Error(`a failure at ${outside} h lies outside 0 to ${endH} h`);
  if (timesH.length < 2 || timesH.some((time) => time === 0)) return null;
  return timesH.reduce((total, time) => total + Math.log(endH / time), 0);
}

const sum = (a: number, b: number): number => a + b;
