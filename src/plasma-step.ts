/**
 * Which step of the plasma runs.
 * [PS1] A recipe step tag decides; a step begins when the tag says a new number while plasma burns.
 * [PS2] Without it, a settled change of a set point (power by 3 % of maximum, a flow by 2 % of full scale, held 3 s) begins the next step,
 *       marked inferred. A power set point of zero is a pause, not a step.
 * [PS3] Where there are no set points the actual values are watched the same way, ten seconds after the step began.
 * [PS4] A number that counts all steps (of the sequence, or of all runs), or of which the site file does not say what it counts, only says where a
 *       step ends: a change held 3 s while plasma burns begins the next, numbered from 1 in its run, and so does another number after a pause.
 * [PS5] The recipe's number of steps is the plasma's only where the number counts plasma steps.
 */
import type { ChamberRules } from './chamber-rules.ts';
import type { ChamberState, Inputs, StepWatch } from './chamber-state.ts';
import { NEVER } from './flag.ts';
import { GAS_LINES } from './signal.ts';

export const STEP_HOLD_MS = 3_000;
const STEP_SETTLE_MS = 10_000;
export const NO_WATCH: StepWatch = { marks: null, marksAt: 0, changedAt: NEVER };

type Marks = readonly (number | null)[];

/** [PS1] The number is the plasma step itself. */
export const isStepTold = (inputs: Inputs, rules: ChamberRules): boolean =>
  inputs.recipeStep !== null && rules.stepCounts === 'plasma-steps';

/** [PS4] The number tells where a step ends, not which it is. */
export const isStepEndTold = (inputs: Inputs, rules: ChamberRules): boolean =>
  inputs.recipeStep !== null && rules.stepCounts !== 'plasma-steps';

/** [PS5] */
export const plasmaStepCount = (inputs: Inputs, rules: ChamberRules): number | null =>
  rules.stepCounts === 'plasma-steps' ? inputs.stepCount : null;

const hasSetPoints = (inputs: Inputs): boolean => inputs.forwardSetPointW !== null;

/** [PS2] [PS3] What marks a step now, powers and flows as shares of full scale; null during a pause. */
function stepMarks(inputs: Inputs, rules: ChamberRules): Marks | null {
  if (isStepEndTold(inputs, rules)) return numberMark(inputs, rules);
  const bySetPoint = hasSetPoints(inputs);
  const power = (bySetPoint ? inputs.forwardSetPointW : inputs.forwardW) ?? 0;
  if (power < 0.02 * rules.rfMaxW) return null;
  const flows = GAS_LINES.map((line) => {
    const flow = bySetPoint ? inputs[`flowSetPoint${line}`] : inputs[`flow${line}`];
    const full = rules.gases[line]?.fullScaleMolPerS;
    return flow === null || full === undefined ? null : flow / full;
  });
  return [power / rules.rfMaxW, ...flows];
}

/** [PS4] The number ends with the plasma, but power is sampled later than the number: what falls while the new one holds is no step. */
function numberMark({ recipeStep, forwardW, forwardSetPointW }: Inputs, { rfMaxW }: ChamberRules): Marks | null {
  const isDark = [forwardW, forwardSetPointW].some((power) => power !== null && power < 0.02 * rfMaxW);
  return isDark || recipeStep === null || recipeStep < 1 ? null : [recipeStep];
}

function marksDiffer(a: Marks, b: Marks): boolean {
  return a.some((value, i) => {
    const other = b[i] ?? null;
    return value !== null && other !== null && Math.abs(value - other) > (i === 0 ? 0.03 : 0.02);
  });
}

/** The watch as a plasma step begins. `known`: by what marks it goes on after a pause. */
export const watchFrom = (at: number, known: StepWatch['marks'] = null): StepWatch => ({ marks: known, marksAt: at, changedAt: NEVER });

/** [PS4] Plasma burns again: with another number than when it went out. */
export function isNextAfterPause(watch: StepWatch, inputs: Inputs, rules: ChamberRules): boolean {
  if (!isStepEndTold(inputs, rules) || watch.marks?.length !== 1) return false;
  return inputs.recipeStep !== null && inputs.recipeStep >= 1 && marksDiffer([inputs.recipeStep], watch.marks);
}

/** [PS2] [PS3] The watch after looking at the inputs at `at`. Same object when nothing changed. */
export function watched(watch: StepWatch, state: Pick<ChamberState, 'inputs'>, rules: ChamberRules, at: number): StepWatch {
  const marks = stepMarks(state.inputs, rules);
  if (marks === null) return watch.changedAt === NEVER ? watch : { ...watch, changedAt: NEVER };
  if (watch.marks?.length !== marks.length) return at >= watch.marksAt + settleMs(state.inputs, rules) ? { ...watch, marks } : watch;
  const differs = marksDiffer(marks, watch.marks);
  if (!differs) return watch.changedAt === NEVER ? watch : { ...watch, changedAt: NEVER };
  return watch.changedAt === NEVER ? { ...watch, changedAt: at } : watch;
}

/** Numbers and set points are exact at once; actual values need to settle first. */
export const settleMs = (inputs: Inputs, rules: ChamberRules): number =>
  isStepEndTold(inputs, rules) || hasSetPoints(inputs) ? STEP_HOLD_MS : STEP_SETTLE_MS;
