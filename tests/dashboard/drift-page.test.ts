/** The drift page's pure parts: the words of a cell, the address of a chart, and the chart as a value. */
import { expect, test } from 'vitest';
import { dayTicks, driftDatasets, driftOptions, shownRange, withGaps } from '../../dashboard/drift-chart.ts';
import { cellFace, groups, headOf, ofWhat } from '../../dashboard/drift-words.ts';
import { driftAddress, pageOf } from '../../dashboard/page-address.ts';
import { SYMPTOMS } from '../../src/drift-series.ts';
import { exampleChamberDrift, exampleDriftCell } from '../gateway/wire-examples.ts';

const DAY = 86_400_000;
const frame = { zone: 'Europe/Berlin', letterPx: 16, nameOf: (chamber: string) => chamber };

test('a shift says its direction in shape and its size in words, all else stays quiet', () => {
  const cell = exampleDriftCell();
  expect(cellFace(cell)).toEqual({ sign: '▲', word: '+12.0 s (12 %)', tone: 'shifted' });
  expect(cellFace({ ...cell, value: 90 }).sign).toBe('▼');
  expect(cellFace({ ...cell, state: 'odd-run' }).tone).toBe('odd');
  expect(cellFace({ ...cell, state: 'learning', learned: { runs: 4, needed: 20 } })).toEqual({
    sign: '4/20',
    word: 'learning',
    tone: 'quiet',
  });
  expect([cellFace({ ...cell, state: 'steady' }).tone, cellFace({ ...cell, state: 'no-figure' }).sign]).toEqual(['quiet', '–']);
});

test('every figure of the gateway has a short head of its own, and groups span neighbours', () => {
  expect(new Set(SYMPTOMS.map(headOf)).size).toBe(SYMPTOMS.length);
  expect(SYMPTOMS.filter((name) => headOf(name) === name)).toEqual(['purge', 'vent']);
  expect(groups(SYMPTOMS).reduce((sum, { span }) => sum + span, 0)).toBe(SYMPTOMS.length);
  expect(groups(SYMPTOMS)[0]).toEqual({ group: 'Pump-down', span: 5 });
});

test('a figure of a gas line names the gas, and the line where the gas has no name', () => {
  expect(ofWhat({ ...exampleDriftCell(), line: 2, gas: 'CF4', recipe: 'DSM-PI-25' })).toBe('CF4, DSM-PI-25');
  expect(ofWhat({ ...exampleDriftCell(), line: 2, gas: null })).toBe('gas 2');
});

test('the address of a chart leads back to the same chart, whatever the recipe is called', () => {
  const choice = { chamber: 'PC-07', recipe: 'A&B/25 %', measure: 'flow-zero', line: '2' };
  const [path = '', search = ''] = driftAddress(choice).split(/(?=\?)/);
  expect(pageOf(path, search)).toEqual({ name: 'drift', chart: choice });
  expect(pageOf('/drift')).toEqual({ name: 'drift', chart: null });
  expect(pageOf('/drift/x')).toEqual({ name: 'unknown' });
});

test('a silence longer than the gap parts the line, a missing value too; values are in the unit shown', () => {
  const points = withGaps(
    [
      { at: 0, value: 2 },
      { at: DAY, value: null },
      { at: 2 * DAY, value: 3 },
      { at: 9 * DAY, value: 4 },
    ],
    { gain: 10, longestGapMs: 4 * DAY },
  );
  expect(points).toEqual([
    { x: 0, y: 20 },
    { x: DAY, y: NaN },
    { x: 2 * DAY, y: 30 },
    { x: 5.5 * DAY, y: NaN },
    { x: 9 * DAY, y: 40 },
  ]);
});

test('runs, their moving average and the sister chambers are drawn, each once', () => {
  const answer = exampleChamberDrift();
  const sets = driftDatasets(answer, answer.chart!, frame.nameOf);
  expect(sets.map(({ label }) => label)).toEqual(['PC-02', 'run', 'moving average']);
  expect(sets.map(({ data }) => data.length)).toEqual([1, 1, 1]);
  expect(driftOptions(answer, answer.chart!, frame).plugins?.map(({ id }) => id)).toEqual(['limits', 'marks']);
});

test('the axis holds every run and both limits, and a sister far away does not stretch it', () => {
  const answer = exampleChamberDrift();
  const { min = NaN, max = NaN } = shownRange(answer.chart!);
  expect(min).toBeLessThan(101.6);
  expect(max).toBeGreaterThan(115);
  expect(max).toBeLessThan(120);
  expect(shownRange({ ...answer.chart!, points: [], limits: null })).toEqual({});
});

test.each([1, 9, 40, 300, 2000])('%d days have between two and eleven ticks', (days) => {
  const ticks = dayTicks(0, days * DAY);
  expect(ticks.length).toBeGreaterThanOrEqual(2);
  expect(ticks.length).toBeLessThanOrEqual(11);
});
