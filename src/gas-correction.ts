/**
 * What flows when a thermal flow controller shows a number for another gas. Factors (nitrogen 1) come from the instrument's label, never from here:
 * makers differ by up to 10 %.
 * [GC1] Actual flow = indicated flow × factor of the gas / factor of the gas it was calibrated on.
 * [GC2] A mixture's factor by the harmonic rule is 1 / Σ x/GCF; by the rule of structure factor and heat capacity 0.3106 Σ a·s / Σ a·d·cp.
 *       They disagree by some percent, so the result names its rule.
 * [GC3] Shares are of volume and are brought to a sum of 1; a share below zero, or nothing at all, is refused.
 */
import { Fault } from './fault.ts';

export type Calibration = { readonly gasFactor: number; readonly calibrationFactor: number };

/** [GC1] In whatever unit the indicated flow has. */
export const actualFlow = (indicated: number, { gasFactor, calibrationFactor }: Calibration): number =>
  (indicated * gasFactor) / calibrationFactor;
/** [GC1] What to set so that `wanted` flows. */
export const setPointFor = (wanted: number, { gasFactor, calibrationFactor }: Calibration): number =>
  (wanted * calibrationFactor) / gasFactor;

export type MixtureRule = 'harmonic' | 'structure factor and heat capacity';
export type MixtureFactor = { readonly factor: number; readonly rule: MixtureRule };

/** [GC2] [GC3] */
export function harmonicFactor(parts: readonly { readonly share: number; readonly gasFactor: number }[]): MixtureFactor {
  const total = totalShare(parts);
  return { factor: total / parts.reduce((sum, { share, gasFactor }) => sum + share / gasFactor, 0), rule: 'harmonic' };
}

export type ThermalPart = {
  readonly share: number;
  /** 1.030 for one atom, 1.000 for two, 0.941 for three, 0.880 for more. */
  readonly structureFactor: number;
  readonly densityGPerL: number;
  readonly heatCapacityCalPerGK: number;
};

/** [GC2] [GC3] */
export function thermalFactor(parts: readonly ThermalPart[]): MixtureFactor {
  totalShare(parts);
  const structure = parts.reduce((sum, { share, structureFactor }) => sum + share * structureFactor, 0);
  const heat = parts.reduce((sum, { share, densityGPerL, heatCapacityCalPerGK }) => sum + share * densityGPerL * heatCapacityCalPerGK, 0);
  return { factor: (0.3106 * structure) / heat, rule: 'structure factor and heat capacity' };
}

function totalShare(parts: readonly { readonly share: number }[]): number {
  const total = parts.reduce((sum, { share }) => sum + share, 0);
  if (!(total > 0) || parts.some(({ share }) => share < 0)) {
    throw new Fault('invalid', 'A gas mixture needs shares of zero or more that are not all zero: state each gas with its part by volume.');
  }
  return total;
}
