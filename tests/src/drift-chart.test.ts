import { describe, expect, test } from 'vitest';
import { controlChart } from '../../src/drift-chart.ts';
import type { ChartRole } from '../../src/drift-chart.ts';
import { drift } from '../../src/drift.ts';
import type { MeasuredRun } from '../../src/drift.ts';
import { DRIFT_MEASURES } from '../../src/drift-measure.ts';

const measure = DRIFT_MEASURES['pump-down-first'];
const calm = (i: number): number => 137 + ([0, 1, -1, 1.5, -1.5][i % 5] as number);
const runsOf = (values: readonly (number | null)[]): MeasuredRun[] =>
  values.map((value, i) => ({ run: `R${i}`, at: i, value, good: i !== 33 }));

describe('a control chart', () => {
  const values = Array.from({ length: 60 }, (_, i) => (i === 32 ? 400 : i === 40 ? null : i >= 55 ? 150 : calm(i)));
  const input = { measure, runs: runsOf(values), maintenance: [9.5] };
  const chart = controlChart(input);
  const at = (i: number) => chart.points[i] as (typeof chart.points)[number];

  test('[DK1] each run has one part in it: before the maintenance, baseline, left out of it, learning, judged', () => {
    const parts = (role: ChartRole): number[] => chart.points.flatMap((point, i) => (point.role === role ? [i] : []));
    expect(parts('before')).toEqual([0, 1, 2, 3, 4, 5, 6, 7, 8, 9]);
    expect(controlChart({ ...input, baselineRuns: 25 }).points.findIndex(({ role }) => role === 'left-out')).toBe(32);
    expect(parts('baseline')).toEqual(Array.from({ length: 20 }, (_, i) => 10 + i));
    expect(parts('learning')).toEqual([40]);
    expect(parts('judged')).toHaveLength(29);
  });

  test('[DK2] its limits are those of the verdict: a value just beyond the upper limit is told, one just within is not', () => {
    const upper = chart.limits?.upper as number;
    const last = (value: number) => drift({ ...input, runs: [...input.runs.slice(0, 32), { run: 'x', at: 99, value, good: true }] });
    expect(last(upper - 0.001).state).toBe('steady');
    expect(
      controlChart({ ...input, runs: [...input.runs.slice(0, 32), { run: 'x', at: 99, value: upper + 0.001, good: true }] }).points.at(-1)
        ?.reasons,
    ).toContain('beyond 3 sigma');
    expect(
      controlChart({ ...input, runs: [...input.runs.slice(0, 32), { run: 'x', at: 99, value: upper - 0.001, good: true }] }).points.at(-1)
        ?.reasons,
    ).toEqual([]);
  });

  test('[DK2] the reasons at the last run are those of the verdict, and the average there has left its limits', () => {
    expect(chart.verdict).toEqual(drift(input));
    expect(chart.verdict).toMatchObject({ state: 'shifted', reasons: at(59).reasons });
    expect(at(59).level).toBeGreaterThan(chart.limits?.levelUpper as number);
    expect(at(31).level).toBeLessThan(chart.limits?.levelUpper as number);
  });

  test('[DK2] a run without the figure is a gap, and a figure still learned has no limits', () => {
    expect(at(40)).toMatchObject({ value: null, level: null, reasons: [] });
    expect(controlChart({ ...input, maintenance: [50] })).toMatchObject({ limits: null, verdict: { state: 'learning', runs: 9 } });
  });
});
