/**
 * Any plant calendar against luxon 3.7.2, a general-purpose time library, as the independent reference: it reads the wall clock of each quarter
 * of an hour, and a few lines of plain arithmetic say whether a shift is on at that wall time.
 */
import fc from 'fast-check';
import { DateTime } from 'luxon';
import { describe, expect, test } from 'vitest';
import { type Calendar, dayWindow, nonscheduled, shiftsBetween, type ShiftRule, type Span, weekWindow } from '../../src/calendar.ts';

const QUARTER = 900_000;
const DAYS = ['mon', 'tue', 'wed', 'thu', 'fri', 'sat', 'sun'] as const;
/** Weeks of 2026 with a change of clocks in the zone, and one without. */
const WEEKS = [
  ['Europe/Berlin', '2026-W13'],
  ['Europe/Berlin', '2026-W43'],
  ['Europe/Berlin', '2026-W20'],
  ['America/New_York', '2026-W10'],
  ['America/New_York', '2026-W44'],
  ['Australia/Sydney', '2026-W14'],
  ['Australia/Sydney', '2026-W40'],
  ['Australia/Lord_Howe', '2026-W14'],
  ['Australia/Lord_Howe', '2026-W40'],
  ['America/St_Johns', '2026-W44'],
  ['Asia/Kathmandu', '2026-W48'],
  ['Asia/Tokyo', '2026-W53'],
  ['UTC', '2026-W01'],
] as const;

/** Not between 00:15 and 04:45, where a wall time of these zones may come twice or never: CA3 with ZO1 and ZO2 has its own cases. */
const wallTime = fc
  .constantFrom(0, ...Array.from({ length: 76 }, (_, i) => 300 + 15 * i))
  .map((minute) => `${String(Math.floor(minute / 60)).padStart(2, '0')}:${String(minute % 60).padStart(2, '0')}`);
const aRule = fc
  .record({
    days: fc.uniqueArray(fc.constantFrom(...DAYS), { minLength: 1 }),
    from: wallTime,
    to: fc.oneof(wallTime, fc.constant('24:00')),
  })
  .map((rule): ShiftRule => ({ ...rule, name: `${rule.from} to ${rule.to}` }));
/** None now and then: scheduled always. */
const someRules = fc.oneof({ weight: 1, arbitrary: fc.constant([]) }, { weight: 3, arbitrary: fc.array(aRule, { maxLength: 5 }) });
const dayOfWeek = fc.integer({ min: -8, max: 15 });

/** A calendar around a week: holidays and changes fall inside it and beside it. */
const aPlan = fc.record({
  week: fc.constantFrom(...WEEKS),
  shifts: someRules,
  holidays: fc.array(dayOfWeek, { maxLength: 3 }),
  changes: fc.uniqueArray(fc.record({ day: dayOfWeek, shifts: someRules }), { maxLength: 3, selector: ({ day }) => day }),
});
type Plan = typeof aPlan extends fc.Arbitrary<infer T> ? T : never;

const dateOf = (week: Span, zone: string, day: number): string =>
  DateTime.fromMillis(week.from + 12 * 3_600_000, { zone })
    .plus({ days: day })
    .toISODate() as string;

function calendarOf({ week: [zone, name], shifts, holidays, changes }: Plan): { calendar: Calendar; week: Span; zone: string } {
  const week = weekWindow(name, zone) as Span;
  const calendar: Calendar = {
    zone,
    shifts,
    holidays: holidays.map((day) => ({ date: dateOf(week, zone, day), name: 'x' })),
    changes: changes.toSorted((a, b) => a.day - b.day).map((change) => ({ from: dateOf(week, zone, change.day), shifts: change.shifts })),
  };
  return { calendar, week, zone };
}

const minuteOf = (text: string): number => Number(text.slice(0, 2)) * 60 + Number(text.slice(3));

/** The reference: wall date, wall minute, and the rules of that date and of the date before. */
function isPlanned({ zone, shifts, holidays, changes = [] }: Calendar, at: number): boolean {
  const local = DateTime.fromMillis(at, { zone });
  const minute = local.hour * 60 + local.minute;
  const isOn = (daysBack: number): boolean => {
    const day = local.minus({ days: daysBack });
    const date = day.toISODate() as string;
    if (holidays.some((holiday) => holiday.date === date)) return false;
    const rules = changes.filter(({ from }) => from <= date).at(-1)?.shifts ?? shifts;
    if (rules.length === 0) return daysBack === 0;
    return rules
      .filter(({ days }) => days.includes(DAYS[day.weekday - 1] as (typeof DAYS)[number]))
      .some((rule) => {
        const [from, to] = [minuteOf(rule.from), minuteOf(rule.to)];
        const end = to > from ? to : to + 1440;
        return from <= minute + 1440 * daysBack && minute + 1440 * daysBack < end;
      });
  };
  return isOn(0) || isOn(1);
}

const lengthOf = (spans: readonly Span[]): number => spans.reduce((sum, { from, to }) => sum + to - from, 0);
const freeIn = (calendar: Calendar, { from, to }: Span): number => lengthOf(nonscheduled(calendar, from, to));

