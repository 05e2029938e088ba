/**
 * A pump-down split at two pressures on the way to base: its parts tell causes apart that the total mixes.
 * [PD1] First part: valve open to the upper mark (what a gauge that ends at 2 Torr first sees); middle: to the lower mark; tail: to base pressure.
 * [PD2] A mark is passed where pressure first falls to it; between samples it falls straight in its logarithm. A pressure that starts below a
 *       mark passed it at the start.
 * [PD3] A mark passed inside a hole (a missing value, or no sample for more than 10 s) has no time, and the parts it bounds are null. A mark never
 *       reached is null as well, and `reachedBase` says so.
 * [PD4] Pressure told on change passes a mark when the word of it comes: a long silence before it is no hole.
 * (Split and default marks 1900 and 300 mTorr: trade practice.)
 */
import { LONGEST_BRIDGE_MS } from './integral.ts';
import type { Sample, Sampling } from './integral.ts';
import { TORR_PA } from './units.ts';

const UPPER_MARK_PA = 1.9 * TORR_PA;
const LOWER_MARK_PA = 0.3 * TORR_PA;

export type PumpDownSamples = {
  /** Valve open. */
  readonly startAt: number;
  readonly pressurePa: readonly Sample[];
  readonly sampling: Sampling;
};
type PumpDownParts = {
  readonly firstMs: number | null;
  readonly middleMs: number | null;
  readonly tailMs: number | null;
  readonly totalMs: number | null;
  readonly reachedBase: boolean;
};

/** [PD1] `basePa` below the lower mark. */
export function pumpDownParts(samples: PumpDownSamples, basePa: number): PumpDownParts {
  const [upper, lower, base] = [UPPER_MARK_PA, LOWER_MARK_PA, basePa].map((mark) => passing(samples, mark)) as [Passing, Passing, Passing];
  const { startAt } = samples;
  return {
    firstMs: between(startAt, upper.at),
    middleMs: between(upper.at, lower.at),
    tailMs: between(lower.at, base.at),
    totalMs: between(startAt, base.at),
    reachedBase: base.reached,
  };
}

type Passing = { readonly reached: boolean; readonly at: number | null };

/** [PD2] [PD3] [PD4] */
function passing(samples: PumpDownSamples, mark: number): Passing {
  const line = fromStart(samples);
  const index = line.findIndex(({ value }) => value !== null && value <= mark);
  if (index < 0) return { reached: false, at: null };
  const below = line[index] as Known;
  const before = line.slice(0, index).findLast(isKnown);
  if (before === undefined) return { reached: true, at: below.at - samples.startAt <= LONGEST_BRIDGE_MS ? samples.startAt : null };
  if (below.at - before.at > LONGEST_BRIDGE_MS) {
    const silent = samples.sampling === 'on-change' && line[index - 1] === before;
    return { reached: true, at: silent ? below.at : null };
  }
  const share = below.value > 0 ? Math.log(before.value / mark) / Math.log(before.value / below.value) : 1;
  return { reached: true, at: Math.round(before.at + share * (below.at - before.at)) };
}

/** The samples from the start on, led by what held at the start. */
function fromStart({ startAt, pressurePa, sampling }: PumpDownSamples): readonly Sample[] {
  const after = pressurePa.filter(({ at }) => at > startAt);
  const opening = pressurePa.findLast(({ at }) => at <= startAt);
  const holds = opening && (sampling === 'on-change' || startAt - opening.at <= LONGEST_BRIDGE_MS);
  return holds ? [{ at: startAt, value: opening.value }, ...after] : after;
}

type Known = { readonly at: number; readonly value: number };
const isKnown = (sample: Sample): sample is Known => sample.value !== null;

const between = (from: number | null, to: number | null): number | null => (from === null || to === null ? null : to - from);
