/**
 * How each equipment state is inked in strips and bars, on screen and on paper alike: tone and pattern together, so that a grey print and a
 * colour-blind eye tell them apart. Red is kept for time lost unplanned; what nobody saw is hatched and never looks like a state.
 */
import type { EquipmentState } from './equipment.ts';

export type Pattern = 'plain' | 'rising' | 'falling' | 'cross' | 'dots' | 'empty';

export const STATE_INK: Readonly<Record<EquipmentState, { readonly ground: string; readonly line: string; readonly pattern: Pattern }>> = {
  productive: { ground: '#4b3163', line: '#4b3163', pattern: 'plain' },
  standby: { ground: '#d9cfbd', line: '#d9cfbd', pattern: 'plain' },
  engineering: { ground: '#b9a9cc', line: '#4b3163', pattern: 'dots' },
  'scheduled-downtime': { ground: '#c3cbd0', line: '#3c474f', pattern: 'rising' },
  'unscheduled-downtime': { ground: '#a81412', line: '#f6d9d8', pattern: 'cross' },
  nonscheduled: { ground: '#fbf9f4', line: '#857b6e', pattern: 'empty' },
  unobserved: { ground: '#efeae0', line: '#857b6e', pattern: 'falling' },
};
