/**
 * Fewer points for a line on a screen, without hiding what the line did.
 * [TH1] A series that fits is not touched.
 * [TH2] A longer one is cut into equal stretches of time, and of each stretch its least and its largest value remain, in order of time.
 * [TH3] A gap stays a gap: a stretch with a missing value keeps one, between the values around it.
 * [TH4] The first and the last point remain; there are never more points than asked for.
 */
export type Series = { readonly at: readonly number[]; readonly value: readonly (number | null)[] };

/** Least, largest, one gap. */
const PER_STRETCH = 3;

/** [TH1]-[TH4] `series` ascending in time; `maxPoints` at least 5. */
export function thinned(series: Series, maxPoints: number): { at: number[]; value: (number | null)[] } {
  const { at, value } = series;
  if (at.length <= maxPoints) return { at: [...at], value: [...value] };
  const stretches = Math.max(1, Math.floor((maxPoints - 2) / PER_STRETCH));
  const [first, last] = [at[0] as number, at.at(-1) as number];
  const lengthMs = (last - first) / stretches;
  const kept = new Set([0, at.length - 1]);
  let start = 0;
  for (let n = 1; n <= stretches; n++) {
    const until = n === stretches ? Infinity : first + n * lengthMs;
    let end = start;
    while (end < at.length && (at[end] as number) < until) end++;
    for (const index of marks(value, start, end)) kept.add(index);
    start = end;
  }
  const order = [...kept].sort((a, b) => a - b);
  return { at: order.map((i) => at[i] as number), value: order.map((i) => value[i] ?? null) };
}

/** [TH2] [TH3] The indexes worth keeping of [start, end). */
function marks(value: Series['value'], start: number, end: number): readonly number[] {
  let [least, largest, gap] = [-1, -1, -1];
  for (let i = start; i < end; i++) {
    const v = value[i] ?? null;
    if (v === null) {
      if (gap < 0) gap = i;
      continue;
    }
    if (least < 0 || v < (value[least] as number)) least = i;
    if (largest < 0 || v > (value[largest] as number)) largest = i;
  }
  return [least, largest, gap].filter((index) => index >= 0);
}
