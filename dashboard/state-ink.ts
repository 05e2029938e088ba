/** Inks of the states as the screen draws them. */
import { EQUIPMENT_STATES, type EquipmentState } from '../src/equipment.ts';

export { STATE_INK } from '../src/state-ink.ts';

export const stateFill = (state: EquipmentState): string => `url(#ink-${state})`;

/** Bottom to top of a stack, left to right of a bar: from worked to unseen. */
export const STACK_ORDER: readonly EquipmentState[] = EQUIPMENT_STATES;
