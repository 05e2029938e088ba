import { describe, expect, test } from 'vitest';
import { sharedRows } from '../../../gateway/reports/rows.ts';

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
