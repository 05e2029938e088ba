/**
 * The integral of a sampled signal over a span of time, and how much of the span it knows.
 * [IG1] Between periodic samples the value goes straight from one to the next (trapezoid); of values told on change the last one holds.
 * [IG2] A null value begins a hole, and of periodic samples so does a next one too far away. A hole of up to 10 s is bridged by the same rule;
 *       a longer one is refused, and the whole integral with it: `value` is null, `known` is what was seen outside the holes.
 * [IG3] At the ends of the span the nearest periodic sample is taken for at most 10 s. What is told on change holds on to the end, and nothing
 *       is known before the first word.
 * (Hole limit and rules: trade practice, no standard.)
 */
import type { Span } from './calendar.ts';

export const LONGEST_BRIDGE_MS = 10_000;

export type Sample = { readonly at: number; readonly value: number | null };
export type Sampling = 'periodic' | 'on-change';
type Integral = {
  /** In the unit of the samples times seconds. */
  readonly value: number | null;
  readonly known: number;
  readonly unobservedMs: number;
};
type Known = { readonly at: number; readonly value: number };
/** A straight line between two instants. */
type Piece = readonly [Known, Known];

/** `samples` ascending, beginning before the span where they can. */
export function integral(samples: readonly Sample[], span: Span, sampling: Sampling): Integral {
  let [known, observedMs] = [0, 0];
  for (const piece of sampling === 'periodic' ? sloped(samples, span) : held(samples, span)) {
    const from = Math.max(piece[0].at, span.from);
    const to = Math.min(piece[1].at, span.to);
    if (to <= from) continue;
    known += (((valueAt(piece, from) + valueAt(piece, to)) / 2) * (to - from)) / 1000;
    observedMs += to - from;
  }
  const unobservedMs = span.to - span.from - observedMs;
  return { value: unobservedMs > 0 ? null : known, known, unobservedMs };
}

/** [IG1] [IG2] [IG3] Periodic. */
function sloped(samples: readonly Sample[], { from, to }: Span): readonly Piece[] {
  const seen = samples.filter(isKnown);
  const [first, last] = [seen[0], seen.at(-1)];
  const lead = first && first.at > from ? [{ at: from, value: first.value }] : [];
  const tail = last && last.at < to ? [{ at: to, value: last.value }] : [];
  const line = [...lead, ...seen, ...tail];
  return line.slice(1).flatMap((next, i): Piece[] => {
    const before = line[i] as Known;
    return next.at - before.at <= LONGEST_BRIDGE_MS ? [[before, next]] : [];
  });
}

/** [IG1] [IG2] [IG3] On change. */
function held(samples: readonly Sample[], { to }: Span): readonly Piece[] {
  return samples.flatMap((sample, i): Piece[] => {
    if (!isKnown(sample)) return [];
    return [[sample, { at: heldUntil(samples, i) ?? to, value: sample.value }]];
  });
}

function heldUntil(samples: readonly Sample[], i: number): number | null {
  const next = samples[i + 1];
  if (next === undefined || isKnown(next)) return next?.at ?? null;
  let resumed = i + 2;
  while (samples[resumed]?.value === null) resumed += 1;
  const resumedAt = samples[resumed]?.at ?? Infinity;
  return resumedAt - next.at <= LONGEST_BRIDGE_MS ? resumedAt : next.at;
}

const isKnown = (sample: Sample): sample is Known => sample.value !== null;

function valueAt([start, end]: Piece, at: number): number {
  return start.value + ((end.value - start.value) * (at - start.at)) / (end.at - start.at);
}
