/** Utilization week by week, and the axes that hold it, on screen and on paper alike. A week without a value is a gap. */
import type { Share, Spread, WeekPage } from './numbers.ts';

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
