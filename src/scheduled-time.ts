/**
 * A clock that stands still while the plant does not plan to work.
 * [SK1] Scheduled time between two moments is what lies in shifts; a plant that names none is scheduled always, holidays excepted.
 * [SK2] The moment at which so much scheduled time has passed is the first such; null when it lies more than sixty days ahead.
 */
import { nonscheduled, type Calendar } from './calendar.ts';
import { DAY_MS } from './zone.ts';

const AHEAD_DAYS = [2, 8, 60];

/** [SK1] */
export function scheduledMs(calendar: Calendar, from: number, to: number): number {
  return to <= from ? 0 : nonscheduled(calendar, from, to).reduce((ms, free) => ms - (free.to - free.from), to - from);
}

/** [SK2] */
export function afterScheduled(calendar: Calendar, from: number, ms: number): number | null {
  for (const days of AHEAD_DAYS) {
    const found = within(calendar, { from, to: from + ms + days * DAY_MS }, ms);
    if (found !== null) return found;
  }
  return null;
}

function within(calendar: Calendar, { from, to }: { readonly from: number; readonly to: number }, ms: number): number | null {
  let [at, left] = [from, ms];
  for (const free of nonscheduled(calendar, from, to)) {
    const worked = free.from - at;
    if (worked >= left && worked > 0) return at + left;
    left -= worked;
    at = free.to;
  }
  return at + left < to ? at + left : null;
}
