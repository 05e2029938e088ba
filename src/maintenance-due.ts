/**
 * When a part is due for maintenance, from what it was used since and how it was used lately.
 * [MD1] Use lately is that of the last four weeks of seven days before the last run's end; of fewer when fewer were watched, and of at least two.
 * [MD2] The likely day is what is left over the mean use. The range is from the use's own spread over those weeks: two standard deviations of the
 *       mean use of the time still to go. No use, or less than two weeks watched: no day.
 * [MD3] Overdue is overdue: no day is told any more, but since when is by the same count.
 * [MD4] Nothing is told beyond a year: "more than a year" is all that use of four weeks can say.
 * [MD5] In words it is a day of the site with its range, such as "about 12 Dec (10–15 Dec)"; hours and runs are whole.
 */
import { countAt, ownCount } from './counters.ts';
import type { Counted, CountedRun } from './counters.ts';
import { meanAndSd } from './stats.ts';
import { DAY_MS, HOUR_MS } from './zone.ts';

type Interval = { readonly counted: Counted; /** In ms, or runs. */ readonly every: number };
export type Due =
  | { readonly state: 'overdue'; readonly over: number; readonly since: number | null }
  | { readonly state: 'due'; readonly left: number; readonly early: number; readonly likely: number; readonly late: number | null }
  | { readonly state: 'far'; readonly left: number }
  | { readonly state: 'unknown'; readonly left: number };

export const WEEK_MS = 7 * DAY_MS;
const WEEKS = 4;
const FEWEST_WEEKS = 2;
const FAR_MS = 365 * DAY_MS;

type DueAsked = {
  /** Ascending. */
  readonly runs: readonly CountedRun[];
  readonly interval: Interval;
  /** The count since the last maintenance, and when that was; null: since first watched. */
  readonly used: number;
  readonly since: number | null;
};

/** [MD1]-[MD4] */
export function maintenanceDue({ runs, interval, used, since }: DueAsked): Due {
  const left = interval.every - used;
  if (left <= 0) return { state: 'overdue', over: -left, since: reachedAt(runs, interval, since) };
  const weeks = weeklyUse(runs, interval.counted);
  const { mean, sd } = meanAndSd(weeks);
  if (weeks.length < FEWEST_WEEKS || mean === null || mean <= 0) return { state: 'unknown', left };
  const now = (runs.at(-1) as CountedRun).at;
  const toGo = left / mean;
  if (toGo * WEEK_MS > FAR_MS) return { state: 'far', left };
  const spread = 2 * (sd ?? 0) * Math.sqrt(1 / weeks.length + 1 / Math.max(1, toGo));
  const at = (use: number): number => Math.round(now + (left / use) * WEEK_MS);
  const late = mean - spread > 0 ? at(mean - spread) : Infinity;
  return { state: 'due', left, early: at(mean + spread), likely: at(mean), late: late - now > FAR_MS ? null : late };
}

/** [MD1] The newest first. */
export function weeklyUse(runs: readonly CountedRun[], counted: Counted): readonly number[] {
  const [first, last] = [runs[0], runs.at(-1)];
  if (first === undefined || last === undefined) return [];
  const use = (at: number): number => ownCount(countAt(runs, at), counted);
  const weeks = Math.min(WEEKS, Math.floor((last.at - first.at) / WEEK_MS));
  return Array.from({ length: weeks }, (_, i) => use(last.at - i * WEEK_MS) - use(last.at - (i + 1) * WEEK_MS));
}

/** [MD3] The end of the run by which the interval was used up. */
function reachedAt(runs: readonly CountedRun[], { counted, every }: Interval, since: number | null): number | null {
  const from = since === null ? 0 : ownCount(countAt(runs, since), counted);
  return runs.find(({ at, counts }) => at > (since ?? -Infinity) && ownCount(counts, counted) - from >= every)?.at ?? null;
}

/** [MD5] */
export function dueText(due: Due, counted: Counted, zone: string): string {
  const day = (at: number): string => new Intl.DateTimeFormat('en-GB', { timeZone: zone, day: 'numeric', month: 'short' }).format(at);
  switch (due.state) {
    case 'overdue':
      return `overdue by ${amount(due.over, counted)}${due.since === null ? '' : `, since ${day(due.since)}`}`;
    case 'due':
      return `about ${day(due.likely)} (${range(day(due.early), due.late === null ? null : day(due.late))})`;
    case 'far':
      return 'in more than a year';
    case 'unknown':
      return 'not enough use seen to say';
  }
}

function range(early: string, late: string | null): string {
  if (late === null) return `${early} or later`;
  const [earlyDay, earlyMonth] = early.split(' ');
  if (early === late) return `that day, as used lately`;
  return earlyMonth === late.split(' ')[1] ? `${earlyDay}–${late}` : `${early} – ${late}`;
}

/** Whole hours, or runs; less than one is said as such. */
export function amount(value: number, counted: Counted): string {
  if (counted === 'runs') return value === 1 ? '1 run' : `${value} runs`;
  return value < HOUR_MS ? '< 1 h' : `${Math.round(value / HOUR_MS)} h`;
}
