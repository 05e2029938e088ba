/** The inks of the screen on white paper: warm grounds are left out, because a report is printed. */
export { STATE_INK, type Pattern } from '../../src/state-ink.ts';

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

/** Lines of a plot, told apart by ink and dash. */
export const LINE_INKS = ['#4b3163', '#0b6357', '#8a4708', '#46505a'] as const;
