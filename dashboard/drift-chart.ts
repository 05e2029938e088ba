/**
 * The control chart of one figure as Chart.js options: runs by their part in the chart, the moving average, limits, work on the chamber, and sister
 * chambers faint behind. Silences are gaps. Inks differ in shape too; signal colours mean alarms and are not used.
 */
import type { Chart, ChartConfiguration, Plugin, Point } from 'chart.js';
import type { ChamberDriftAnswer, DriftPoint } from '../src/drift-answer.ts';
import { chartFont, STILL } from './chart-frame.ts';
import { dayMonth } from './format.ts';

type Drawn = NonNullable<ChamberDriftAnswer['chart']>;
type Frame = { readonly zone: string; readonly letterPx: number; readonly nameOf: (chamber: string) => string };
type Dataset = ChartConfiguration<'line', Point[]>['data']['datasets'][number];

const INK = '#4b3163';
const SOFT = '#857b6e';
const FAINT = '#c9c1b2';
const WORDS = '#5a5249';
const DAY_MS = 86_400_000;

/** Points in the unit shown; a null parts what lies further apart than `longestGapMs`. */
export function withGaps(
  points: readonly { readonly at: number; readonly value: number | null }[],
  { gain, longestGapMs }: { gain: number; longestGapMs: number },
): Point[] {
  const out: Point[] = [];
  points.forEach(({ at, value }, i) => {
    const before = points[i - 1];
    if (before !== undefined && at - before.at > longestGapMs) out.push({ x: (at + before.at) / 2, y: NaN });
    out.push({ x: at, y: value === null ? NaN : value * gain });
  });
  return out;
}

const ROLES: readonly { readonly label: string; readonly roles: readonly DriftPoint['role'][]; readonly style: Partial<Dataset> }[] = [
  { label: 'before the last work', roles: ['before'], style: { pointRadius: 1.6, pointBackgroundColor: FAINT, pointBorderColor: FAINT } },
  { label: 'baseline', roles: ['baseline'], style: { pointRadius: 3, pointBackgroundColor: '#fbf9f4', pointBorderColor: INK } },
  { label: 'left out', roles: ['left-out'], style: { pointRadius: 4, pointStyle: 'crossRot', pointBorderColor: INK } },
  { label: 'learning', roles: ['learning'], style: { pointRadius: 2.2, pointBackgroundColor: SOFT, pointBorderColor: SOFT } },
  { label: 'run', roles: ['judged'], style: { pointRadius: 2.2, pointBackgroundColor: '#1f1a17', pointBorderColor: '#1f1a17' } },
];

export function driftDatasets(answer: ChamberDriftAnswer, drawn: Drawn, nameOf: Frame['nameOf']): Dataset[] {
  const { gain } = drawn.measure;
  const gaps = { gain, longestGapMs: drawn.longestGapMs };
  const sisters = answer.sisters.map(({ chamber, points }): Dataset => {
    const data = points.map(({ at, value }) => ({ x: at, y: value * gain }));
    return { label: nameOf(chamber), data, showLine: false, pointRadius: 1.1, pointBackgroundColor: FAINT, pointBorderColor: FAINT };
  });
  const runs = ROLES.map(({ label, roles, style }): Dataset => {
    const data = drawn.points
      .filter(({ role }) => roles.includes(role))
      .map(({ at, value }) => ({ x: at, y: value === null ? NaN : value * gain }));
    return { label, data, showLine: false, ...style };
  });
  const level = drawn.points.filter(({ role }) => role === 'judged').map(({ at, level: value }) => ({ at, value }));
  const average: Dataset = {
    label: 'moving average',
    data: withGaps(level, gaps),
    borderColor: INK,
    borderWidth: 2.5,
    pointRadius: 0,
    spanGaps: false,
  };
  return [...sisters, ...runs.filter(({ data }) => data.length > 0), average];
}

export function driftOptions(answer: ChamberDriftAnswer, drawn: Drawn, frame: Frame): ChartConfiguration<'line', Point[]> {
  const font = chartFont(frame.letterPx * 0.92);
  const [first, last] = [drawn.points[0]?.at ?? answer.at, drawn.points.at(-1)?.at ?? answer.at];
  const pad = Math.max(DAY_MS / 2, (last - first) * 0.02);
  return {
    type: 'line',
    data: { datasets: driftDatasets(answer, drawn, frame.nameOf) },
    plugins: [limitPlugin(drawn), markPlugin(answer, font.size)],
    options: {
      ...STILL,
      scales: {
        x: {
          type: 'linear',
          min: first - pad,
          max: last + pad,
          grid: { color: '#e6e0d3' },
          ticks: { color: WORDS, font, maxRotation: 0, autoSkip: true, callback: (value) => dayMonth(Number(value), frame.zone) },
          afterBuildTicks: (axis) => (axis.ticks = dayTicks(axis.min, axis.max)),
        },
        y: {
          type: 'linear',
          ...shownRange(drawn),
          grid: { color: '#e6e0d3' },
          ticks: { color: WORDS, font, maxTicksLimit: 7, includeBounds: false },
          title: { display: true, text: drawn.measure.symbol, color: WORDS, font },
        },
      },
    },
  };
}

