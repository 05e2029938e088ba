/**
 * What a chamber is doing, by its controller's own phase number.
 * [PT1] A phase number counts once it held for a second, back-dated to its first appearance; a number that is not mapped says nothing.
 * [PT2] The tag labels, signals refine: where the controller only says idle, door and atmosphere tell load, unload, waiting and parked.
 * [PT3] Tag and signals contradicting each other for 30 s is a finding; the label stays the tag's.
 */
import type { ChamberRules } from './chamber-rules.ts';
import type { ChamberState } from './chamber-state.ts';
import type { Phase } from './equipment.ts';
import { AT_REST } from './phase.ts';

export const TAG_HOLD_MS = 1_000;
export const MISMATCH_MS = 30_000;

/** [PT1] The phase behind a number, or null. */
export function phaseOfCode(code: number | null, codes: ChamberRules['phaseCodes']): Phase | null {
  if (code === null || codes === null) return null;
  return Object.hasOwn(codes, String(code)) ? (codes[String(code)] as Phase) : null;
}

/** [PT1] The tag's pending change after its number changed at `at`. */
export function tagTold(state: Pick<ChamberState, 'tagPhase' | 'tagNext'>, phase: Phase | null, at: number): ChamberState['tagNext'] {
  if (phase === null || phase === state.tagPhase) return null;
  return state.tagNext?.phase === phase ? state.tagNext : { phase, at };
}

/** [PT2] True when signals may say it more exactly than the tag's `idle`. */
export function isRefined(tag: Phase, signals: Phase, codes: ChamberRules['phaseCodes']): boolean {
  if (tag !== 'idle' || !AT_REST.includes(signals)) return false;
  return !Object.values(codes ?? {}).includes(signals);
}

/** [PT3] What contradicts: at rest against in a run, or two different process phases. A hold, and a leak test not yet told by signals, do not. */
export function contradicts(tag: Phase, signals: Phase): boolean {
  if (tag === signals || tag === 'hold' || signals === 'hold') return false;
  if (tag === 'leak-test' && signals === 'vent-delay') return false;
  const [restful, working] = [AT_REST.includes(tag), AT_REST.includes(signals)];
  if (restful || working) return restful !== working;
  return true;
}
