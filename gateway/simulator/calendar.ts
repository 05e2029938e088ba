/**
 * The working calendar of Quellmoor Works, hall 3: Early 06-14, Late 14-22, Night 22-06 from Monday to Friday, Saturday Early only, local time.
 * A shift belongs to the day it starts. Founders' Day is the second Thursday of November.
 */
export const PLANT_ZONE = 'Europe/Berlin';
export type Shift = { readonly kind: 'early' | 'late' | 'night'; readonly from: number; readonly to: number };

const MINUTE = 60_000;
const HOUR = 60 * MINUTE;
const format = new Intl.DateTimeFormat('en-GB', {
  timeZone: PLANT_ZONE,
  hourCycle: 'h23',
  year: 'numeric',
  month: '2-digit',
  day: '2-digit',
  hour: '2-digit',
  minute: '2-digit',
});
const offsets = new Map<number, number>();

/** Local time minus UTC, ms. Zones change on the hour, so one look per hour is enough. */
function offsetMs(at: number): number {
  const hour = Math.floor(at / HOUR);
  const known = offsets.get(hour);
  if (known !== undefined) return known;
  const part: Record<string, number> = {};
  for (const { type, value } of format.formatToParts(hour * HOUR)) part[type] = Number(value);
  const local = Date.UTC(part['year'] ?? 0, (part['month'] ?? 1) - 1, part['day'], part['hour'], part['minute']);
  const offset = local - hour * HOUR;
  offsets.set(hour, offset);
  return offset;
}

/** The instant at which local clocks show this wall time (ms of a UTC calendar that reads the same). */
export function instantOf(localMs: number): number {
  const guess = localMs - offsetMs(localMs - HOUR);
  return localMs - offsetMs(guess);
}
export const localOf = (at: number): Date => new Date(at + offsetMs(at));

/** Local midnight of the Monday on or before, as local ms. */
export function localMonday(at: number): number {
  const local = localOf(at);
  const midnight = Date.UTC(local.getUTCFullYear(), local.getUTCMonth(), local.getUTCDate());
  return midnight - ((local.getUTCDay() + 6) % 7) * 24 * HOUR;
}

/** A day of the calendar by its local midnight. */
export function isHoliday(localMidnight: number): boolean {
  const day = new Date(localMidnight);
  const month = day.getUTCMonth() + 1;
  const date = day.getUTCDate();
  if (month === 11) return day.getUTCDay() === 4 && date >= 8 && date <= 14;
  return (month === 12 && (date === 25 || date === 26)) || (month === 1 && date === 1);
}

const KINDS = [
  { kind: 'early', from: 6, to: 14, lastDay: 5 },
  { kind: 'late', from: 14, to: 22, lastDay: 4 },
  { kind: 'night', from: 22, to: 30, lastDay: 4 },
] as const;

/** The shift at an instant, or null: nobody works. */
export function shiftAt(at: number): Shift | null {
  const local = localOf(at);
  const midnight = Date.UTC(local.getUTCFullYear(), local.getUTCMonth(), local.getUTCDate());
  for (const day of [midnight, midnight - 24 * HOUR]) {
    const weekday = (new Date(day).getUTCDay() + 6) % 7;
    const hour = (local.getTime() - day) / HOUR;
    const found = KINDS.find((each) => hour >= each.from && hour < each.to && weekday <= each.lastDay);
    if (found === undefined || isHoliday(day)) continue;
    return { kind: found.kind, from: instantOf(day + found.from * HOUR), to: instantOf(day + found.to * HOUR) };
  }
  return null;
}

/** The instant at which this much working time has gone by. */
export function afterWorking(at: number, durationMs: number): number {
  let left = durationMs;
  let from = at;
  for (let i = 0; i < 2000; i++) {
    const shift = shiftAt(from);
    if (shift === null) {
      from = (Math.floor(from / (10 * MINUTE)) + 1) * 10 * MINUTE;
      continue;
    }
    if (from + left <= shift.to) return from + left;
    left -= shift.to - from;
    from = shift.to;
  }
  return from;
}
