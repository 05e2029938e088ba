import fc from 'fast-check';
import { max, min } from 'simple-statistics';
import { describe, expect, it } from 'vitest';
import { thinned, type Series } from '../../src/thinning.ts';

const anySeries = fc
  .array(fc.tuple(fc.integer({ min: 0, max: 50 }), fc.option(fc.double({ min: -1e6, max: 1e6, noNaN: true }), { freq: 6 })), {
    minLength: 1,
    maxLength: 400,
  })
  .map((steps): Series => {
    let at = 0;
    return { at: steps.map(([gap]) => (at += gap)), value: steps.map(([, value]) => value) };
  });
const limit = fc.integer({ min: 5, max: 60 });

describe('a line with fewer points', () => {
  it('[TH1] is the same line when it fits', () => {
    const series = { at: [1, 2, 3], value: [1, null, 3] };
    expect(thinned(series, 5)).toEqual(series);
  });

  // The extremes come from simple-statistics, a general-purpose library.
  it('[TH2] keeps the least and the largest value and the order of time', () => {
    fc.assert(
      fc.property(anySeries, limit, (series, maxPoints) => {
        const thin = thinned(series, maxPoints);
        const numbers = (values: readonly (number | null)[]) => values.filter((v) => v !== null);
        expect(thin.at).toEqual([...thin.at].sort((a, b) => a - b));
        if (numbers(series.value).length === 0) return;
        expect(max(numbers(thin.value))).toBe(max(numbers(series.value)));
        expect(min(numbers(thin.value))).toBe(min(numbers(series.value)));
      }),
      { seed: 11, numRuns: 500 },
    );
  });

  it('[TH2] shows a spike of one sample in an hour', () => {
    const at = Array.from({ length: 3600 }, (_, n) => n * 1000);
    const thin = thinned({ at, value: at.map((_, n) => (n === 1234 ? 99 : 1)) }, 100);
    expect(thin.value).toContain(99);
  });

  it('[TH3] keeps a gap where one was, and makes none', () => {
    fc.assert(
      fc.property(anySeries, limit, (series, maxPoints) => {
        expect(thinned(series, maxPoints).value.includes(null)).toBe(series.value.includes(null));
      }),
      { seed: 12, numRuns: 500 },
    );
  });

  it('[TH3] a gap stands between the values around it', () => {
    const at = Array.from({ length: 600 }, (_, n) => n);
    const thin = thinned({ at, value: at.map((n) => (n >= 200 && n < 400 ? null : n)) }, 50);
    const gaps = thin.at.filter((_, i) => thin.value[i] === null);
    expect(Math.min(...gaps)).toBeGreaterThanOrEqual(200);
    expect(Math.max(...gaps)).toBeLessThan(400);
    expect(thin.at.filter((t, i) => t >= 200 && t < 400 && thin.value[i] !== null)).toEqual([]);
  });

  it('[TH4] has no more points than asked for, the ends among them', () => {
    fc.assert(
      fc.property(anySeries, limit, (series, maxPoints) => {
        const thin = thinned(series, maxPoints);
        expect(thin.at.length).toBeLessThanOrEqual(Math.max(maxPoints, 0));
        expect([thin.at[0], thin.at.at(-1)]).toEqual([series.at[0], series.at.at(-1)]);
      }),
      { seed: 13, numRuns: 500 },
    );
  });
});
