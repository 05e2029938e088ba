/**
 * The week page's figures as numbers: where each bar, band and mark lies, so that they are tested without a browser. A share that may not be
 * stated (too little was observed) has a band and no mark; a week without either is a gap in the line.
 */
import type { EquipmentState } from '../src/equipment.ts';
import type { Share, Spread, StateTimes, WeekPage } from '../src/numbers.ts';
import { STACK_ORDER } from './state-ink.ts';

export type StackPiece = { readonly state: EquipmentState; readonly start: number; readonly width: number; readonly ms: number };

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

export type WeekMark = {
  readonly week: string;
  readonly value: number | null;
  readonly low: number | null;
  readonly high: number | null;
  readonly isThis: boolean;
};

const mark = (week: string, share: Share | undefined, isThis: boolean): WeekMark => ({
  week,
  value: share?.value ?? null,
  low: share?.low ?? null,
  high: share?.high ?? null,
  isThis,
});

/** Operational utilization week by week, this week last: of the fleet, or of one chamber. */
export function utilizationMarks(page: WeekPage, chamber: string | null): WeekMark[] {
  const earlier = page.previous.map((week) =>
    mark(
      week.week,
      chamber === null ? week.operationalUtilization : week.byChamber.find((c) => c.chamber === chamber)?.operationalUtilization,
      false,
    ),
  );
  const now = chamber === null ? page.fleet : page.chambers.find((c) => c.chamber === chamber);
  return [...earlier, mark(page.week, now?.operationalUtilization, true)];
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

/** The top of a share axis that holds every band with a little room, in whole quarters. */
export function axisTop(marks: readonly WeekMark[]): number {
  const most = Math.max(0, ...marks.map((m) => m.high ?? m.value ?? 0));
  return Math.min(1, Math.max(0.25, Math.ceil(most * 1.03 * 4) / 4));
}

/** The end of an axis that holds all 90 % points, in whole ten minutes. */
export function spreadAxisMs(spreads: readonly (Spread | null)[]): number {
  const most = Math.max(0, ...spreads.map((s) => s?.p90 ?? 0));
  return Math.max(1, Math.ceil((most * 1.04) / 600_000)) * 600_000;
}

/** The chamber that lost most to a cause, and how many others did too. */
export function mostHit(
  chambers: readonly { chamber: string; lostMs: number }[],
): { readonly chamber: string; readonly others: number } | null {
  const worst = [...chambers].sort((a, b) => b.lostMs - a.lostMs)[0];
  return worst ? { chamber: worst.chamber, others: chambers.length - 1 } : null;
}
