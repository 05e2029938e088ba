/**
 * Loads by shift.
 * [LS1] A load belongs to the shift in which its run ended, whoever loaded it. Loads that ended in no shift are told apart.
 * [LS2] A shift counts in the window in which it begins; loads per shift divides by the shifts of that name, also those that made none.
 */
import type { Shift, Span } from './calendar.ts';
import type { RunEnded } from './event.ts';
import type { ShiftLoads } from './kpi.ts';

/** [LS1] [LS2] `loads` are the loads that ended in the window, `shifts` those that touch it. */
export function shiftLoads(loads: readonly RunEnded[], shifts: readonly Shift[], window: Span): ShiftLoads[] {
  const counts = new Map<string | null, { shifts: number; loads: number }>();
  const of = (name: string | null): { shifts: number; loads: number } => {
    const known = counts.get(name) ?? { shifts: 0, loads: 0 };
    counts.set(name, known);
    return known;
  };
  for (const shift of shifts) of(shift.name).shifts += Number(shift.from >= window.from && shift.from < window.to);
  for (const load of loads) of(shiftNameAt(shifts, load.at)).loads += 1;
  return [...counts].map(([shift, count]) => ({ shift, ...count, loadsPerShift: count.shifts > 0 ? count.loads / count.shifts : null }));
}

/** The shift that began last of those on at that moment. */
export function shiftNameAt(shifts: readonly Shift[], at: number): string | null {
  return shifts.findLast((shift) => shift.from <= at && at < shift.to)?.name ?? null;
}
