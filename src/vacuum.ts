/**
 * Vacuum arithmetic in SI; screens turn it into the site's units.
 * [VA1] Rate of rise: Q = V · Δp/Δt, the slope fitted over the isolated time after the first 60 s. A straight rise is a leak, a flattening one is
 *       outgassing; both halves are told, the verdict only where there are enough samples.
 * [VA2] Pump-down at constant speed: t = (V/S) ln((p0 - pu) / (p1 - pu)); the last term's time goes to infinity, and is null, at the ultimate pressure.
 * [VA3] Effective speed from the slope of the logarithm of pressure: S = -V · d ln p / dt, by least squares.
 * [VA4] Pressure under gas load: p = Q / S, with the throughput of the flow at the temperature of the gas.
 * (Textbook relations.)
 */
import type { Known } from './series-line.ts';
import { slope } from './series-line.ts';
import { throughputPaM3PerS } from './units.ts';

const SETTLING_S = 60;
/** A rise of which the second half keeps this much of the first half's slope counts as straight. */
const STRAIGHT_SHARE = 0.8;
const FEWEST_PER_HALF = 5;

type RiseVerdict = 'leak' | 'outgassing' | 'no rise' | 'not enough data';
type RateOfRise = {
  readonly risePaPerS: number;
  readonly throughputPaM3PerS: number;
  readonly firstHalfPaPerS: number | null;
  readonly secondHalfPaPerS: number | null;
  readonly verdict: RiseVerdict;
};

/** [VA1] `pressurePa` over seconds since isolation; null where fewer than two samples remain after settling. */
export function rateOfRise(samples: readonly Known[], volumeM3: number, settlingS = SETTLING_S): RateOfRise | null {
  const settled = samples.filter(({ atS }) => atS >= settlingS);
  const risePaPerS = slope(settled);
  if (risePaPerS === null) return null;
  const half = ((settled[0] as Known).atS + (settled.at(-1) as Known).atS) / 2;
  const early = settled.filter(({ atS }) => atS <= half);
  const late = settled.filter(({ atS }) => atS >= half);
  const halves = { firstHalfPaPerS: slope(early), secondHalfPaPerS: slope(late) };
  const enough = Math.min(early.length, late.length) >= FEWEST_PER_HALF;
  return { risePaPerS, throughputPaM3PerS: volumeM3 * risePaPerS, ...halves, verdict: enough ? verdict(halves) : 'not enough data' };
}

function verdict({
  firstHalfPaPerS: first,
  secondHalfPaPerS: second,
}: Pick<RateOfRise, 'firstHalfPaPerS' | 'secondHalfPaPerS'>): RiseVerdict {
  if (first === null || second === null) return 'not enough data';
  if (first <= 0) return 'no rise';
  return second >= STRAIGHT_SHARE * first ? 'leak' : 'outgassing';
}

type PumpDown = {
  readonly volumeM3: number;
  readonly speedM3PerS: number;
  readonly fromPa: number;
  readonly toPa: number;
  readonly ultimatePa?: number;
};

/** [VA2] */
export function pumpDownS({ volumeM3, speedM3PerS, fromPa, toPa, ultimatePa = 0 }: PumpDown): number | null {
  if (!(speedM3PerS > 0 && toPa > ultimatePa && fromPa > toPa)) return null;
  return (volumeM3 / speedM3PerS) * Math.log((fromPa - ultimatePa) / (toPa - ultimatePa));
}

/** [VA2] Pressure falls to 1/e, and to a tenth, in these times. */
export const timeConstantS = (volumeM3: number, speedM3PerS: number): number => volumeM3 / speedM3PerS;
export const decadeS = (volumeM3: number, speedM3PerS: number): number => timeConstantS(volumeM3, speedM3PerS) * Math.LN10;

/** [VA3] Null where the pressure does not fall, or is not above zero. */
export function effectiveSpeedM3PerS(samples: readonly Known[], volumeM3: number): number | null {
  if (samples.some(({ value }) => value <= 0)) return null;
  const fall = slope(samples.map(({ atS, value }) => ({ atS, value: Math.log(value) })));
  return fall === null || fall >= 0 ? null : -volumeM3 * fall;
}

/** [VA4] */
export function throttledPressurePa({ molPerS, gasC, speedM3PerS }: { molPerS: number; gasC: number; speedM3PerS: number }): number | null {
  return speedM3PerS > 0 ? throughputPaM3PerS(molPerS, gasC) / speedM3PerS : null;
}
