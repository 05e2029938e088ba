import { expect, test } from 'vitest';
import { type Calendar, shiftsBetween, weekWindow } from '../../src/calendar.ts';
import { shiftLoads } from '../../src/shift-loads.ts';
import { run } from './stretches.ts';

const CALENDAR: Calendar = {
  zone: 'Europe/Berlin',
  shifts: [
    { name: 'Early', days: ['mon', 'tue', 'wed', 'thu', 'fri', 'sat'], from: '06:00', to: '14:00' },
    { name: 'Night', days: ['mon', 'tue', 'wed', 'thu', 'fri'], from: '22:00', to: '06:00' },
  ],
  holidays: [],
};
const WEEK = weekWindow('2026-W47', CALENDAR.zone) as { from: number; to: number };
const SHIFTS = shiftsBetween(CALENDAR, WEEK.from, WEEK.to);
const at = (day: number, hour: number) => run(Date.UTC(2026, 10, 16 + day, hour - 1));

test('[LS1] a load belongs to the shift in which its run ended, also after midnight; what ended in no shift is told apart', () => {
  const found = shiftLoads([at(0, 7), at(0, 14), at(1, 2), at(4, 23), at(5, 5), at(6, 12)], SHIFTS, WEEK);
  expect(found.map(({ shift, loads }) => [shift, loads])).toEqual([
    ['Early', 1],
    ['Night', 3],
    [null, 2],
  ]);
});

test('[LS2] loads per shift divides by all shifts of that name that begin in the window, also the idle ones', () => {
  const found = shiftLoads([at(0, 7), at(0, 8), at(1, 8)], SHIFTS, WEEK);
  expect(found.map(({ shift, shifts, loadsPerShift }) => [shift, shifts, loadsPerShift])).toEqual([
    ['Early', 6, 0.5],
    ['Night', 5, 0],
  ]);
});
