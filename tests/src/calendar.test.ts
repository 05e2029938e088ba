import { DateTime } from 'luxon';
import { describe, expect, test } from 'vitest';
import { type Calendar, dayWindow, nonscheduled, previousShifts, shiftAt, weekOf, weekPlus, weekWindow } from '../../src/calendar.ts';
import { shares } from '../../src/utilization.ts';
import { HOUR_MS, localDay } from '../../src/zone.ts';
import { noHours } from './random-history.ts';
import { ZONES } from './examples.ts';

const iso = (text: string): number => Date.parse(text);
const hoursOf = (span: { from: number; to: number } | null): number => (span ? (span.to - span.from) / HOUR_MS : NaN);
const weekday = (at: number, zone: string): number => ((localDay(zone, at) + 3) % 7) + 1;

/** Early, Late and Night of the invented Hall 3: Saturday Early only. */
const HALL: Calendar = {
  zone: 'Europe/Berlin',
  shifts: [
    { name: 'Early', days: ['mon', 'tue', 'wed', 'thu', 'fri', 'sat'], from: '06:00', to: '14:00' },
    { name: 'Late', days: ['mon', 'tue', 'wed', 'thu', 'fri'], from: '14:00', to: '22:00' },
    { name: 'Night', days: ['mon', 'tue', 'wed', 'thu', 'fri'], from: '22:00', to: '06:00' },
  ],
  holidays: [{ date: '2026-11-19', name: "Founders' Day" }],
};

