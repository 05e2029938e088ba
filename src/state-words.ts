/** Equipment states as people read them, on screen and on paper alike. */
import type { EquipmentState } from './equipment.ts';

const STATE_WORDS: Readonly<Record<EquipmentState, string>> = {
  productive: 'Productive',
  standby: 'Standby',
  engineering: 'Engineering',
  'scheduled-downtime': 'Scheduled downtime',
  'unscheduled-downtime': 'Unscheduled downtime',
  nonscheduled: 'Nonscheduled',
  unobserved: 'Unobserved',
};

export const stateWord = (state: EquipmentState): string => STATE_WORDS[state];
