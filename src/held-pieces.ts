/**
 * A signal that is told when it changes, as pieces of time in which it was one value: what every figure of a run record is made of.
 * [HP1] Between two words the value holds; nothing is known before the first word, and the last word holds on.
 * [HP2] A null begins a hole; one of up to 10 s is bridged by the value before it, a longer one is left out (as in integral.ts).
 * [HP3] Least, largest and median are of the known pieces alone, the mean and the median weighted by time; of nothing known they are null.
 */
import type { Span } from './calendar.ts';
import { LONGEST_BRIDGE_MS, type Sample } from './integral.ts';

export type Piece = { readonly from: number; readonly to: number; readonly value: number };
export type Pair = { readonly from: number; readonly to: number; readonly a: number; readonly b: number };

const NOTHING: readonly Sample[] = [];

/** [HP1] [HP2] `samples` ascending, beginning before the span where they can. Pieces are in order, inside the span, and longer than nothing. */
export function heldPieces(samples: readonly Sample[] = NOTHING, { from, to }: Span): readonly Piece[] {
  const pieces: Piece[] = [];
  for (let i = opening(samples, from); i < samples.length; i++) {
    const { at, value } = samples[i] as Sample;
    if (at >= to) break;
    if (value === null) continue;
    const [begin, end] = [Math.max(at, from), Math.min(heldUntil(samples, i), to)];
    if (end > begin) pieces.push({ from: begin, to: end, value });
  }
  return pieces;
}

/** The samples that decide what holds in the span: those inside, the last known before it, and what tells how long a hole at its end is. */
export function samplesIn(samples: readonly Sample[] = NOTHING, { from, to }: Span): readonly Sample[] {
  let end = firstAtOrAfter(samples, to);
  while (samples[end]?.value === null) end += 1;
  return samples.slice(opening(samples, from), end + 1);
}

/** Index of the last known value told at or before `at`, or of the first sample. */
function opening(samples: readonly Sample[], at: number): number {
  let i = firstAtOrAfter(samples, at + 1) - 1;
  while (i > 0 && (samples[i] as Sample).value === null) i -= 1;
  return Math.max(0, i);
}

function firstAtOrAfter(samples: readonly Sample[], at: number): number {
  let [low, high] = [0, samples.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((samples[middle] as Sample).at < at) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** [HP2] */
function heldUntil(samples: readonly Sample[], i: number): number {
  const next = samples[i + 1];
  if (next === undefined) return Infinity;
  if (next.value !== null) return next.at;
  let resumed = i + 2;
  while (samples[resumed]?.value === null) resumed += 1;
  const resumedAt = samples[resumed]?.at ?? Infinity;
  return resumedAt - next.at <= LONGEST_BRIDGE_MS ? resumedAt : next.at;
}

/** The times in which both are known, with both values. */
export function paired(a: readonly Piece[], b: readonly Piece[]): readonly Pair[] {
  const pairs: Pair[] = [];
  for (let [i, j] = [0, 0]; i < a.length && j < b.length;) {
    const [left, right] = [a[i] as Piece, b[j] as Piece];
    const [from, to] = [Math.max(left.from, right.from), Math.min(left.to, right.to)];
    if (to > from) pairs.push({ from, to, a: left.value, b: right.value });
    if (left.to <= right.to) i += 1;
    else j += 1;
  }
  return pairs;
}

/** Stretches in which it holds, those that touch joined. */
export function spansWhere<Timed extends Span>(pieces: readonly Timed[], holds: (piece: Timed) => boolean): readonly Span[] {
  const spans: Span[] = [];
  for (const piece of pieces) {
    if (!holds(piece)) continue;
    const last = spans.at(-1);
    if (last?.to === piece.from) spans[spans.length - 1] = { from: last.from, to: piece.to };
    else spans.push({ from: piece.from, to: piece.to });
  }
  return spans;
}

/** The parts of the spans inside a window. */
export const within = (spans: readonly Span[], { from, to }: Span): readonly Span[] =>
  spans.map((span) => ({ from: Math.max(span.from, from), to: Math.min(span.to, to) })).filter((span) => span.to > span.from);

export const lengthMs = (spans: readonly Span[]): number => spans.reduce((sum, { from, to }) => sum + to - from, 0);

/** Known from begin to end. */
export const isWhole = (pieces: readonly Span[], span: Span): boolean => lengthMs(pieces) === span.to - span.from;

/** [HP3] */
export function meanOf(pieces: readonly Piece[]): number | null {
  const ms = lengthMs(pieces);
  return ms === 0 ? null : pieces.reduce((sum, { from, to, value }) => sum + value * (to - from), 0) / ms;
}

/** [HP3] */
export const leastOf = (pieces: readonly Piece[]): number | null =>
  pieces.reduce((least: number | null, { value }) => (least === null || value < least ? value : least), null);

/** [HP3] */
export const largestOf = (pieces: readonly Piece[]): number | null =>
  pieces.reduce((largest: number | null, { value }) => (largest === null || value > largest ? value : largest), null);

/** [HP3] The value that half of the known time lies at or below. */
export function medianOf(pieces: readonly Piece[]): number | null {
  const sorted = pieces.toSorted((a, b) => a.value - b.value);
  let left = lengthMs(sorted) / 2;
  return sorted.find(({ from, to }) => (left -= to - from) <= 0)?.value ?? null;
}

/** The value that held for the longest time in sum. */
export function usualOf(pieces: readonly Piece[]): number | null {
  const held = new Map<number, number>();
  for (const { from, to, value } of pieces) held.set(value, (held.get(value) ?? 0) + to - from);
  return [...held].reduce((best: [number, number] | null, one) => (best === null || one[1] > best[1] ? one : best), null)?.[0] ?? null;
}
