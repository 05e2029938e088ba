/**
 * When the summary of a week is to be mailed.
 * [WD1] The summary of a week is due on the Monday after it, at the named local time of the site's zone.
 * [WD2] It stays worth sending until that Monday's own week ends: a gateway that was down sends it when it is back. Then the next one counts.
 */
import { weekOf, weekPlus, weekWindow } from './calendar.ts';
import { atLocalTime, localDay } from './zone.ts';

export type DueSummary = {
  readonly week: string;
  readonly dueAt: number;
  /** [WD2] Exclusive. */
  readonly until: number;
};

/** [WD1] [WD2] The one summary that is due at that moment, or null before Monday's hour. `time` is local, such as '06:30'. */
export function dueSummary(now: number, { zone, time }: { readonly zone: string; readonly time: string }): DueSummary | null {
  const running = weekOf(now, zone);
  const [week, span] = [weekPlus(running, -1), weekWindow(running, zone)];
  if (week === null || span === null) return null;
  const minute = Number(time.slice(0, 2)) * 60 + Number(time.slice(3, 5));
  const dueAt = atLocalTime(zone, localDay(zone, span.from), minute);
  return now < dueAt ? null : { week, dueAt, until: span.to };
}
