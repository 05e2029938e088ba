/**
 * The inks of the screen on white paper: the same tones and patterns, so that nobody learns two languages (tests hold them equal). Warm
 * grounds are left out, because a report is printed.
 */
import type { EquipmentState } from '../../src/equipment.ts';

export const INK = {
  ink: '#1f1a17',
  soft: '#5a5249',
  mark: '#857b6e',
  rule: '#d6cfc0',
  ground: '#f6f3ec',
  glow: '#4b3163',
  band: '#cfc4d8',
  act: '#a81412',
  loss: '#8d8170',
  service: '#3c474f',
} as const;

export type Pattern = 'plain' | 'rising' | 'falling' | 'cross' | 'dots' | 'empty';

export const STATE_INK: Record<EquipmentState, { readonly ground: string; readonly line: string; readonly pattern: Pattern }> = {
  productive: { ground: '#4b3163', line: '#4b3163', pattern: 'plain' },
  standby: { ground: '#d9cfbd', line: '#d9cfbd', pattern: 'plain' },
  engineering: { ground: '#b9a9cc', line: '#4b3163', pattern: 'dots' },
  'scheduled-downtime': { ground: '#c3cbd0', line: '#3c474f', pattern: 'rising' },
  'unscheduled-downtime': { ground: '#a81412', line: '#f6d9d8', pattern: 'cross' },
  nonscheduled: { ground: '#fbf9f4', line: '#857b6e', pattern: 'empty' },
  unobserved: { ground: '#efeae0', line: '#857b6e', pattern: 'falling' },
};

/** Lines of a plot, told apart by ink and dash. */
export const LINE_INKS = ['#4b3163', '#0b6357', '#8a4708', '#46505a'] as const;
