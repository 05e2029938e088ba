import { describe, expect, test } from 'vitest';
import { countAt, countSince, countSinceWork } from '../../src/counters.ts';
import type { CountedRun } from '../../src/counters.ts';
import { DAY, HOUR } from './recorded-runs.ts';

/** A run every six hours: 2 h of pumping, 1 h of RF each, 12 min unseen each day; the machine's meter is cleared after the 20th. */
const runs: readonly CountedRun[] = Array.from({ length: 40 }, (_, i) => {
  const n = i + 1;
  return {
    at: n * 6 * HOUR,
    counts: { pumpMs: n * 2 * HOUR, rfMs: n * HOUR, runs: n, unobservedMs: n * 3 * 60_000 },
    meters: { pumpS: (n <= 20 ? 9_000 + 2 * n : 2 * (n - 20)) * 3600, rfS: null, cycles: 500 + n },
  };
});

describe('counters', () => {
  test('[CO1] since first watched it is the own integral of the last run, whatever the meter was cleared to', () => {
    const found = countSince(runs, 'pump-hours', null);
    expect(found).toMatchObject({ own: 80 * HOUR, since: 6 * HOUR, isSinceWork: false });
    expect(countSince(runs, 'rf-hours', null).own).toBe(40 * HOUR);
    expect(countSince(runs, 'runs', null).own).toBe(40);
  });

  test('[CO2] since maintenance: less what stood at the run before it; the part decides which maintenance', () => {
    const work = [
      { at: 2 * DAY + 1, parts: ['pump'] as const },
      { at: 5 * DAY, parts: ['match'] as const },
    ];
    expect(countAt(runs, 2 * DAY + 1).runs).toBe(8);
    expect(countSinceWork(runs, 'pump-hours', { part: 'pump', work })).toMatchObject({
      own: 64 * HOUR,
      since: 2 * DAY + 1,
      isSinceWork: true,
    });
    expect(countSinceWork(runs, 'runs', { part: 'match', work }).own).toBe(20);
    expect(countSinceWork(runs, 'runs', { part: 'seal', work })).toMatchObject({ own: 40, isSinceWork: false });
  });

  test('[CO3] unobserved time is told beside the count and is not in it', () => {
    expect(countSince(runs, 'runs', 5 * DAY).unobservedMs).toBe(20 * 3 * 60_000);
  });

  test('[CO4] the machine’s meter agrees across its reset, which is told; without a meter there is none', () => {
    const { own, meter } = countSince(runs, 'pump-hours', 2 * DAY);
    expect(own).toBe(64 * HOUR);
    expect(meter).toMatchObject({ gained: 64 * HOUR, own: 64 * HOUR });
    expect(countSince(runs, 'pump-hours', null).meter).toMatchObject({ gained: 78 * HOUR, own: 78 * HOUR });
    expect(meter).toMatchObject({ isWhole: true, events: [{ kind: 'reset', at: 21 * 6 * HOUR }] });
    expect(countSince(runs, 'rf-hours', null).meter).toBeNull();
    expect(countSince(runs, 'runs', 2 * DAY).meter?.gained).toBe(32);
  });

  test('[CO1] before the first run everything is zero and since nothing', () => {
    expect(countSince([], 'runs', null)).toEqual({ own: 0, unobservedMs: 0, since: null, isSinceWork: false, meter: null });
  });
});
