/**
 * [SX4] What the step number of a chamber found in an unknown server counts, by the values that its variables showed in the same look, each in its
 *       own unit; one that could not be read or names no unit says nothing.
 */
import type { Candidate } from './found.ts';
import { termsOf } from './name-words.ts';
import type { SignalName } from './signal.ts';
import { burnsNow, stepCountsSeen, type SeenCounts } from './step-counts.ts';
import { toSi } from './units.ts';

/** Of a generator that names no range. */
const USUAL_RF_MAX_W = 1000;

export function stepCountsFound(candidates: readonly Candidate[]): SeenCounts | null {
  const of = (signal: SignalName): Candidate | undefined => candidates.find((one) => one.signal === signal);
  const step = of('recipe.step');
  if (step === undefined) return null;
  const rf = of('rf.forward');
  const vent = of('vent.valveOpen');
  const burns = burnsNow({
    pressurePa: siOf(of('chamber.pressure')),
    ventOpen: vent === undefined ? null : (vent.variable.value === 'true') !== vent.inverted,
    forwardW: siOf(rf),
    rfMaxW: rf?.variable.range?.[1] ?? USUAL_RF_MAX_W,
  });
  const words = termsOf(`${step.variable.path.at(-1) ?? ''} ${step.variable.description}`);
  return stepCountsSeen({ step: numberOf(step), stepCount: numberOf(of('recipe.stepCount')), burns, words });
}

/** Null where it could not be read, or is in no unit that is known. */
function siOf(found: Candidate | undefined): number | null {
  const value = numberOf(found);
  const unit = found?.variable.unit ?? null;
  if (value === null || unit === null || unit === 'percent') return null;
  return toSi(value, unit);
}

function numberOf(found: Candidate | undefined): number | null {
  const text = found?.variable.unread === undefined ? (found?.variable.value.trim() ?? '') : '';
  const value = Number(text);
  return text === '' || !Number.isFinite(value) ? null : value;
}
