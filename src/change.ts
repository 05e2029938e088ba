/**
 * One step of the reducer in the making: a shallow copy of the state whose fields may be replaced (never changed inside), and the facts found so far.
 */
import type { ChamberRules } from './chamber-rules.ts';
import type { ChamberState } from './chamber-state.ts';
import type { ChamberEvent } from './event.ts';

export type Change = {
  readonly rules: ChamberRules;
  readonly s: { -readonly [K in keyof ChamberState]: ChamberState[K] };
  readonly events: ChamberEvent[];
};

export const changeOf = (rules: ChamberRules, state: ChamberState): Change => ({ rules, s: { ...state }, events: [] });
