/** Phases as the trade says them, on screen and on paper alike. */
import type { Phase } from './equipment.ts';

export const PHASE_WORDS: Readonly<Record<Phase, string>> = {
  idle: 'idle',
  load: 'loading',
  'pump-down': 'pump-down',
  'gas-stabilisation': 'gas stabilisation',
  plasma: 'plasma',
  purge: 'purge',
  'vent-delay': 'before vent',
  vent: 'vent',
  'wait-unload': 'vented',
  unload: 'unloading',
  hold: 'on hold',
  'leak-test': 'leak test',
  parked: 'under vacuum',
};
