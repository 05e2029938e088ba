/**
 * Forward and reflected power: what the plasma did not take, and the energy it did.
 * [RF1] Reflection coefficient ρ = √(Pr/Pf), VSWR = (1+ρ)/(1-ρ), return loss = -10 log Pr/Pf dB, mismatch loss = -10 log(1-ρ²) dB (textbook).
 * [RF2] Below the sensor's floor the forward power says nothing: all figures are null, with the reason.
 * [RF3] Reflected power at or above forward power, or below zero, is a sensor fault, never a VSWR below zero. Nothing reflected at all is VSWR 1
 *       without a return loss: null, not infinity.
 * [RF4] Delivered energy is the integral of forward minus reflected power over plasma; each signal is integrated by its own sampling rule. A hole in
 *       either refuses the number, and so does more reflected than forward energy. It is energy at the generator: not etch, no verdict.
 */
import type { Span } from './calendar.ts';
import { integral } from './integral.ts';
import type { Sample, Sampling } from './integral.ts';

type RfReading = {
  readonly forwardW: number;
  readonly reflectedW: number;
  /** Below this the forward reading is noise; the plant's default is 5 % of the generator's maximum. */
  readonly floorW: number;
};
type Reflection = {
  readonly reflectedFraction: number | null;
  readonly rho: number | null;
  readonly vswr: number | null;
  readonly returnLossDb: number | null;
  readonly mismatchLossDb: number | null;
  readonly deliveredW: number | null;
  readonly why: 'measured' | 'below the sensor floor' | 'sensor fault';
};

const nothing = (why: Reflection['why']): Reflection => ({
  reflectedFraction: null,
  rho: null,
  vswr: null,
  returnLossDb: null,
  mismatchLossDb: null,
  deliveredW: null,
  why,
});

/** [RF1] [RF2] [RF3] */
export function reflection({ forwardW, reflectedW, floorW }: RfReading): Reflection {
  if (!(forwardW > 0 && forwardW >= floorW)) return nothing('below the sensor floor');
  if (!(reflectedW >= 0 && reflectedW < forwardW)) return nothing('sensor fault');
  const fraction = reflectedW / forwardW;
  const rho = Math.sqrt(fraction);
  return {
    reflectedFraction: fraction,
    rho,
    vswr: vswrOfRho(rho),
    returnLossDb: fraction > 0 ? -10 * Math.log10(fraction) : null,
    mismatchLossDb: (-10 * Math.log1p(-fraction)) / Math.LN10,
    deliveredW: forwardW - reflectedW,
    why: 'measured',
  };
}

const vswrOfRho = (rho: number): number => (1 + rho) / (1 - rho);

/** [RF1] The reflected fraction that a VSWR of 1 or more stands for. */
export function reflectedFractionOfVswr(vswr: number): number {
  return ((vswr - 1) / (vswr + 1)) ** 2;
}

type RfSeries = { readonly forwardW: readonly Sample[]; readonly reflectedW: readonly Sample[]; readonly sampling: Sampling };
type DeliveredEnergy = {
  readonly energyJ: number | null;
  /** What was seen outside the holes; complete only when `energyJ` is not null. */
  readonly knownJ: number;
  readonly unobservedMs: number;
  readonly why: 'measured' | 'not fully observed' | 'sensor fault';
};

/** [RF4] `plasma`: the spans in which plasma burned. */
export function deliveredEnergy({ forwardW, reflectedW, sampling }: RfSeries, plasma: readonly Span[]): DeliveredEnergy {
  let [knownJ, unobservedMs] = [0, 0];
  for (const span of plasma) {
    const forward = integral(forwardW, span, sampling);
    const reflected = integral(reflectedW, span, sampling);
    knownJ += forward.known - reflected.known;
    unobservedMs += Math.max(forward.unobservedMs, reflected.unobservedMs);
  }
  const why = unobservedMs > 0 ? 'not fully observed' : knownJ < 0 ? 'sensor fault' : 'measured';
  return { energyJ: why === 'measured' ? knownJ : null, knownJ, unobservedMs, why };
}
