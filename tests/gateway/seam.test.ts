import { describe, expect, test } from 'vitest';
import { Seam } from '../../gateway/seam.ts';
import type { ChamberState } from '../../src/chamber-state.ts';
import type { Reading } from '../../src/reading.ts';

const alive = (receivedAt: number, value: boolean, at = receivedAt, chamber = 'PC-01'): Reading => ({
  chamber,
  signal: 'link.alive',
  value,
  quality: 'good',
  at,
  timeOrigin: 'receipt',
  receivedAt,
});
const value = (at: number, receivedAt: number): Reading => ({ ...alive(receivedAt, true, at), signal: 'chamber.pressure', value: 5 });
const knownTo = (now: number) => new Map([['PC-01', { now } as ChamberState]]);
const closed = (now: number, ...waiting: readonly Reading[]): Seam => {
  const seam = new Seam();
  seam.close(knownTo(now), waiting);
  return seam;
};

describe('the seam between a stored past and the first live words', () => {
  test('is closed for a chamber whose past reaches beyond the first word of the link', () => {
    expect(closed(100, alive(90, false), alive(95, true), alive(102, true)).hasClosed('PC-01')).toBe(true);
    expect(closed(95, alive(95, true)).hasClosed('PC-01')).toBe(true);
  });

  test('stays open when time passed between them, when the link is silent again, or when nobody listened', () => {
    expect(closed(94, alive(95, true)).hasClosed('PC-01')).toBe(false);
    expect(closed(100, alive(95, true), alive(99, false)).hasClosed('PC-01')).toBe(false);
    expect(closed(100, alive(90, false)).hasClosed('PC-01')).toBe(false);
    expect(closed(100).hasClosed('PC-01')).toBe(false);
    expect(closed(100, alive(95, true, 95, 'PC-02')).hasClosed('PC-02')).toBe(false);
  });

  test('what was received while the past was still told is known; a slow device clock makes nothing known that came later', () => {
    const seam = closed(100, alive(95, true));
    expect(seam.isKnown(value(96, 97))).toBe(true);
    expect(seam.isKnown(value(20, 100))).toBe(true);
    expect(seam.isKnown(value(20, 101))).toBe(false);
    expect(closed(94, alive(95, true)).isKnown(value(20, 30))).toBe(false);
  });
});