/** Runs and limits of this chamber; a sister far away does not flatten them. */
export function shownRange({ points, limits, measure }: Drawn): { min?: number; max?: number } {
  const values = [...points.flatMap(({ value }) => value ?? []), ...(limits === null ? [] : [limits.lower, limits.upper])];
  if (values.length === 0) return {};
  const [least, most] = [Math.min(...values) * measure.gain, Math.max(...values) * measure.gain];
  const room = Math.max((most - least) * 0.08, Math.abs(most) * 0.01, 1e-6);
  return { min: least >= 0 ? Math.max(0, least - room) : least - room, max: most + room };
}

/** Midnights UTC, at most some ten. */
export function dayTicks(from: number, to: number): { value: number }[] {
  const step = [1, 2, 3, 7, 14, 28, 56, 112].find((days) => (to - from) / (days * DAY_MS) <= 10) ?? 365;
  const ticks: { value: number }[] = [];
  for (let at = Math.ceil(from / DAY_MS) * DAY_MS; at <= to; at += step * DAY_MS) ticks.push({ value: at });
  return ticks;
}

type Area = { readonly left: number; readonly right: number; readonly y: (si: number) => number };
const areaOf = (chart: Chart, gain: number): Area => {
  const { left, right } = chart.chartArea;
  return { left, right, y: (si) => chart.scales['y']?.getPixelForValue(si * gain) ?? 0 };
};

/** Behind the points: the band in which single runs may lie, the usual value, and the narrower limits of the average. */
function limitPlugin({ limits, measure }: Drawn): Plugin<'line'> {
  return {
    id: 'limits',
    beforeDatasetsDraw(chart) {
      if (limits === null) return;
      const { ctx, chartArea } = chart;
      const { left, right, y } = areaOf(chart, measure.gain);
      ctx.save();
      ctx.beginPath();
      ctx.rect(left, chartArea.top, right - left, chartArea.bottom - chartArea.top);
      ctx.clip();
      ctx.fillStyle = 'rgba(75, 49, 99, 0.08)';
      ctx.fillRect(left, y(limits.upper), right - left, y(limits.lower) - y(limits.upper));
      const line = (si: number, dash: number[], width: number): void => {
        ctx.setLineDash(dash);
        ctx.lineWidth = width;
        ctx.strokeStyle = INK;
        ctx.beginPath();
        ctx.moveTo(left, y(si));
        ctx.lineTo(right, y(si));
        ctx.stroke();
      };
      line(limits.usual, [], 1);
      for (const si of [limits.lower, limits.upper]) line(si, [8, 5], 1.2);
      for (const si of [limits.levelLower, limits.levelUpper]) line(si, [2, 4], 1);
      ctx.restore();
    },
  };
}

/** Work on the chamber: a full line where the baseline began anew, a broken one where nobody said what was done. */
function markPlugin({ marks }: ChamberDriftAnswer, letterPx: number): Plugin<'line'> {
  return {
    id: 'marks',
    afterDatasetsDraw(chart) {
      const { ctx, chartArea, scales } = chart;
      ctx.save();
      ctx.font = `500 ${letterPx * 0.85}px 'Barlow Semi Condensed', sans-serif`;
      ctx.fillStyle = WORDS;
      let free = -Infinity;
      for (const { to, resets, parts } of marks) {
        const x = scales['x']?.getPixelForValue(to) ?? 0;
        if (x < chartArea.left || x > chartArea.right) continue;
        ctx.setLineDash(resets ? [] : [3, 4]);
        ctx.lineWidth = resets ? 2 : 1;
        ctx.strokeStyle = resets ? '#1f1a17' : SOFT;
        ctx.beginPath();
        ctx.moveTo(x, chartArea.top);
        ctx.lineTo(x, chartArea.bottom);
        ctx.stroke();
        const text = parts.length === 0 ? '◇' : `◆ ${parts.join(', ')}`;
        if (x > free) ctx.fillText(text, x + 3, chartArea.top + letterPx);
        if (x > free) free = x + ctx.measureText(text).width + 8;
      }
      ctx.restore();
    },
  };
}