describe('weeks and days', () => {
  test('[CA1] C1: dates around the 53-week year 2026 (ISO 8601, from memory; recomputed with python isocalendar)', () => {
    const cases = {
      '2025-12-29': '2026-W01-1',
      '2026-01-01': '2026-W01-4',
      '2026-12-31': '2026-W53-4',
      '2027-01-01': '2026-W53-5',
      '2027-01-03': '2026-W53-7',
      '2027-01-04': '2027-W01-1',
    };
    for (const [date, expected] of Object.entries(cases)) expect(`${weekOf(iso(date), 'UTC')}-${weekday(iso(date), 'UTC')}`).toBe(expected);
  });

  test('[CA1] C2: the classic edge dates (ISO 8601, from memory; recomputed with python isocalendar)', () => {
    const cases = {
      '2005-01-01': '2004-W53-6',
      '2005-01-02': '2004-W53-7',
      '2007-12-31': '2008-W01-1',
      '2008-12-29': '2009-W01-1',
      '2010-01-03': '2009-W53-7',
      '2016-01-03': '2015-W53-7',
      '2021-01-03': '2020-W53-7',
      '2024-12-30': '2025-W01-1',
    };
    for (const [date, expected] of Object.entries(cases)) expect(`${weekOf(iso(date), 'UTC')}-${weekday(iso(date), 'UTC')}`).toBe(expected);
  });

  test('[CA1] C3: Berlin weeks 13 and 43 of 2026 have 167 and 169 hours (tz database 2025b/c)', () => {
    expect(weekWindow('2026-W13', 'Europe/Berlin')).toEqual({ from: iso('2026-03-22T23:00Z'), to: iso('2026-03-29T22:00Z') });
    expect(weekWindow('2026-W43', 'Europe/Berlin')).toEqual({ from: iso('2026-10-18T22:00Z'), to: iso('2026-10-25T23:00Z') });
    expect(hoursOf(weekWindow('2026-W13', 'Europe/Berlin'))).toBe(167);
    expect(hoursOf(weekWindow('2026-W43', 'Europe/Berlin'))).toBe(169);
  });

  test.each([
    ['America/New_York', 'W10', 167, 'W44', 169],
    ['Australia/Sydney', 'W14', 169, 'W40', 167],
    ['Australia/Lord_Howe', 'W14', 168.5, 'W40', 167.5],
    ['Africa/Cairo', 'W17', 167, 'W44', 169],
    ['America/Santiago', 'W14', 169, 'W36', 167],
    ['Asia/Tokyo', 'W13', 168, 'W43', 168],
    ['UTC', 'W13', 168, 'W43', 168],
  ])('[CA1] C4: %s %s has %d h, %s has %d h in 2026 (tz database 2025b/c)', (zone, one, oneHours, other, otherHours) => {
    expect([hoursOf(weekWindow(`2026-${one}`, zone)), hoursOf(weekWindow(`2026-${other}`, zone))]).toEqual([oneHours, otherHours]);
  });

  test('[CA2] C5: Berlin 2026-03-29 has 23 hours, 2026-10-25 has 25 (tz database 2025b/c)', () => {
    expect(hoursOf(dayWindow(iso('2026-03-29T12:00Z'), 'Europe/Berlin'))).toBe(23);
    expect(hoursOf(dayWindow(iso('2026-10-25T12:00Z'), 'Europe/Berlin'))).toBe(25);
    expect(dayWindow(iso('2026-11-25T23:30Z'), 'Europe/Berlin')).toEqual({ from: iso('2026-11-25T23:00Z'), to: iso('2026-11-26T23:00Z') });
  });

  test('C6: 96 productive hours are 57.485030 % of a 167-hour week and 56.804734 % of one of 169 (own)', () => {
    for (const [week, expected] of [
      ['2026-W13', 57.48503],
      ['2026-W43', 56.804734],
    ] as const) {
      const total = hoursOf(weekWindow(week, 'Europe/Berlin'));
      const { totalUtilization } = shares({ ...noHours(), productive: 96 * HOUR_MS, standby: (total - 96) * HOUR_MS });
      expect(100 * (totalUtilization.value as number)).toBeCloseTo(expected, 6);
    }
  });

  test('[CA1] weeks of 15 zones, 2004 to 2040, start and are named as by luxon 3.7.2, and follow one another without a gap', () => {
    for (const zone of ZONES) {
      let week = '2004-W01';
      let before = weekWindow(week, zone)?.from as number;
      while (week < '2040-W01') {
        const window = weekWindow(week, zone) as { from: number; to: number };
        const start = DateTime.fromObject(
          { weekYear: Number(week.slice(0, 4)), weekNumber: Number(week.slice(6)), weekday: 1 },
          { zone },
        ).startOf('day');
        if (window.from !== start.toMillis() || window.from !== before)
          expect([zone, week, window.from, before]).toEqual([zone, week, start.toMillis(), window.from]);
        if (weekOf(window.from, zone) !== week || weekOf(window.to - 1, zone) !== week) expect(weekOf(window.from, zone)).toBe(week);
        before = window.to;
        week = weekPlus(week, 1) as string;
      }
    }
  });

  test('[CA1] 53-week years 1990 to 2050 are exactly 1992 1998 2004 2009 2015 2020 2026 2032 2037 2043 2048 (ISO 8601; python isocalendar)', () => {
    const long = Array.from({ length: 61 }, (_, i) => 1990 + i).filter((year) => weekWindow(`${year}-W53`, 'UTC') !== null);
    expect(long).toEqual([1992, 1998, 2004, 2009, 2015, 2020, 2026, 2032, 2037, 2043, 2048]);
  });

  test('[CA1] a text that names no week gives null: week 0, week 54, week 53 of a short year, nonsense', () => {
    for (const text of ['2026-W00', '2026-W54', '2025-W53', '2026-W5', '2026W05', 'x', '', '0001-W01'])
      expect([text, weekWindow(text, 'UTC')]).toEqual([text, null]);
  });
});

