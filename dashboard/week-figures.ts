/**
 * The week page's figures as numbers: where each bar, band and mark lies, so that they are tested without a browser. A share that may not be
 * stated (too little was observed) has a band and no mark; a week without either is a gap in the line.
 */
import type { EquipmentState } from '../src/equipment.ts';
import type { StateTimes } from '../src/numbers.ts';
import type { WeekMark } from '../src/week-marks.ts';
import { STACK_ORDER } from './state-ink.ts';

export { axisTop, spreadAxisMs, utilizationMarks, type WeekMark } from '../src/week-marks.ts';

type StackPiece = { readonly state: EquipmentState; readonly start: number; readonly width: number; readonly ms: number };

/** States of a window side by side, as shares of it; empty ones are left out. */
export function stack(time: StateTimes): StackPiece[] {
  const total = STACK_ORDER.reduce((sum, state) => sum + time[state], 0);
  const pieces: StackPiece[] = [];
  let start = 0;
  for (const state of STACK_ORDER) {
    const width = total === 0 ? 0 : time[state] / total;
    if (width > 0) pieces.push({ state, start, width, ms: time[state] });
    start += width;
  }
  return pieces;
}

/** Runs of neighbouring marks that have a value: each is one line, between them is a gap. Indexes into the marks. */
export function lineRuns(marks: readonly WeekMark[]): number[][] {
  const runs: number[][] = [];
  marks.forEach((m, i) => {
    if (m.value === null) return;
    const open = runs.at(-1);
    if (open && open.at(-1) === i - 1) open.push(i);
    else runs.push([i]);
  });
  return runs;
}

/** The chamber that lost most to a cause, and how many others did too. */
export function mostHit(
  chambers: readonly { chamber: string; lostMs: number }[],
): { readonly chamber: string; readonly others: number } | null {
  const worst = [...chambers].sort((a, b) => b.lostMs - a.lostMs)[0];
  return worst ? { chamber: worst.chamber, others: chambers.length - 1 } : null;
}
