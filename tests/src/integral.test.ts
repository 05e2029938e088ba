import { describe, expect, test } from 'vitest';
import { integral } from '../../src/integral.ts';
import type { Sample } from '../../src/integral.ts';

const S = 1000;
const every = (stepS: number, untilS: number, f: (s: number) => number): Sample[] =>
  Array.from({ length: untilS / stepS + 1 }, (_, i) => ({ at: i * stepS * S, value: f(i * stepS) }));

describe('integral of a sampled signal', () => {
  test('[IG1] periodic samples of a ramp are exact whatever their period: 0 to 100 over 100 s is 5000 (by hand)', () => {
    for (const stepS of [1, 2, 5, 10])
      expect(
        integral(
          every(stepS, 100, (s) => s),
          { from: 0, to: 100 * S },
          'periodic',
        ).value,
      ).toBeCloseTo(5000, 9);
  });

  test('[IG1] periodic samples of s² over 60 s: 72,000, and above it by 10 h² for a period of h seconds (trapezoid error h²/12 · 2 · 60, textbook)', () => {
    for (const h of [1, 2, 5])
      expect(
        integral(
          every(h, 60, (s) => s ** 2),
          { from: 0, to: 60 * S },
          'periodic',
        ).value,
      ).toBeCloseTo(72_000 + 10 * h ** 2, 6);
  });

  test('[IG1] of values told on change the last one holds: 100 for 7 s and 40 for 53 s is 2820 (by hand)', () => {
    const told = [
      { at: -5 * S, value: 100 },
      { at: 7 * S, value: 40 },
    ];
    expect(integral(told, { from: 0, to: 60 * S }, 'on-change')).toEqual({ value: 2820, known: 2820, unobservedMs: 0 });
  });

  test('[IG1] a span that begins and ends between samples takes the line between them', () => {
    expect(
      integral(
        every(4, 20, (s) => s),
        { from: 2 * S, to: 15 * S },
        'periodic',
      ).value,
    ).toBeCloseTo((15 ** 2 - 2 ** 2) / 2, 9);
  });

  test('[IG2] ten seconds between periodic samples are bridged, eleven are refused, and what was seen is still told', () => {
    const with11 = [
      { at: 0, value: 10 },
      { at: 5 * S, value: 10 },
      { at: 16 * S, value: 10 },
      { at: 20 * S, value: 10 },
    ];
    expect(integral(with11, { from: 0, to: 20 * S }, 'periodic')).toEqual({ value: null, known: 90, unobservedMs: 11 * S });
    const with10 = with11.map(({ at, value }) => ({ at: Math.min(at, at - (at > 5 * S ? S : 0)), value }));
    expect(integral(with10, { from: 0, to: 19 * S }, 'periodic').value).toBeCloseTo(190, 9);
  });

  test('[IG2] a word that nothing is known begins a hole: of ten seconds it is bridged, of eleven it is refused', () => {
    const told = (untilS: number): Sample[] => [
      { at: 0, value: 10 },
      { at: 20 * S, value: null },
      { at: 24 * S, value: null },
      { at: untilS * S, value: 30 },
    ];
    expect(integral(told(30), { from: 0, to: 40 * S }, 'on-change').value).toBe(10 * 30 + 30 * 10);
    expect(integral(told(31), { from: 0, to: 40 * S }, 'on-change')).toEqual({ value: null, known: 200 + 270, unobservedMs: 11 * S });
    expect(
      integral(
        [
          { at: 0, value: 10 },
          { at: 20 * S, value: null },
        ],
        { from: 0, to: 25 * S },
        'on-change',
      ).value,
    ).toBeNull();
    const periodic = [
      { at: 0, value: 1 },
      { at: 4 * S, value: null },
      { at: 12 * S, value: 1 },
    ];
    expect(integral(periodic, { from: 0, to: 12 * S }, 'periodic').value).toBeNull();
    expect(integral(periodic.toSpliced(2, 1, { at: 10 * S, value: 1 }), { from: 0, to: 10 * S }, 'periodic').value).toBe(10);
  });

  test('[IG3] nothing is known before the first word told on change, and nothing further than 10 s from a periodic sample', () => {
    expect(integral([{ at: 3 * S, value: 10 }], { from: 0, to: 5 * S }, 'on-change')).toEqual({
      value: null,
      known: 20,
      unobservedMs: 3 * S,
    });
    const late = [
      { at: 8 * S, value: 10 },
      { at: 12 * S, value: 10 },
    ];
    expect(integral(late, { from: 0, to: 20 * S }, 'periodic').value).toBe(200);
    expect(integral(late, { from: -3 * S, to: 20 * S }, 'periodic')).toEqual({ value: null, known: 120, unobservedMs: 11 * S });
    expect(integral(late, { from: 0, to: 23 * S }, 'periodic').unobservedMs).toBe(11 * S);
    expect(integral([], { from: 0, to: 5 * S }, 'periodic')).toEqual({ value: null, known: 0, unobservedMs: 5 * S });
  });
});
