import { DateTime } from 'luxon';
import { describe, expect, test } from 'vitest';
import { atLocalTime, DAY_MS, localDay, offsetAt, startOfDay } from '../../src/zone.ts';
import { ZONES } from './examples.ts';
import { random } from './random-history.ts';

describe('zone', () => {
  test('offsets equal those of luxon 3.7.2 at 500 random moments of 1995 to 2045 in each of 15 zones', () => {
    const chance = random(7);
    const [from, to] = [Date.UTC(1995, 0, 1), Date.UTC(2045, 0, 1)];
    for (const zone of ZONES) {
      for (let i = 0; i < 500; i++) {
        const at = Math.floor(from + chance() * (to - from));
        expect([zone, at, offsetAt(zone, at)]).toEqual([zone, at, DateTime.fromMillis(at, { zone }).offset * 60_000]);
      }
    }
  });

  test('every change of offset in 2026 is found to the second', () => {
    // luxon asks Intl at each moment by itself; the change must lie exactly between two of its answers one second apart.
    for (const zone of ZONES) {
      for (let day = Date.UTC(2026, 0, 1); day < Date.UTC(2027, 0, 1); day += DAY_MS / 4) {
        if (offsetAt(zone, day) === offsetAt(zone, day + DAY_MS / 4)) continue;
        let [low, high] = [day, day + DAY_MS / 4];
        while (high - low > 1000) {
          const middle = (low + high) / 2;
          if (DateTime.fromMillis(middle, { zone }).offset === DateTime.fromMillis(day, { zone }).offset) low = middle;
          else high = middle;
        }
        expect(offsetAt(zone, low - 1000)).toBe(offsetAt(zone, day));
        expect(offsetAt(zone, high)).not.toBe(offsetAt(zone, day));
      }
    }
  });

  test('[ZO1] a skipped local time means the moment as far behind the skip: Berlin 2026-03-29 02:30 is 03:30 (RFC 5545 3.3.5)', () => {
    const at = atLocalTime('Europe/Berlin', localDay('Europe/Berlin', Date.UTC(2026, 2, 29, 12)), 150);
    expect(new Date(at).toISOString()).toBe('2026-03-29T01:30:00.000Z');
  });

  test('[ZO2] a local time that happens twice means its first happening: Berlin 2026-10-25 02:30 is 00:30Z (RFC 5545 3.3.5)', () => {
    const at = atLocalTime('Europe/Berlin', localDay('Europe/Berlin', Date.UTC(2026, 9, 25, 12)), 150);
    expect(new Date(at).toISOString()).toBe('2026-10-25T00:30:00.000Z');
  });

  test('a day starts where luxon 3.7.2 changes the date, every day of 2024 to 2027, also where midnight is skipped (Cairo) or comes twice (Havana)', () => {
    // Not against luxon's own startOf('day'): in Havana it answers the second of two midnights.
    for (const zone of ZONES) {
      const first = Date.UTC(2024, 0, 1) / DAY_MS;
      for (let day = first; day < first + 1461; day++) {
        const start = startOfDay(zone, day);
        const dates = [start - 1, start].map((at) => DateTime.fromMillis(at, { zone }).toISODate());
        const expected = [day - 1, day].map((d) => new Date(d * DAY_MS).toISOString().slice(0, 10));
        if (dates.join() !== expected.join()) expect([zone, dates]).toEqual([zone, expected]);
      }
    }
  });
});
