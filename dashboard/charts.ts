/**
 * Charts as values: what to draw follows from the data alone, so it is tested without a browser. Gaps stay gaps: a null ends the line.
 * Lines differ by ink, dash and width, so that they stay apart without colour; signal colours (red, yellow, blue) mean alarms and are not used.
 */
import type { ChartConfiguration, Point } from 'chart.js';
import { isUnit, linear, unitSymbol } from '../src/units.ts';
import { chartFont, STILL } from './chart-frame.ts';
import { clock } from './format.ts';

export const WINDOW_MS = 30 * 60_000;
const TICK_MS = 5 * 60_000;

export type Line = {
  readonly signal: string;
  readonly label: string;
  readonly ink: string;
  readonly dash: readonly number[];
  readonly width: number;
};

export type Plot = {
  readonly title: string;
  /** The site's unit, as src/units.ts names it. */
  readonly unit: string;
  readonly log: boolean;
  readonly lines: readonly Line[];
};

export type Gas = { readonly line: number; readonly kind: string };
export type SiteUnits = { readonly pressure: string; readonly flow: string };

const INKS = ['#4b3163', '#0b6357', '#8a4708', '#46505a'] as const;
const measured = (signal: string, label: string, ink: string): Line => ({ signal, label, ink, dash: [], width: 2.5 });
const setPoint = (signal: string, label: string, ink: string): Line => ({ signal, label, ink, dash: [7, 5], width: 1.5 });

/** The three charts of a chamber: pressure, each gas line against its set point, power forward and reflected. */
export function chamberPlots(gases: readonly Gas[], units: SiteUnits, log: boolean): { pressure: Plot; flow: Plot; power: Plot } {
  const flows = gases.flatMap((gas, i) => {
    const ink = INKS[i % INKS.length] as string;
    return [measured(`gas.${gas.line}.flow`, gas.kind, ink), setPoint(`gas.${gas.line}.flowSetPoint`, `${gas.kind} set`, ink)];
  });
  const power = [
    measured('rf.forward', 'forward', INKS[0]),
    setPoint('rf.forwardSetPoint', 'set', INKS[0]),
    { ...measured('rf.reflected', 'reflected', INKS[2]), dash: [2, 2] },
  ];
  return {
    pressure: { title: 'Pressure', unit: units.pressure, log, lines: [measured('chamber.pressure', 'chamber', INKS[0])] },
    flow: { title: 'Gas flow', unit: units.flow, log: false, lines: flows },
    power: { title: 'RF power', unit: 'W', log: false, lines: power },
  };
}

const UTILITIES: Readonly<Record<string, { readonly title: string; readonly unit: string; readonly label: string }>> = {
  'utility.waterFlow': { title: 'Cooling water', unit: 'L/min', label: 'flow' },
  'utility.compressedAirPressure': { title: 'Compressed air', unit: 'kPa', label: 'pressure' },
  'utility.nitrogenPressure': { title: 'House nitrogen', unit: 'kPa', label: 'pressure' },
};

export function utilityPlot(signal: string): Plot {
  const { title, unit, label } = UTILITIES[signal] ?? { title: signal, unit: '', label: signal };
  return { title, unit, log: false, lines: [measured(signal, label, INKS[1])] };
}

export const plotSignals = (plots: Record<string, Plot>): string[] =>
  Object.values(plots).flatMap((plot) => plot.lines.map((line) => line.signal));

/** SI to the plot's unit; null stays null, and so does what a logarithm cannot show. */
export const inUnit = (si: number | null, plot: Plot): number | null => unitReader(plot)(si);

/** The conversion worked out once, because thousands of points pass it four times a second. */
function unitReader(plot: Plot): (si: number | null) => number | null {
  const { gain, bias } = isUnit(plot.unit) ? linear(plot.unit) : { gain: 1, bias: 0 };
  return (si) => {
    if (si === null) return null;
    const value = (si - bias) / gain;
    return plot.log && value <= 0 ? null : value;
  };
}

export const unitOf = (plot: Plot): string => (isUnit(plot.unit) ? unitSymbol(plot.unit) : plot.unit);

/** A line's points in the plot's unit. While the chamber is heard, its last value holds until now. */
export function points(
  samples: readonly { readonly at: number; readonly value: number | null }[],
  plot: Plot,
  heldUntil: number | null,
): Point[] {
  const read = unitReader(plot);
  const drawn = samples.map((s) => ({ x: s.at, y: read(s.value) }));
  const last = drawn.at(-1);
  if (last && last.y !== null && heldUntil !== null && heldUntil > last.x) drawn.push({ x: heldUntil, y: last.y });
  return drawn;
}

/** Whole five minutes inside the window. */
export function timeTicks(from: number, to: number): { value: number }[] {
  const ticks: { value: number }[] = [];
  for (let at = Math.ceil(from / TICK_MS) * TICK_MS; at <= to; at += TICK_MS) ticks.push({ value: at });
  return ticks;
}

/** `letterPx` is the page's letter size: axis words and line widths grow with it. */
export type Frame = { readonly from: number; readonly to: number; readonly zone: string; readonly letterPx: number };

export function lineChart(plot: Plot, { from, to, zone, letterPx }: Frame): ChartConfiguration<'line', Point[]> {
  const font = chartFont(letterPx * 0.94);
  const ink = '#5a5249';
  return {
    type: 'line',
    data: { datasets: plot.lines.map((line) => dataset(line, letterPx / 16)) },
    options: {
      ...STILL,
      elements: { point: { radius: 0 } },
      scales: {
        x: {
          type: 'linear',
          min: from,
          max: to,
          grid: { color: '#e6e0d3' },
          ticks: { color: ink, font, maxRotation: 0, callback: (value) => clock(Number(value), zone) },
          afterBuildTicks: (axis) => (axis.ticks = timeTicks(axis.min, axis.max)),
        },
        y: {
          type: plot.log ? 'logarithmic' : 'linear',
          // A zero offset of a few units must not push the axis down by a whole step; the number beside the name still shows it.
          afterDataLimits: (axis) => {
            if (plot.log) Object.assign(axis, wholeDecades(axis));
            else if (axis.min > -0.05 * Math.abs(axis.max)) axis.min = 0;
          },
          grid: { color: '#e6e0d3' },
          ticks: { color: ink, font, maxTicksLimit: 6, callback: (value) => axisNumber(Number(value), plot.log) },
          afterFit: (axis) => (axis.width = letterPx * 4),
        },
      },
    },
  };
}

/** One at least: only powers of ten are named, and a steady value would stand on an axis without a number. */
export function wholeDecades({ min, max }: { readonly min: number; readonly max: number }): { min: number; max: number } {
  const low = Math.floor(Math.log10(min));
  return { min: 10 ** low, max: 10 ** Math.max(low + 1, Math.ceil(Math.log10(max))) };
}

/** On a logarithmic axis only whole powers of ten are named. */
function axisNumber(value: number, log: boolean): string | null {
  if (log && !Number.isInteger(Math.round(Math.log10(value) * 1e9) / 1e9)) return null;
  return value.toLocaleString('en-GB', { useGrouping: false, maximumFractionDigits: 3 });
}

function dataset(line: Line, scale: number): ChartConfiguration<'line', Point[]>['data']['datasets'][number] {
  return {
    label: line.label,
    data: [],
    borderColor: line.ink,
    borderDash: line.dash.map((px) => px * scale),
    borderWidth: line.width * scale,
    // Servers tell a value when it changes: until the next word it holds. A slanted line between two words would be invented.
    stepped: true,
    tension: 0,
    spanGaps: false,
  };
}
