// Paper and screen are one language: what is copied is held equal here.
import { describe, expect, test } from 'vitest';
import { axisTop as screenTop, utilizationMarks } from '../../../dashboard/week-figures.ts';
import * as screen from '../../../dashboard/format.ts';
import { STATE_INK as SCREEN_INK } from '../../../dashboard/state-ink.ts';
import { axisTop, weekMarks } from '../../../gateway/reports/figures.ts';
import { STATE_INK } from '../../../gateway/reports/ink.ts';
import { sharedRows } from '../../../gateway/reports/rows.ts';
import * as paper from '../../../gateway/reports/words.ts';
import { EQUIPMENT_STATES } from '../../../src/equipment.ts';
import { exampleWeek } from './week-fixture.ts';

describe('paper and screen', () => {
  test('each state has the same ink on both', () => {
    expect(STATE_INK).toEqual(SCREEN_INK);
  });

  test('a share reads the same on both', () => {
    const shares = [null, 0, 0.001, 0.0049, 0.005, 0.25, 0.994, 0.9951, 1];
    expect(shares.map(paper.percent)).toEqual(shares.map(screen.percent));
    const bounded = { value: null, low: 0.4, high: 0.71 };
    expect(paper.shareText(bounded)).toBe(screen.shareText(bounded));
    expect(EQUIPMENT_STATES.map(paper.stateWord)).toEqual(EQUIPMENT_STATES.map(screen.stateWord));
  });

  test('weeks are marked alike and their axis ends alike', () => {
    const page = exampleWeek();
    for (const chamber of [null, 'PC-09']) {
      expect(weekMarks(page, chamber)).toEqual(utilizationMarks(page, chamber));
      expect(axisTop(weekMarks(page, chamber))).toBe(screenTop(utilizationMarks(page, chamber)));
    }
  });
});

describe('rows shared among blocks', () => {
  const want = (least: number, wanted: number) => ({ fixed: 20, row: 10, least, wanted });

  test('everyone gets its least, then in turn what it wants, and no more than fits', () => {
    expect(sharedRows(100, [want(1, 9), want(2, 3)])).toEqual([3, 3]);
    expect(sharedRows(1000, [want(1, 9), want(2, 3)])).toEqual([9, 3]);
    expect(sharedRows(50, [want(1, 9), want(2, 3)])).toEqual([1, 2]);
  });

  test('a short list asks for no more rows than it has', () => {
    expect(sharedRows(100, [want(4, 1)])).toEqual([1]);
  });
});
