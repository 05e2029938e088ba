/** Charts as values. Unit constants: 1 Torr = 101325/760 Pa by definition; 1 sccm at 0 °C = 7.4358e-7 mol/s (ideal gas, SI 2019 constants). */
import { expect, test } from 'vitest';
import { chamberPlots, inUnit, lineChart, plotSignals, points, timeTicks, wholeDecades } from '../../dashboard/charts.ts';

const plots = chamberPlots(
  [
    { line: 1, kind: 'O2' },
    { line: 2, kind: 'CF4' },
  ],
  { pressure: 'mTorr', flow: 'sccm' },
  true,
);
const FROM = Date.UTC(2026, 10, 25, 9, 18);
const frame = { from: FROM, to: FROM + 30 * 60_000, zone: 'Europe/Berlin', letterPx: 16 };

test('values are shown in the units of the site', () => {
  expect(inUnit(33.3305921, plots.pressure)).toBeCloseTo(250, 4);
  expect(inUnit(7.4358e-5, plots.flow)).toBeCloseTo(100, 2);
  expect(inUnit(2990, plots.power)).toBe(2990);
});

test('a missing value stays missing and a logarithm draws nothing for zero', () => {
  expect(inUnit(null, plots.flow)).toBeNull();
  expect(inUnit(0, plots.pressure)).toBeNull();
  expect(inUnit(0, chamberPlots([], { pressure: 'Pa', flow: 'sccm' }, false).pressure)).toBe(0);
});

test('a gap in the samples is a gap in the line', () => {
  const drawn = points(
    [
      { at: 1, value: 10 },
      { at: 2, value: null },
      { at: 3, value: 20 },
    ],
    plots.power,
    null,
  );
  expect(drawn.map((p) => p.y)).toEqual([10, null, 20]);
  const chart = lineChart(plots.power, frame);
  expect(chart.data.datasets.map((set) => set.spanGaps)).toEqual([false, false, false]);
});

test('the last value holds until now only while the chamber is heard and only when there is a value', () => {
  const samples = [{ at: 1, value: 10 }];
  expect(points(samples, plots.power, 9).at(-1)).toEqual({ x: 9, y: 10 });
  expect(points(samples, plots.power, null)).toHaveLength(1);
  expect(points([{ at: 1, value: null }], plots.power, 9)).toHaveLength(1);
});

test('each gas line has its flow and its set point in one ink, told apart by the dash', () => {
  expect(plotSignals({ flow: plots.flow })).toEqual(['gas.1.flow', 'gas.1.flowSetPoint', 'gas.2.flow', 'gas.2.flowSetPoint']);
  const [flow, set, other] = plots.flow.lines;
  expect(flow!.ink).toBe(set!.ink);
  expect(flow!.ink).not.toBe(other!.ink);
  expect([flow!.dash, set!.dash.length > 0]).toEqual([[], true]);
});

test('the time axis names whole five minutes in the site’s time', () => {
  expect(timeTicks(FROM, FROM + 12 * 60_000).map((t) => new Date(t.value).toISOString().slice(11, 16))).toEqual([
    '09:20',
    '09:25',
    '09:30',
  ]);
  const ticks = lineChart(plots.pressure, frame).options!.scales!['x']!.ticks as { callback: (value: number) => string };
  expect(ticks.callback(FROM + 2 * 60_000)).toBe('10:20');
});

test('a value holds until the next word: no line slants between two words', () => {
  expect(lineChart(plots.flow, frame).data.datasets.every((set) => set.stepped === true)).toBe(true);
});

test('a small negative offset does not stretch the axis, a real negative does', () => {
  const limit = lineChart(plots.flow, frame).options!.scales!['y']!.afterDataLimits as (axis: { min: number; max: number }) => void;
  const [offset, real] = [
    { min: -2, max: 800 },
    { min: -300, max: 800 },
  ];
  limit(offset);
  limit(real);
  expect([offset.min, real.min]).toEqual([0, -300]);
});

test('pressure has a logarithmic axis when asked and nothing moves by itself', () => {
  const chart = lineChart(plots.pressure, frame);
  expect(chart.options!.scales!['y']!.type).toBe('logarithmic');
  expect(chart.options!.animation).toBe(false);
});

test.each([
  [2000, 2000.3, 1000, 10_000],
  [8.2, 760_000, 1, 1_000_000],
  [10, 100, 10, 100],
  [0.4, 0.4, 0.1, 1],
])('a logarithmic axis from %d to %d ends at the powers of ten %d and %d', (min, max, low, high) => {
  const found = wholeDecades({ min, max });
  expect(found.min).toBeCloseTo(low, 12);
  expect(found.max).toBeCloseTo(high, 9);
});
