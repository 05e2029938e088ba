/** What every chart of the pages has in common: a still picture of given points that fills its box, and the pages' letter. */
import type { ChartOptions } from 'chart.js';

export const STILL = {
  animation: false,
  parsing: false,
  normalized: true,
  responsive: true,
  maintainAspectRatio: false,
  events: [],
} satisfies ChartOptions<'line' | 'bar'>;

/** `sizePx` of its letters. */
export const chartFont = (sizePx: number) => ({ family: "'Barlow Semi Condensed', sans-serif", size: sizePx, weight: 500 as const });
