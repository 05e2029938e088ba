/**
 * Fewer points for a line that is redrawn four times a second, without hiding what it did: of each stretch of fixed clock time the least and the
 * largest value and any gap remain, and of a value that does not change only its ends. Stretches lie on the clock, not on the window, so that
 * a line that moves left does not shimmer.
 */
import type { Sample } from './trace-window.ts';

export const STRETCH_MS = 5_000;

export function thin(samples: readonly Sample[]): Sample[] {
  const kept: Sample[] = [];
  let start = 0;
  while (start < samples.length) {
    const stretch = Math.floor((samples[start] as Sample).at / STRETCH_MS);
    let end = start + 1;
    while (end < samples.length && Math.floor((samples[end] as Sample).at / STRETCH_MS) === stretch) end += 1;
    for (const i of marks(samples, start, end)) keep(kept, samples[i] as Sample);
    start = end;
  }
  const last = samples.at(-1);
  if (last && kept.at(-1) !== last) keep(kept, last);
  return kept;
}

/** Indexes of the least, the largest and the first missing value of [start, end), in order of time. */
function marks(samples: readonly Sample[], start: number, end: number): number[] {
  let [least, largest, gap] = [-1, -1, -1];
  for (let i = start; i < end; i++) {
    const { value } = samples[i] as Sample;
    if (value === null) gap = gap < 0 ? i : gap;
    else {
      if (least < 0 || value < ((samples[least] as Sample).value as number)) least = i;
      if (largest < 0 || value >= ((samples[largest] as Sample).value as number)) largest = i;
    }
  }
  return [...new Set([least, largest, gap].filter((i) => i >= 0))].sort((a, b) => a - b);
}

/** In the middle of three equal values nothing is lost. */
function keep(kept: Sample[], sample: Sample): void {
  const [before, last] = [kept.at(-2), kept.at(-1)];
  if (before && last && before.value === last.value && last.value === sample.value) kept.pop();
  kept.push(sample);
}
