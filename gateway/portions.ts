/** A long window in portions of a day, so that no one question holds years in memory at once and nobody else waits for it. */
import type { Span } from '../src/calendar.ts';
import { DAY_MS } from '../src/zone.ts';

/** From the end of the window back to its begin. */
export function* portionsBack({ from, to }: Span, lengthMs = DAY_MS): Generator<Span> {
  for (let end = to; end > from; end -= lengthMs) yield { from: Math.max(from, end - lengthMs), to: end };
}

/** From the begin of the window on. */
export function* portions({ from, to }: Span, lengthMs = DAY_MS): Generator<Span> {
  for (let begin = from; begin < to; begin += lengthMs) yield { from: begin, to: Math.min(to, begin + lengthMs) };
}

/** The first rows of portions; nothing is read beyond them. */
export async function firstRows<Row>(rows: AsyncIterable<readonly Row[]>, limit: number): Promise<readonly Row[]> {
  const first: Row[] = [];
  for await (const portion of rows) {
    for (const row of portion) first.push(row);
    if (first.length >= limit) break;
  }
  return first.slice(0, limit);
}