/** Of spans in order of their begin, the time covered once or more. */
function covered(spans: readonly Span[], window: Span): number {
  let [sum, at] = [0, window.from];
  for (const { from, to } of spans) {
    sum += Math.max(0, Math.min(to, window.to) - Math.max(from, at));
    at = Math.max(at, Math.min(to, window.to));
  }
  return sum;
}

const seeded = { seed: 20261125, numRuns: 100 };

describe('any calendar, against luxon', () => {
  test('[CA3] [CA4] [CA5] [CA7] every quarter of an hour is planned or not as its wall clock says, over changes of clocks and of shifts', () => {
    fc.assert(
      fc.property(aPlan, (plan) => {
        const { calendar, week } = calendarOf(plan);
        const free = nonscheduled(calendar, week.from, week.to);
        for (let at = week.from; at < week.to; at += QUARTER) {
          const found = !free.some((span) => span.from <= at && at < span.to);
          if (found !== isPlanned(calendar, at)) expect([new Date(at).toISOString(), found]).toEqual([new Date(at).toISOString(), !found]);
        }
        // Its edges are quarters, so that agreeing on each quarter is agreeing on each millisecond.
        for (const { from, to } of free) expect([(from - week.from) % QUARTER, (to - week.from) % QUARTER]).toEqual([0, 0]);
      }),
      seeded,
    );
  });

  test('[CA2] [CA5] a week is the sum of its days, and shifts and nonscheduled time together, to the millisecond', () => {
    fc.assert(
      fc.property(aPlan, (plan) => {
        const { calendar, week, zone } = calendarOf(plan);
        let [days, free, at] = [0, 0, week.from];
        for (; at < week.to; days++) {
          const day = dayWindow(at, zone);
          expect(day.from).toBe(at);
          free += freeIn(calendar, day);
          at = day.to;
        }
        expect([days, at, free]).toEqual([7, week.to, freeIn(calendar, week)]);
        const isAlways = [calendar.shifts, ...(calendar.changes ?? []).map(({ shifts }) => shifts)].some((rules) => rules.length === 0);
        if (!isAlways) expect(covered(shiftsBetween(calendar, week.from, week.to), week) + free).toBe(week.to - week.from);
      }),
      { ...seeded, numRuns: 300 },
    );
  });

  test('[CA5] windows cut anywhere agree with the whole', () => {
    fc.assert(
      fc.property(aPlan, fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { maxLength: 8 }), (plan, parts) => {
        const { calendar, week } = calendarOf(plan);
        const cuts = [0, ...parts.toSorted((a, b) => a - b), 1].map((part) => Math.round(week.from + part * (week.to - week.from)));
        const pieces = cuts.slice(1).flatMap((to, i) => nonscheduled(calendar, cuts[i] as number, to));
        const joined: Span[] = [];
        for (const piece of pieces) {
          const last = joined.at(-1);
          if (last?.to === piece.from) joined[joined.length - 1] = { from: last.from, to: piece.to };
          else joined.push(piece);
        }
        expect(joined).toEqual(nonscheduled(calendar, week.from, week.to));
      }),
      { ...seeded, numRuns: 300 },
    );
  });

  test('[CA7] a change of shifts alters nothing before its date, not by a millisecond', () => {
    fc.assert(
      fc.property(aPlan, dayOfWeek, someRules, (plan, day, shifts) => {
        const { calendar, week, zone } = calendarOf(plan);
        const from = dateOf(week, zone, day);
        const earlier = (calendar.changes ?? []).filter((change) => change.from < from);
        const before = { ...calendar, changes: earlier };
        const changed = { ...calendar, changes: [...earlier, { from, shifts }] };
        const start = dayWindow(DateTime.fromISO(`${from}T12:00`, { zone }).toMillis(), zone).from;
        const past = { from: week.from - 14 * 86_400_000, to: start };
        expect(nonscheduled(changed, past.from, past.to)).toEqual(nonscheduled(before, past.from, past.to));
      }),
      { ...seeded, numRuns: 300 },
    );
  });

  test('[CA7] the night that began before a change runs through under its own shift', () => {
    const calendar: Calendar = {
      zone: 'Europe/Berlin',
      shifts: [{ name: 'Night', days: ['wed', 'thu'], from: '22:00', to: '06:00' }],
      holidays: [],
      changes: [{ from: '2026-10-01', shifts: [{ name: 'Early', days: ['thu'], from: '08:00', to: '16:00' }] }],
    };
    // Thursday 2026-10-01: the night of Wednesday until 06:00, then only the new early shift.
    const free = nonscheduled(calendar, Date.parse('2026-09-30T22:00+02:00'), Date.parse('2026-10-02T00:00+02:00'));
    expect(free.map(({ from, to }) => [new Date(from).toISOString(), new Date(to).toISOString()])).toEqual([
      ['2026-10-01T04:00:00.000Z', '2026-10-01T06:00:00.000Z'],
      ['2026-10-01T14:00:00.000Z', '2026-10-01T22:00:00.000Z'],
    ]);
  });
});
