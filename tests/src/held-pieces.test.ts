import fc from 'fast-check';
import { expect, test } from 'vitest';
import { heldPieces, isWhole, largestOf, leastOf, lengthMs, meanOf, medianOf, paired, samplesIn, usualOf } from '../../src/held-pieces.ts';
import { integral, type Sample } from '../../src/integral.ts';

const words = (...told: readonly (readonly [number, number | null])[]): Sample[] => told.map(([s, value]) => ({ at: 1000 * s, value }));
const s = (from: number, to: number) => ({ from: 1000 * from, to: 1000 * to });
const shown = (pieces: readonly { from: number; to: number; value: number }[]) =>
  pieces.map(({ from, to, value }) => [from / 1000, to / 1000, value]);

test('[HP1] a value holds from its word to the next, from before the span and on to its end; nothing is known before the first word', () => {
  const told = words([0, 5], [10, 7], [20, 5]);
  expect(shown(heldPieces(told, s(4, 30)))).toEqual([
    [4, 10, 5],
    [10, 20, 7],
    [20, 30, 5],
  ]);
  expect(shown(heldPieces(told, s(-9, 3)))).toEqual([[0, 3, 5]]);
  expect(heldPieces([], s(0, 1))).toEqual([]);
  expect(heldPieces(undefined, s(0, 1))).toEqual([]);
});

test('[HP2] a hole of 10 s is bridged, one of more is left out, also when the span begins in it', () => {
  expect(shown(heldPieces(words([0, 1], [5, null], [15, 2]), s(0, 20)))).toEqual([
    [0, 15, 1],
    [15, 20, 2],
  ]);
  expect(shown(heldPieces(words([0, 1], [5, null], [16, 2]), s(0, 20)))).toEqual([
    [0, 5, 1],
    [16, 20, 2],
  ]);
  expect(shown(heldPieces(words([0, 1], [5, null], [7, null], [15, 2]), s(6, 20)))).toEqual([
    [6, 15, 1],
    [15, 20, 2],
  ]);
  expect(shown(heldPieces(words([0, 1], [5, null], [40, 2]), s(6, 20)))).toEqual([]);
});

test('[HP2] pieces know exactly what the integral knows', () => {
  const sample = fc.tuple(fc.integer({ min: 1, max: 8000 }), fc.option(fc.integer({ min: -50, max: 50 }), { freq: 4, nil: null }));
  fc.assert(
    fc.property(fc.array(sample, { maxLength: 30 }), fc.integer({ min: 0, max: 60_000 }), (steps, from) => {
      let at = 0;
      const samples = steps.map(([gap, value]): Sample => ({ at: (at += gap), value }));
      const span = { from, to: from + 40_000 };
      const pieces = heldPieces(samples, span);
      const { known, unobservedMs } = integral(samples, span, 'on-change');
      expect(lengthMs(pieces)).toBe(span.to - span.from - unobservedMs);
      expect(pieces.reduce((sum, { from, to, value }) => sum + (value * (to - from)) / 1000, 0)).toBeCloseTo(known, 9);
      expect(heldPieces(samplesIn(samples, span), span)).toEqual(pieces);
    }),
    { seed: 4, numRuns: 500 },
  );
});

test('[HP2] what is cut out for a span knows how long the hole at its end is', () => {
  const told = words([0, 1], [5, null], [7, null], [8, null], [12, 2], [13, 3]);
  expect(heldPieces(samplesIn(told, s(2, 6)), s(2, 6))).toEqual(heldPieces(told, s(2, 6)));
  expect(samplesIn(told, s(2, 6)).at(-1)?.value).toBe(2);
});

test('[HP3] mean and median are weighted by time, and of nothing known there is none', () => {
  const pieces = heldPieces(words([0, 10], [1, 20], [10, 30]), s(0, 12));
  expect([meanOf(pieces), medianOf(pieces), leastOf(pieces), largestOf(pieces), usualOf(pieces)]).toEqual([250 / 12, 20, 10, 30, 20]);
  expect([meanOf([]), medianOf([]), leastOf([]), largestOf([]), usualOf([])]).toEqual([null, null, null, null, null]);
});

test('[HP3] two signals are paired where both are known', () => {
  const pairs = paired(heldPieces(words([0, 1], [10, 2]), s(0, 20)), heldPieces(words([5, 7], [12, null], [30, 1]), s(0, 20)));
  expect(pairs).toEqual([
    { ...s(5, 10), a: 1, b: 7 },
    { ...s(10, 12), a: 2, b: 7 },
  ]);
  expect(isWhole(pairs, s(5, 12))).toBe(true);
});
