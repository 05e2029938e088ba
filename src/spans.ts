/**
 * Lists of spans, in one walk however long they are.
 * [SH1] United, any lists of spans are one ascending list without overlap; spans that touch are one.
 * [SH2] What is left of ascending spans outside others keeps all that its span says.
 */
import type { Span } from './calendar.ts';

/** [SH1] */
export function united(...lists: readonly (readonly Span[])[]): readonly Span[] {
  const all = lists.flat().sort((a, b) => a.from - b.from);
  const out: { from: number; to: number }[] = [];
  for (const { from, to } of all) {
    const last = out.at(-1);
    if (last !== undefined && from <= last.to) last.to = Math.max(last.to, to);
    else out.push({ from, to });
  }
  return out;
}

/** [SH2] `spans` ascending by their begin, without overlap. */
export function outside<T extends Span>(spans: readonly T[], others: readonly Span[]): readonly T[] {
  const holes = united(others);
  const out: T[] = [];
  let next = 0;
  for (const span of spans) {
    while (next < holes.length && (holes[next] as Span).to <= span.from) next++;
    let at = span.from;
    for (let i = next; i < holes.length && (holes[i] as Span).from < span.to; i++) {
      const hole = holes[i] as Span;
      if (hole.from > at) out.push({ ...span, from: at, to: hole.from });
      at = hole.to;
    }
    if (at < span.to) out.push({ ...span, from: at });
  }
  return out;
}
