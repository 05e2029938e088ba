/**
 * Overall equipment effectiveness by its two published bases. They differ by their denominator: never show one without its base.
 * [OE1] In the manner of SEMI E79 (formulas from memory): base total time. OEE = availability x performance x quality
 *       = theoretical time of effective units / total time.
 * [OE2] In the manner of ISO 22400-2 (formulas seen in an open ontology of it): base planned busy time. OEE = availability x effectiveness x
 *       quality ratio. Effectiveness may exceed 1.
 * A ratio with nothing to divide by is null.
 */

export type E79Input = {
  readonly totalMs: number;
  readonly uptimeMs: number;
  readonly productiveMs: number;
  /** Theoretical production time of all units made, and of the effective (good) ones. */
  readonly theoreticalMs: number;
  readonly theoreticalGoodMs: number;
};
type Ratio = number | null;

/** [OE1] */
export function oeeE79(input: E79Input): {
  base: 'total time';
  availability: Ratio;
  operational: Ratio;
  rate: Ratio;
  quality: Ratio;
  oee: Ratio;
} {
  return {
    base: 'total time',
    availability: ratio(input.uptimeMs, input.totalMs),
    operational: ratio(input.productiveMs, input.uptimeMs),
    rate: ratio(input.theoreticalMs, input.productiveMs),
    quality: ratio(input.theoreticalGoodMs, input.theoreticalMs),
    oee: ratio(input.theoreticalGoodMs, input.totalMs),
  };
}

/** Times in one unit, whichever; acronyms as the standard writes them. */
export type Iso22400Input = {
  /** Planned busy time, actual production time, actual unit setup time, actual unit delay time, actual order execution time. */
  readonly pbt: number;
  readonly apt: number;
  readonly aust: number;
  readonly adet: number;
  readonly aoet: number;
  /** Planned run time per item times produced quantity, summed over the kinds of item. */
  readonly priTimesPq: number;
  /** Produced and good quantity. */
  readonly pq: number;
  readonly gq: number;
};

export type Iso22400 = {
  readonly base: 'planned busy time';
  /** Actual unit processing time and actual unit busy time. */
  readonly aupt: number;
  readonly aubt: number;
  /** Time not running orders though available. */
  readonly adot: number;
  readonly availability: Ratio;
  readonly effectiveness: Ratio;
  readonly quality: Ratio;
  readonly oee: Ratio;
  readonly nee: Ratio;
  readonly allocationRatio: Ratio;
  readonly allocationEfficiency: Ratio;
  readonly utilizationEfficiency: Ratio;
  readonly setupRatio: Ratio;
  readonly technicalEfficiency: Ratio;
  readonly throughputRate: Ratio;
};

/** [OE2] */
export function iso22400({ pbt, apt, aust, adet, aoet, priTimesPq, pq, gq }: Iso22400Input): Iso22400 {
  const aupt = aust + apt;
  const aubt = aupt + adet;
  const [availability, effectiveness, quality] = [ratio(apt, pbt), ratio(priTimesPq, apt), ratio(gq, pq)];
  return {
    base: 'planned busy time',
    aupt,
    aubt,
    adot: pbt - aubt,
    availability,
    effectiveness,
    quality,
    oee: product(availability, effectiveness, quality),
    nee: product(ratio(aupt, pbt), effectiveness, quality),
    allocationRatio: ratio(aubt, aoet),
    allocationEfficiency: ratio(aubt, pbt),
    utilizationEfficiency: ratio(apt, aubt),
    setupRatio: ratio(aust, aupt),
    technicalEfficiency: ratio(apt, apt + adet),
    throughputRate: ratio(pq, aoet),
  };
}

function ratio(part: number, base: number): Ratio {
  return base > 0 ? part / base : null;
}

function product(...ratios: readonly Ratio[]): Ratio {
  return ratios.reduce((left, right) => (left === null || right === null ? null : left * right), 1);
}
