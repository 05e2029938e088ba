/**
 * How many alarms came in each period of a window, for a chart.
 * [AR1] Periods are of ten minutes up to two days, of an hour beyond, aligned to UTC as the share of periods is; the first and the last are cut by
 *       the window.
 * [AR2] A period in which none of the chambers was observed has no count: nothing heard is not none.
 */
import type { AlarmCounts } from './alarm-answer.ts';
import { type AlarmSubject, activationTimes, TRAILING_MS } from './alarm-stats.ts';
import type { Span } from './calendar.ts';
import { DAY_MS, HOUR_MS } from './zone.ts';

const FINE_UP_TO_MS = 2 * DAY_MS;

/** [AR1] [AR2] */
export function alarmCounts(subjects: readonly AlarmSubject[], { from, to }: Span): AlarmCounts {
  const periodMs = to - from <= FINE_UP_TO_MS ? TRAILING_MS : HOUR_MS;
  const first = Math.floor(from / periodMs);
  const counts: (number | null)[] = Array.from({ length: Math.max(0, Math.ceil(to / periodMs) - first) }, () => null);
  for (const { intervals } of subjects) {
    for (const { from: begin, to: end, state } of intervals) {
      if (state === 'unobserved') continue;
      const last = Math.min(counts.length - 1, Math.ceil(end / periodMs) - 1 - first);
      for (let i = Math.max(0, Math.floor(begin / periodMs) - first); i <= last; i++) counts[i] = 0;
    }
  }
  const chambers = subjects.map(({ facts }) => facts);
  for (const at of activationTimes(chambers, from, to)) {
    const i = Math.floor(at / periodMs) - first;
    counts[i] = (counts[i] ?? 0) + 1;
  }
  return { from: first * periodMs, periodMs, counts };
}
