/**
 * What a controller's step number counts, as far as one look can tell: a proposal for a person, and a doubt about what the site file says.
 * [SX1] A number above the recipe's number of steps, and one that counts while nothing can burn, counts all steps (or is the last one, left
 *       standing: hence a proposal).
 * [SX2] A number that is 1 while plasma burns counts plasma steps: pump-down and gas come before.
 * [SX3] A name that speaks of the sequence or of the plasma tells it where the numbers do not. Else it is not known, and nothing is proposed.
 */
import type { StepCounts } from './chamber-rules.ts';

export type StepsSeen = {
  readonly step: number | null;
  readonly stepCount: number | null;
  /** Null: it may or may not burn. */
  readonly burns: boolean | null;
  /** Of the number's own name, in English. */
  readonly words: readonly string[];
};
export type SeenCounts = { readonly counts: StepCounts; readonly reason: string };

export function stepCountsSeen(seen: StepsSeen): SeenCounts | null {
  return byNumber(seen) ?? byName(seen);
}

/** [SX1] [SX2] */
function byNumber({ step, stepCount, burns }: StepsSeen): SeenCounts | null {
  if (step === null || step < 1) return null;
  if (stepCount !== null && stepCount >= 1 && step > stepCount)
    return { counts: 'all-steps', reason: `it is ${step}, and the recipe has ${stepCount} steps` };
  if (burns === false) return { counts: 'all-steps', reason: 'it counts while nothing can burn' };
  return burns === true && step === 1 ? { counts: 'plasma-steps', reason: 'it is 1 while plasma burns' } : null;
}

/** [SX3] */
function byName({ words }: StepsSeen): SeenCounts | null {
  if (words.includes('plasma')) return { counts: 'plasma-steps', reason: 'its name says plasma' };
  return words.includes('sequence') ? { counts: 'all-steps', reason: 'its name says sequence' } : null;
}

/** Between the two nothing is said: low-pressure plasma chambers burn at some hundred pascals at most (vacuum practice, from memory, no source). */
const BURNS_BELOW_PA = 1_000;
const BURNS_ABOVE = 0.02;

type BurnSigns = {
  readonly pressurePa: number | null;
  readonly ventOpen: boolean | null;
  readonly forwardW: number | null;
  readonly rfMaxW: number;
};

/** Whether plasma burns now; null where it cannot be said. */
export function burnsNow({ pressurePa, ventOpen, forwardW, rfMaxW }: BurnSigns): boolean | null {
  if (ventOpen === true || (pressurePa !== null && pressurePa >= BURNS_BELOW_PA)) return false;
  return forwardW !== null && forwardW > BURNS_ABOVE * rfMaxW ? true : null;
}
