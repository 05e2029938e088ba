// Own rule, own numbers by hand.
import { describe, expect, test } from 'vitest';
import { amount, dueText, maintenanceDue } from '../../src/maintenance-due.ts';
import type { CountedRun } from '../../src/counters.ts';
import { DAY, HOUR } from './recorded-runs.ts';

/** Pump hours a week, one run a day. */
const weeks = (...use: readonly number[]): readonly CountedRun[] => {
  let pumpMs = 0;
  return Array.from({ length: use.length * 7 + 1 }, (_, day) => {
    if (day > 0) pumpMs += ((use[Math.floor((day - 1) / 7)] as number) * HOUR) / 7;
    return { at: day * DAY, counts: { pumpMs, rfMs: 0, runs: day, unobservedMs: 0 }, meters: { pumpS: null, rfS: null, cycles: null } };
  });
};
const hours = (every: number) => ({ counted: 'pump-hours' as const, every: every * HOUR });
const days = (found: number, from: number): number => Math.round((found - from) / DAY);

describe('maintenance due', () => {
  test('[MD2] 100 h a week without spread and 200 h left: in 14 days, to the day', () => {
    const runs = weeks(100, 100, 100, 100);
    const due = maintenanceDue({ runs, interval: hours(600), used: 400 * HOUR, since: null });
    expect(due).toMatchObject({ state: 'due', left: 200 * HOUR });
    if (due.state !== 'due') return;
    expect([due.early, due.likely, due.late ?? 0].map((at) => days(at, 28 * DAY))).toEqual([14, 14, 14]);
  });

  test('[MD2] use of 80 and 120 h by turns: likely the same 14 days, early and late by two deviations of the mean of the time to go', () => {
    const due = maintenanceDue({ runs: weeks(80, 120, 80, 120), interval: hours(600), used: 400 * HOUR, since: null });
    if (due.state !== 'due') throw new Error(due.state);
    // sd 23.094 h, spread 2 · 23.094 · √(1/4 + 1/2) = 40.0 h a week: 200/140 and 200/60 weeks.
    expect([due.early, due.likely, due.late ?? 0].map((at) => days(at, 28 * DAY))).toEqual([10, 14, 23]);
  });

  test('[MD1] only the last four weeks count: an idle summer before them does not', () => {
    const due = maintenanceDue({ runs: weeks(0, 0, 0, 100, 100, 100, 100), interval: hours(500), used: 400 * HOUR, since: null });
    if (due.state !== 'due') throw new Error(due.state);
    expect(days(due.likely, 49 * DAY)).toBe(7);
  });

  test('[MD1] [MD2] without two weeks watched, or without any use, no day is told', () => {
    expect(maintenanceDue({ runs: weeks(100), interval: hours(600), used: 100 * HOUR, since: null })).toEqual({
      state: 'unknown',
      left: 500 * HOUR,
    });
    expect(maintenanceDue({ runs: weeks(0, 0), interval: hours(600), used: 0, since: null }).state).toBe('unknown');
    expect(maintenanceDue({ runs: [], interval: hours(600), used: 0, since: null }).state).toBe('unknown');
  });

  test('[MD2] [MD4] use so uneven that it may stop: the late end is open', () => {
    expect(maintenanceDue({ runs: weeks(0, 0, 0, 100), interval: hours(600), used: 100 * HOUR, since: null })).toMatchObject({
      state: 'due',
      late: null,
    });
  });

  test('[MD3] overdue by so much, and since which run', () => {
    const runs = weeks(70, 70, 70, 70);
    const due = maintenanceDue({ runs, interval: hours(205), used: 280 * HOUR, since: null });
    expect(due).toMatchObject({ state: 'overdue', over: 75 * HOUR, since: 21 * DAY });
  });

  test('[MD5] in words: a day of the site with its range, months written once where they are the same', () => {
    const at = (day: string): number => Date.parse(`${day}T23:30:00Z`);
    const due = (early: string, likely: string, late: string | null) =>
      dueText(
        { state: 'due', left: 1, early: at(early), likely: at(likely), late: late === null ? null : at(late) },
        'runs',
        'Europe/Berlin',
      );
    expect(due('2026-12-09', '2026-12-11', '2026-12-14')).toBe('about 12 Dec (10–15 Dec)');
    expect(due('2026-11-28', '2026-12-11', '2027-01-01')).toBe('about 12 Dec (29 Nov – 2 Jan)');
    expect(due('2026-12-09', '2026-12-11', null)).toBe('about 12 Dec (10 Dec or later)');
    expect(dueText({ state: 'overdue', over: 75.4 * HOUR, since: at('2026-11-02') }, 'pump-hours', 'Europe/Berlin')).toBe(
      'overdue by 75 h, since 3 Nov',
    );
    expect(dueText({ state: 'overdue', over: 1, since: null }, 'runs', 'UTC')).toBe('overdue by 1 run');
    expect([amount(60_000, 'rf-hours'), amount(12, 'runs')]).toEqual(['< 1 h', '12 runs']);
  });

  test('[MD4] beyond a year no day is told', () => {
    expect(maintenanceDue({ runs: weeks(10, 10), interval: hours(5000), used: 20 * HOUR, since: null })).toEqual({
      state: 'far',
      left: 4980 * HOUR,
    });
  });
});
