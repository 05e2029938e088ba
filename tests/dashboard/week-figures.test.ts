import { expect, test } from 'vitest';
import { weekPage } from '../../src/numbers.ts';
import { axisTop, lineRuns, mostHit, spreadAxisMs, stack, utilizationMarks } from '../../dashboard/week-figures.ts';
import { weekOf } from '../e2e/fixture-week.ts';

const page = weekOf(12);

test('the fixture week is a week the wire accepts', () => {
  expect(weekPage.safeParse(page).error).toBeUndefined();
});

test('the pieces of a bar fill it exactly, unobserved time included', () => {
  for (const chamber of page.chambers) {
    const pieces = stack(chamber.time);
    expect(pieces.reduce((sum, piece) => sum + piece.ms, 0)).toBe(168 * 3_600_000);
    expect(pieces.reduce((sum, piece) => sum + piece.width, 0)).toBeCloseTo(1, 12);
    expect(pieces.map((piece) => piece.state)).toContain('unobserved');
  }
});

test('a week without a stated share is a gap in the line but keeps its band', () => {
  const marks = utilizationMarks(page, null);
  expect(marks[2]).toMatchObject({ value: null });
  expect(marks[2]!.high! - marks[2]!.low!).toBeCloseTo(0.3, 9);
  expect(lineRuns(marks)).toEqual([
    [0, 1],
    [3, 4, 5, 6],
  ]);
});

test('this week comes last', () => {
  const marks = utilizationMarks(page, 'PC-01');
  expect(marks.at(-1)).toMatchObject({ week: '2026-W48', isThis: true });
  expect(utilizationMarks(page, 'unknown').every((m) => m.value === null)).toBe(true);
});

test('axes end where all marks fit', () => {
  expect(axisTop(utilizationMarks(page, null))).toBe(0.75);
  expect(axisTop([])).toBe(0.25);
  expect(spreadAxisMs([{ n: 3, p10: 1, p50: 2, p90: 84 * 60_000 }, null])).toBe(90 * 60_000);
  expect(spreadAxisMs([])).toBe(600_000);
});

test('a loss names the chamber that lost most', () => {
  expect(
    mostHit([
      { chamber: 'a', lostMs: 1 },
      { chamber: 'b', lostMs: 5 },
    ]),
  ).toEqual({ chamber: 'b', others: 1 });
  expect(mostHit([])).toBeNull();
});
