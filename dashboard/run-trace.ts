/** The chart of one run as values: the lines of charts.ts over the run's own time, and a mark where each stretch began. */
import type { ChartConfiguration, Plugin, Point } from 'chart.js';
import type { RunRow } from '../src/contract.ts';
import { lineChart, type Frame, type Plot } from './charts.ts';

const MINUTE_MS = 60_000;
const BEFORE_MS = 60_000;
const AFTER_MS = 30_000;
const STEPS_MIN = [1, 2, 5, 10, 15, 30, 60, 120, 240, 480];
const MOST_TICKS = 12;

/** A little before and after it. */
export const runWindow = ({ startedAt, endedAt }: Pick<RunRow, 'startedAt' | 'endedAt'>): { from: number; to: number } => ({
  from: startedAt - BEFORE_MS,
  to: endedAt + AFTER_MS,
});

/** Whole minutes since the run began, a dozen at most. */
export function minuteTicks(from: number, to: number, startedAt: number): { value: number }[] {
  const step = MINUTE_MS * (STEPS_MIN.find((minutes) => (to - from) / (minutes * MINUTE_MS) <= MOST_TICKS) ?? 1440);
  const ticks: { value: number }[] = [];
  for (let at = startedAt; at <= to; at += step) ticks.push({ value: at });
  return ticks;
}

export function runChart(plot: Plot, frame: Frame, startedAt: number): ChartConfiguration<'line', Point[]> {
  const chart = lineChart(plot, frame);
  const x = chart.options?.scales?.['x'];
  if (x === undefined) return chart;
  x.afterBuildTicks = (axis) => (axis.ticks = minuteTicks(axis.min, axis.max, startedAt));
  x.ticks = { ...x.ticks, callback: (value) => String(Math.round((Number(value) - startedAt) / MINUTE_MS)) };
  return chart;
}

/** Upright lines where stretches begin, under the values. */
export function stretchMarks(phases: RunRow['phases'], letterPx: number): Plugin<'line'> {
  return {
    id: 'stretches',
    beforeDatasetsDraw: ({ ctx, chartArea, scales }) => {
      const axis = scales['x'];
      if (axis === undefined) return;
      ctx.save();
      for (const { phase, from, to } of phases) {
        const [left, right] = [axis.getPixelForValue(from), axis.getPixelForValue(to)];
        if (phase === 'plasma') {
          ctx.fillStyle = 'rgba(75, 49, 99, 0.06)';
          ctx.fillRect(left, chartArea.top, right - left, chartArea.height);
        }
        ctx.fillStyle = '#857b6e';
        ctx.fillRect(left - letterPx / 32, chartArea.top, letterPx / 16, chartArea.height);
      }
      ctx.restore();
    },
  };
}
