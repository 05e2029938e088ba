/**
 * The plant's calendar: ISO 8601 weeks, local days, shifts and the time in no shift, all in the site's named zone.
 * [CA1] A week runs from Monday 00:00 to Monday 00:00 local time; week 1 holds the year's first Thursday (ISO 8601).
 * [CA2] A day runs from local midnight to local midnight: 23 or 25 hours when the clocks change.
 * [CA3] A shift runs from wall time to wall time and belongs to the day it starts on; it ends on the next day when `to` is not after `from`.
 * [CA4] A holiday takes away the shifts that start on it.
 * [CA5] Time in no shift is nonscheduled. A plant that names no shifts is scheduled always, holidays excepted.
 * [CA6] Where shifts overlap, the one that began last is the present one.
 * [CA7] A change of shifts counts from its date on, for the shifts that start then: whatever lies before it stays as it was, to the millisecond.
 */
import { atLocalTime, DAY_MS, localDay, startOfDay } from './zone.ts';

/** Half-open [from, to), epoch ms. */
export type Span = { readonly from: number; readonly to: number };

type Weekday = 'mon' | 'tue' | 'wed' | 'thu' | 'fri' | 'sat' | 'sun';
export type ShiftRule = { readonly name: string; readonly days: readonly Weekday[]; readonly from: string; readonly to: string };
export type Calendar = {
  readonly zone: string;
  readonly shifts: readonly ShiftRule[];
  readonly holidays: readonly { readonly date: string; readonly name: string }[];
  /** Other shifts from a local date on, in order of their dates. */
  readonly changes?: readonly ShiftChange[] | undefined;
};
type ShiftChange = { readonly from: string; readonly shifts: readonly ShiftRule[] };
export type Shift = Span & { readonly name: string };

const ISO_DAYS: readonly Weekday[] = ['mon', 'tue', 'wed', 'thu', 'fri', 'sat', 'sun'];

/** [CA1] The ISO week of that moment, such as 2026-W48. */
export function weekOf(at: number, zone: string): string {
  return weekOfDay(localDay(zone, at));
}

/** [CA1] The week as a span, or null for a text that names no week: '2025-W53' does not exist. */
export function weekWindow(week: string, zone: string): Span | null {
  const monday = mondayOf(week);
  return monday === null ? null : { from: startOfDay(zone, monday), to: startOfDay(zone, monday + 7) };
}

/** The week `count` weeks later (or earlier when negative); null for a text that names no week. */
export function weekPlus(week: string, count: number): string | null {
  const monday = mondayOf(week);
  return monday === null ? null : weekOfDay(monday + 7 * count);
}

/** [CA2] The local day that holds that moment. */
export function dayWindow(at: number, zone: string): Span {
  const day = localDay(zone, at);
  return { from: startOfDay(zone, day), to: startOfDay(zone, day + 1) };
}

/** [CA3] [CA6] The shift that is on at that moment, or null. */
export function shiftAt(calendar: Calendar, at: number): Shift | null {
  const day = localDay(calendar.zone, at);
  const on = [day - 1, day].flatMap((d) => shiftsOf(calendar, d)).filter((shift) => shift.from <= at && at < shift.to);
  return on.reduce<Shift | null>((latest, shift) => (latest && latest.from >= shift.from ? latest : shift), null);
}

/** Up to `count` earlier shifts of the name of the one on at that moment, newest first. Looks back a year at most. */
export function previousShifts(calendar: Calendar, at: number, count: number): readonly Shift[] {
  const present = shiftAt(calendar, at);
  const found: Shift[] = [];
  if (!present) return found;
  const today = localDay(calendar.zone, at);
  for (let day = today; day > today - 366 && found.length < count; day--) {
    const earlier = shiftsOf(calendar, day).filter((shift) => shift.name === present.name && shift.from < present.from);
    found.push(...earlier.sort((a, b) => b.from - a.from));
  }
  return found.slice(0, count);
}

