/**
 * Alarms per period as Chart.js options: bars, the floods as bands behind them, unobserved periods hatched, and the line above which a period is
 * crowded. Bars above it are darker; signal colours mean alarms of now and are not used for the past.
 */
import type { Chart, ChartConfiguration, Plugin, Point } from 'chart.js';
import type { AlarmCounts } from '../src/alarm-answer.ts';
import { DAY_MS, HOUR_MS, localDay, startOfDay } from '../src/zone.ts';
import { chartFont, STILL } from './chart-frame.ts';
import { clock, dayMonth } from './format.ts';

const INK = '#4b3163';
const PALE = '#9c8bab';
const BAND = '#f3c11b55';
const HATCH = '#cdc6b7';
const RULE = '#e6e0d3';
const WORDS = '#5a5249';
const TEN_MIN_MS = 600_000;
/** More than ten in ten minutes, more than thirty in an hour (ISA-18.2, EEMUA 191). */
const MOST: Readonly<Record<number, number>> = { [TEN_MIN_MS]: 10, [HOUR_MS]: 30 };

export type AlarmChart = {
  readonly counts: AlarmCounts;
  readonly floods: readonly { readonly from: number; readonly to: number }[];
  readonly zone: string;
  readonly letterPx: number;
};

/** Each bar in the middle of its period; none where nobody observed. */
export const barsOf = ({ from, periodMs, counts }: AlarmCounts): Point[] =>
  counts.flatMap((count, i) => (count === null ? [] : [{ x: from + (i + 0.5) * periodMs, y: count }]));

/** Stretches in which nobody observed. */
export function unseenOf({ from, periodMs, counts }: AlarmCounts): { from: number; to: number }[] {
  const out: { from: number; to: number }[] = [];
  counts.forEach((count, i) => {
    const [begin, end] = [from + i * periodMs, from + (i + 1) * periodMs];
    const last = out.at(-1);
    if (count !== null) return;
    if (last?.to === begin) last.to = end;
    else out.push({ from: begin, to: end });
  });
  return out;
}

export const mostOf = ({ periodMs }: AlarmCounts): number => MOST[periodMs] ?? 10;

export function alarmChart({ counts, floods, zone, letterPx }: AlarmChart): ChartConfiguration<'bar', Point[]> {
  const font = chartFont(letterPx * 0.92);
  const to = counts.from + counts.counts.length * counts.periodMs;
  const most = mostOf(counts);
  const data = barsOf(counts);
  return {
    type: 'bar',
    data: {
      datasets: [
        {
          data,
          backgroundColor: data.map(({ y }) => ((y ?? 0) > most ? INK : PALE)),
          barPercentage: 1,
          categoryPercentage: 0.92,
          minBarLength: 0,
        },
      ],
    },
    plugins: [bands(counts, floods), crowdLine(most)],
    options: {
      ...STILL,
      scales: {
        x: {
          type: 'linear',
          min: counts.from,
          max: to,
          offset: false,
          grid: { color: RULE, offset: false },
          ticks: {
            color: WORDS,
            font,
            maxRotation: 0,
            autoSkip: true,
            callback: (value) => tickText(Number(value), to - counts.from, zone),
          },
          afterBuildTicks: (axis) => (axis.ticks = ticksOf(axis.min, axis.max, zone)),
        },
        y: {
          type: 'linear',
          beginAtZero: true,
          suggestedMax: most + 2,
          grid: { color: RULE },
          ticks: { color: WORDS, font, precision: 0, maxTicksLimit: 6 },
        },
      },
    },
  };
}

const CLOCK_STEPS = [HOUR_MS, 2 * HOUR_MS, 4 * HOUR_MS];
const DAY_STEPS = [1, 2, 3, 7];
const isShort = (ms: number): boolean => ms <= 2 * DAY_MS;

/** Some ten: of hours in a short window, of the site's midnights in a long one. */
export function ticksOf(from: number, to: number, zone: string): { value: number }[] {
  const ticks: { value: number }[] = [];
  if (isShort(to - from)) {
    const step = CLOCK_STEPS.find((ms) => (to - from) / ms <= 12) ?? 4 * HOUR_MS;
    for (let at = Math.ceil(from / step) * step; at <= to; at += step) ticks.push({ value: at });
    return ticks;
  }
  const step = DAY_STEPS.find((days) => (to - from) / (days * DAY_MS) <= 12) ?? 7;
  for (let day = localDay(zone, from); startOfDay(zone, day) <= to; day += step) ticks.push({ value: startOfDay(zone, day) });
  return ticks.filter(({ value }) => value >= from);
}

const tickText = (at: number, ms: number, zone: string): string => (isShort(ms) ? clock(at, zone) : dayMonth(at, zone));

type Frame = Pick<Chart, 'ctx' | 'chartArea' | 'scales'>;

function bands(counts: AlarmCounts, floods: AlarmChart['floods']): Plugin<'bar'> {
  return {
    id: 'bands',
    beforeDatasetsDraw: (chart) => {
      const { ctx } = chart;
      ctx.save();
      ctx.fillStyle = HATCH;
      for (const span of unseenOf(counts)) hatch(chart, span);
      ctx.fillStyle = BAND;
      for (const { from, to } of floods) {
        const [left, right] = across(chart, from, to);
        ctx.fillRect(left, chart.chartArea.top, Math.max(3, right - left), chart.chartArea.height);
      }
      ctx.restore();
    },
  };
}

function across(chart: Frame, from: number, to: number): [number, number] {
  const x = chart.scales['x'];
  const { left, right } = chart.chartArea;
  const place = (at: number): number => Math.min(right, Math.max(left, x?.getPixelForValue(at) ?? left));
  return [place(from), place(to)];
}

function hatch(chart: Frame, { from, to }: { from: number; to: number }): void {
  const { ctx, chartArea } = chart;
  const [left, right] = across(chart, from, to);
  ctx.save();
  ctx.beginPath();
  ctx.rect(left, chartArea.top, right - left, chartArea.height);
  ctx.clip();
  ctx.strokeStyle = HATCH;
  ctx.lineWidth = 2;
  for (let x = left - chartArea.height; x < right; x += 10) {
    ctx.beginPath();
    ctx.moveTo(x, chartArea.bottom);
    ctx.lineTo(x + chartArea.height, chartArea.top);
    ctx.stroke();
  }
  ctx.restore();
}

/** The count above which a period is crowded. */
function crowdLine(most: number): Plugin<'bar'> {
  return {
    id: 'crowded',
    afterDatasetsDraw: ({ ctx, chartArea, scales }) => {
      const y = scales['y']?.getPixelForValue(most) ?? chartArea.top;
      ctx.save();
      ctx.strokeStyle = WORDS;
      ctx.setLineDash([6, 5]);
      ctx.beginPath();
      ctx.moveTo(chartArea.left, y);
      ctx.lineTo(chartArea.right, y);
      ctx.stroke();
      ctx.restore();
    },
  };
}
