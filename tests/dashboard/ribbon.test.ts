import { expect, test } from 'vitest';
import type { RunStretch } from '../../src/contract.ts';
import { ribbon, runSteps, type DrawnRun } from '../../dashboard/ribbon.ts';

const stretch = (phase: RunStretch['phase'], from: number, to: number, expected: boolean): RunStretch => ({
  phase,
  step: phase === 'plasma' ? 1 : null,
  from,
  to,
  expected,
});
/** As the gateway tells it: what was done of the running stretch ends where what is expected of it begins. */
const run = [
  stretch('pump-down', 100, 200, false),
  stretch('plasma', 200, 400, false),
  stretch('plasma', 400, 700, true),
  stretch('vent', 700, 1100, true),
];
const drawing = (stretches: readonly RunStretch[], holes: DrawnRun['holes'] = []): DrawnRun => ({ stretches, holes });
const plasma = { phase: 'plasma', step: 1 } as const;

test('widths are shares of the time of the run and fill it without a hole', () => {
  const drawn = ribbon(drawing(run), 450, plasma)!;
  expect(drawn.pieces.map((p) => p.width)).toEqual([0.1, 0.5, 0.4]);
  expect(drawn.pieces.map((p) => p.start)).toEqual([0, 0.1, 0.6]);
});

test('the edge is now, and each piece knows how much of it is past', () => {
  const drawn = ribbon(drawing(run), 450, plasma)!;
  expect(drawn.now).toBeCloseTo(0.35, 12);
  expect(drawn.pieces.map((p) => p.done)).toEqual([1, 0.5, 0]);
});

test('done and expected parts of one stretch are one step, and that one is running', () => {
  expect(runSteps(run, plasma).map((s) => [s.phase, s.from, s.to, s.when])).toEqual([
    ['pump-down', 100, 200, 'past'],
    ['plasma', 200, 700, 'now'],
    ['vent', 700, 1100, 'ahead'],
  ]);
});

test('a stretch that takes longer than expected holds the edge: the next is not begun by the clock', () => {
  const drawn = ribbon(drawing(run), 900, plasma)!;
  expect(drawn.now).toBeCloseTo(0.6, 12);
  expect(drawn.pieces.map((p) => p.done)).toEqual([1, 1, 0]);
});

test('a finished run is all past', () => {
  const done = run.map((s) => ({ ...s, expected: false }));
  expect(ribbon(drawing(done), 5000, { phase: 'wait-unload', step: null })!.now).toBe(1);
  expect(runSteps(done, { phase: 'wait-unload', step: null }).every((s) => s.when === 'past')).toBe(true);
});

test('a run that nothing is known of yet ends at now, and no run draws nothing', () => {
  const begun = [stretch('pump-down', 100, 200, false)];
  expect(ribbon(drawing(begun), 260, { phase: 'pump-down', step: null })).toMatchObject({ now: 1 });
  expect(ribbon(drawing([]), 450, plasma)).toBeNull();
});

test('what nobody observed has its own place, inside a step or across two, and none outside the run', () => {
  const holes = [
    { from: 50, to: 150 },
    { from: 300, to: 320 },
    { from: 1100, to: 1200 },
  ];
  const unseen = ribbon(drawing(run, holes), 450, plasma)!.unseen;
  expect(unseen).toHaveLength(2);
  expect(unseen[0]).toEqual({ start: 0, width: 0.05 });
  expect(unseen[1]!.start).toBeCloseTo(0.2, 12);
  expect(unseen[1]!.width).toBeCloseTo(0.02, 12);
});