/** [CA5] The parts of [from, to) in which the plant does not plan to work, in order. */
export function nonscheduled(calendar: Calendar, from: number, to: number): readonly Span[] {
  const planned: Span[] = [];
  const last = localDay(calendar.zone, to);
  for (let day = localDay(calendar.zone, from) - 1; day <= last; day++) planned.push(...plannedOn(calendar, day));
  planned.sort((a, b) => a.from - b.from);
  const free: Span[] = [];
  let open = from;
  for (const span of planned) {
    if (span.from > open) free.push({ from: open, to: Math.min(span.from, to) });
    open = Math.max(open, span.to);
    if (open >= to) break;
  }
  if (open < to) free.push({ from: open, to });
  return free.filter((span) => span.to > span.from);
}

/** [CA5] What starts on that local day: its shifts, or the whole day where the plant names none. */
function plannedOn(calendar: Calendar, day: number): readonly Span[] {
  if (rulesOn(calendar, day).length > 0) return shiftsOf(calendar, day);
  if (isHoliday(calendar, day)) return [];
  return [{ from: startOfDay(calendar.zone, day), to: startOfDay(calendar.zone, day + 1) }];
}

/** [CA3] The shifts that touch [from, to), by their begin. */
export function shiftsBetween(calendar: Calendar, from: number, to: number): readonly Shift[] {
  const shifts: Shift[] = [];
  const last = localDay(calendar.zone, to);
  for (let day = localDay(calendar.zone, from) - 1; day <= last; day++) shifts.push(...shiftsOf(calendar, day));
  return shifts.filter((shift) => shift.to > from && shift.from < to).sort((a, b) => a.from - b.from);
}

/** The index of the first span that begins at or after `at`, by bisection; spans in order. */
export function firstFrom(spans: readonly Span[], at: number): number {
  let [low, high] = [0, spans.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((spans[middle] as Span).from < at) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** [CA7] The rules that hold for shifts that start on that day. */
function rulesOn({ shifts, changes = [] }: Calendar, day: number): readonly ShiftRule[] {
  if (changes.length === 0) return shifts;
  const date = dateOf(day);
  return changes.findLast(({ from }) => from <= date)?.shifts ?? shifts;
}

/** [CA3] [CA4] The shifts that start on that local day. */
function shiftsOf(calendar: Calendar, day: number): Shift[] {
  if (isHoliday(calendar, day)) return [];
  const weekday = ISO_DAYS[isoWeekday(day)] as Weekday;
  return rulesOn(calendar, day)
    .filter((rule) => rule.days.includes(weekday))
    .map((rule) => {
      const [from, to] = [minuteOf(rule.from), minuteOf(rule.to)];
      const end = to > from ? atLocalTime(calendar.zone, day, to) : atLocalTime(calendar.zone, day + 1, to);
      return { name: rule.name, from: atLocalTime(calendar.zone, day, from), to: end };
    });
}

function isHoliday(calendar: Calendar, day: number): boolean {
  if (calendar.holidays.length === 0) return false;
  const date = dateOf(day);
  return calendar.holidays.some((holiday) => holiday.date === date);
}

const dateOf = (day: number): string => new Date(day * DAY_MS).toISOString().slice(0, 10);

function minuteOf(time: string): number {
  return Number(time.slice(0, 2)) * 60 + Number(time.slice(3, 5));
}

/** Monday is 0. Day 0, 1 January 1970, was a Thursday. */
function isoWeekday(day: number): number {
  return (((day + 3) % 7) + 7) % 7;
}

function weekOfDay(day: number): string {
  const thursday = day - isoWeekday(day) + 3;
  const year = new Date(thursday * DAY_MS).getUTCFullYear();
  const week = 1 + Math.floor((thursday - Date.UTC(year, 0, 1) / DAY_MS) / 7);
  return `${year}-W${String(week).padStart(2, '0')}`;
}

/** The day number of the week's Monday, null when there is no such week. Week 1 holds 4 January. */
function mondayOf(week: string): number | null {
  const parts = /^([12]\d{3})-W(\d{2})$/.exec(week);
  if (!parts) return null;
  const fourth = Date.UTC(Number(parts[1]), 0, 4) / DAY_MS;
  const monday = fourth - isoWeekday(fourth) + 7 * (Number(parts[2]) - 1);
  return weekOfDay(monday) === week ? monday : null;
}
