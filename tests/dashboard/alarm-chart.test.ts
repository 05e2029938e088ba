import { describe, expect, test } from 'vitest';
import { alarmChart, barsOf, mostOf, ticksOf, unseenOf } from '../../dashboard/alarm-chart.ts';

const [TEN, HOUR, DAY] = [600_000, 3_600_000, 86_400_000];
const counts = { from: 0, periodMs: TEN, counts: [1, null, null, 12, 0, null] };

describe('the chart of alarms', () => {
  test('has a bar in the middle of each observed period, none where nobody observed, and tells these apart from zero', () => {
    expect(barsOf(counts).map(({ x, y }) => [(x as number) / TEN, y])).toEqual([
      [0.5, 1],
      [3.5, 12],
      [4.5, 0],
    ]);
    expect(unseenOf(counts)).toEqual([
      { from: TEN, to: 3 * TEN },
      { from: 5 * TEN, to: 6 * TEN },
    ]);
  });

  test('draws what is above the published ten in ten minutes darker; of an hour above thirty', () => {
    const { data } = alarmChart({ counts, floods: [], zone: 'UTC', letterPx: 16 });
    const inks = data.datasets[0]?.backgroundColor as string[];
    expect(inks[1]).not.toBe(inks[0]);
    expect(inks[2]).toBe(inks[0]);
    expect([mostOf(counts), mostOf({ ...counts, periodMs: HOUR })]).toEqual([10, 30]);
  });

  test('names hours in a day and the midnights of the site in a month, some ten of them', () => {
    expect(ticksOf(0, DAY, 'UTC').map(({ value }) => value / HOUR)).toEqual([0, 2, 4, 6, 8, 10, 12, 14, 16, 18, 20, 22, 24]);
    const month = ticksOf(Date.UTC(2026, 9, 20, 5), Date.UTC(2026, 10, 17, 5), 'Europe/Berlin').map(({ value }) =>
      new Date(value).toISOString(),
    );
    expect(month[0]).toBe('2026-10-22T22:00:00.000Z');
    // Winter time: midnight is at 23:00 UTC.
    expect(month.at(-1)).toBe('2026-11-15T23:00:00.000Z');
    expect(month.length).toBeLessThanOrEqual(12);
  });
});