describe('shifts', () => {
  test('[CA3] a night shift belongs to the day it starts on and ends on the next', () => {
    expect(shiftAt(HALL, iso('2026-11-25T03:00+01:00'))).toEqual({
      name: 'Night',
      from: iso('2026-11-24T22:00+01:00'),
      to: iso('2026-11-25T06:00+01:00'),
    });
    expect(shiftAt(HALL, iso('2026-11-25T06:00+01:00'))?.name).toBe('Early');
    // Saturday 02:00 is Friday's night shift, Saturday 15:00 and Monday 05:59 are none.
    expect(shiftAt(HALL, iso('2026-11-28T02:00+01:00'))?.from).toBe(iso('2026-11-27T22:00+01:00'));
    expect(shiftAt(HALL, iso('2026-11-28T15:00+01:00'))).toBeNull();
    expect(shiftAt(HALL, iso('2026-11-30T05:59+01:00'))).toBeNull();
  });

  test('[CA3] the night shift over the change of clocks lasts 7 hours in March and 9 in October', () => {
    const daily: Calendar = { ...HALL, shifts: [{ name: 'Night', days: ['sat'], from: '22:00', to: '06:00' }] };
    expect(hoursOf(shiftAt(daily, iso('2026-03-29T01:30Z')))).toBe(7);
    expect(hoursOf(shiftAt(daily, iso('2026-10-25T01:30Z')))).toBe(9);
    expect(hoursOf(shiftAt(daily, iso('2026-11-29T01:30Z')))).toBe(8);
  });

  test('[CA3] 24:00 ends a shift at midnight, and equal times make a whole day', () => {
    const calendar: Calendar = {
      zone: 'UTC',
      holidays: [],
      shifts: [
        { name: 'Late', days: ['wed'], from: '16:00', to: '24:00' },
        { name: 'All', days: ['thu'], from: '06:00', to: '06:00' },
      ],
    };
    expect(hoursOf(shiftAt(calendar, iso('2026-11-25T23:59Z')))).toBe(8);
    expect(hoursOf(shiftAt(calendar, iso('2026-11-27T05:00Z')))).toBe(24);
  });

  test('[CA4] a holiday takes away the shifts that start on it; the night before runs through', () => {
    expect(shiftAt(HALL, iso('2026-11-19T03:00+01:00'))?.name).toBe('Night');
    expect(shiftAt(HALL, iso('2026-11-19T10:00+01:00'))).toBeNull();
    expect(shiftAt(HALL, iso('2026-11-20T03:00+01:00'))).toBeNull();
    expect(shiftAt(HALL, iso('2026-11-20T06:00+01:00'))?.name).toBe('Early');
  });

  test('[CA6] of overlapping shifts the one that began last is on', () => {
    const calendar: Calendar = {
      zone: 'UTC',
      holidays: [],
      shifts: [
        { name: 'Short', days: ['wed'], from: '10:00', to: '12:00' },
        { name: 'Long', days: ['wed'], from: '06:00', to: '18:00' },
      ],
    };
    expect(shiftAt(calendar, iso('2026-11-25T11:00Z'))?.name).toBe('Short');
    expect(shiftAt(calendar, iso('2026-11-25T13:00Z'))?.name).toBe('Long');
  });

  test('[CA4] earlier shifts have the same name, come newest first and leave out holidays and Sundays', () => {
    const earlier = previousShifts(HALL, iso('2026-11-24T10:00+01:00'), 10).map((shift) => new Date(shift.from).toISOString().slice(5, 10));
    expect(earlier).toEqual(['11-23', '11-21', '11-20', '11-18', '11-17', '11-16', '11-14', '11-13', '11-12', '11-11']);
    expect(previousShifts(HALL, iso('2026-11-22T10:00+01:00'), 10)).toEqual([]);
  });

  test('[CA5] time in no shift is nonscheduled: Saturday 14:00 to Monday 06:00, and the holiday from 06:00 to 06:00', () => {
    const week = weekWindow('2026-W47', 'Europe/Berlin') as { from: number; to: number };
    expect(
      nonscheduled(HALL, week.from, week.to).map(({ from, to }) => [new Date(from).toISOString(), new Date(to).toISOString()]),
    ).toEqual([
      ['2026-11-15T23:00:00.000Z', '2026-11-16T05:00:00.000Z'],
      ['2026-11-19T05:00:00.000Z', '2026-11-20T05:00:00.000Z'],
      ['2026-11-21T13:00:00.000Z', '2026-11-22T23:00:00.000Z'],
    ]);
  });

  test('[CA5] a plant without shifts is scheduled always, holidays excepted', () => {
    const always: Calendar = { ...HALL, shifts: [] };
    const week = weekWindow('2026-W47', 'Europe/Berlin') as { from: number; to: number };
    expect(nonscheduled(always, week.from, week.to)).toEqual([{ from: iso('2026-11-19T00:00+01:00'), to: iso('2026-11-20T00:00+01:00') }]);
    expect(nonscheduled({ ...always, holidays: [] }, week.from, week.to)).toEqual([]);
  });

  test('[CA5] nonscheduled time is what no shift covers, minute by minute over a week with a change of clocks', () => {
    const week = weekWindow('2026-W43', 'Europe/Berlin') as { from: number; to: number };
    const free = nonscheduled(HALL, week.from, week.to);
    for (let at = week.from; at < week.to; at += 300_000) {
      const isFree = free.some((span) => span.from <= at && at < span.to);
      if (isFree !== (shiftAt(HALL, at) === null)) expect([at, isFree]).toEqual([at, !isFree]);
    }
    expect(hoursOf({ from: 0, to: free.reduce((sum, span) => sum + span.to - span.from, 0) })).toBe(6 + 35);
  });
});
