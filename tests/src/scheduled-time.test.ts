import { expect, test } from 'vitest';
import { afterScheduled, scheduledMs } from '../../src/scheduled-time.ts';
import { HOUR, MIN } from './watch-fixture.ts';

/** Saturday until 14:00, then nothing until Monday 06:00 (the plant's calendar of the demo, in UTC). */
const calendar = {
  zone: 'UTC',
  holidays: [],
  shifts: [
    { name: 'Early', days: ['mon', 'tue', 'wed', 'thu', 'fri', 'sat'] as const, from: '06:00', to: '14:00' },
    { name: 'Late', days: ['mon', 'tue', 'wed', 'thu', 'fri'] as const, from: '14:00', to: '22:00' },
  ],
};
const always = { zone: 'UTC', shifts: [], holidays: [] };
const saturday = (hour: number, minute = 0): number => Date.UTC(2026, 10, 28, hour, minute);
const monday = (hour: number, minute = 0): number => Date.UTC(2026, 10, 30, hour, minute);

test('[SK1] scheduled time is what lies in shifts; a plant without shifts works always', () => {
  expect(scheduledMs(calendar, saturday(13), monday(7))).toBe(2 * HOUR);
  expect(scheduledMs(calendar, saturday(15), monday(5))).toBe(0);
  expect(scheduledMs(always, saturday(13), monday(7))).toBe(monday(7) - saturday(13));
  expect(scheduledMs(calendar, monday(7), saturday(13))).toBe(0);
});

test('[SK2] half an hour from ten minutes before the weekend is up on Monday', () => {
  expect(afterScheduled(calendar, saturday(13, 50), 30 * MIN)).toBe(monday(6, 20));
  expect(afterScheduled(calendar, saturday(13), 30 * MIN)).toBe(saturday(13, 30));
  expect(afterScheduled(calendar, saturday(13, 30), 30 * MIN)).toBe(saturday(14));
  expect(afterScheduled(calendar, saturday(20), 0)).toBe(monday(6));
  expect(afterScheduled(always, saturday(13), 30 * MIN)).toBe(saturday(13, 30));
});

test('[SK2] the moment found has exactly that much scheduled time behind it, and is the first such', () => {
  for (let i = 0; i < 200; i++) {
    const [from, ms] = [saturday(0) + ((i * 7919) % 4000) * MIN, 1 + ((i * 104_729) % 3000) * MIN];
    const found = afterScheduled(calendar, from, ms) as number;
    expect(scheduledMs(calendar, from, found)).toBe(ms);
    expect(scheduledMs(calendar, from, found - 1)).toBe(ms - 1);
  }
});

test('[SK2] a plant that never works again has no such moment', () => {
  const closed = { ...calendar, changes: [{ from: '2026-11-01', shifts: [] }], holidays: Array.from({ length: 90 }, (_, i) => holiday(i)) };
  expect(afterScheduled(closed, saturday(20), HOUR)).toBeNull();
});

const holiday = (day: number): { date: string; name: string } => ({
  date: new Date(Date.UTC(2026, 10, 20 + day)).toISOString().slice(0, 10),
  name: 'closed',
});
