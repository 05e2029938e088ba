import { expect, test } from 'vitest';
import { boundsText, clock, clockOrDay, duration, percent, phaseWord, shareText, shortTime, stopwatch } from '../../dashboard/format.ts';

test('clock times are the site’s, on both sides of a clock change', () => {
  // Europe/Berlin leaves summer time on 25 October 2026 at 01:00 UTC (IANA time zone database).
  expect(clock(Date.UTC(2026, 9, 25, 0, 30), 'Europe/Berlin')).toBe('02:30');
  expect(clock(Date.UTC(2026, 9, 25, 1, 30), 'Europe/Berlin')).toBe('02:30');
  expect(clock(Date.UTC(2026, 9, 25, 2, 30), 'Europe/Berlin')).toBe('03:30');
});

test('midnight is 00:00 and a time of another day carries its day', () => {
  const midnight = Date.UTC(2026, 10, 24, 23);
  expect(clockOrDay(midnight, midnight + 1000, 'Europe/Berlin')).toBe('00:00');
  expect(clockOrDay(midnight - 60_000, midnight, 'Europe/Berlin')).toBe('Tue 24 Nov 23:59');
});

test('on the wall a time within 20 hours is a clock time even over midnight, an older one its day: there is no room for both', () => {
  const now = Date.UTC(2026, 10, 24, 23, 30);
  expect(shortTime(now - 40 * 60_000, now, 'Europe/Berlin')).toBe('23:50');
  expect(shortTime(now - 30 * 3_600_000, now, 'Europe/Berlin')).toBe('Mon 18:30');
  expect(shortTime(now - 240 * 3_600_000, now, 'Europe/Berlin')).toBe('15 Nov');
});

test.each([
  [-5, '0', 's'],
  [59_999, '59', 's'],
  [60_000, '1', 'min'],
  [119 * 60_000, '119', 'min'],
  [120 * 60_000, '2:00', 'h'],
  [605 * 60_000, '10', 'h'],
  [101 * 3_600_000, '4', 'days'],
] as const)('%i ms reads %s %s', (ms, amount, unit) => {
  expect(duration(ms)).toEqual({ amount, unit });
});

test('missing is a dash, never zero', () => {
  expect(percent(null)).toBe('–');
  expect(percent(0)).toBe('0\u00a0%');
  expect(percent(0.004)).toBe('< 1\u00a0%');
});

test('nearly all is not called all', () => {
  expect([percent(0.999), percent(0.994), percent(1)]).toEqual(['> 99\u00a0%', '99\u00a0%', '100\u00a0%']);
});

test('a share that may not be stated is given as the bounds it must lie in', () => {
  const half = { value: 0.5, low: 0.41, high: 0.62, coverage: 0.98 };
  expect(shareText(half)).toBe('50\u00a0%');
  expect(shareText({ ...half, value: null })).toBe('41–62\u00a0%');
  expect(shareText({ ...half, value: null, low: null, high: null })).toBe('–');
  expect(boundsText(half)).toBe('between 41\u00a0% and 62\u00a0%');
  expect(boundsText({ ...half, low: 0.499, high: 0.501 })).toBe('');
});

test('a plasma step says which of how many', () => {
  expect(phaseWord('plasma', 2, 3)).toBe('plasma 2/3');
  expect(phaseWord('plasma', 2, null)).toBe('plasma 2');
  expect(phaseWord('purge', 2, 3)).toBe('purge');
});

test('phase times are minutes and seconds', () => {
  expect(stopwatch(125_400)).toBe('2:05');
  expect(stopwatch(59_600)).toBe('1:00');
});
