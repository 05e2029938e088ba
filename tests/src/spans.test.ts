import { expect, test } from 'vitest';
import type { Span } from '../../src/calendar.ts';
import { outside, united } from '../../src/spans.ts';
import { random } from './random-history.ts';

const spans = (dice: () => number, most: number): Span[] =>
  Array.from({ length: Math.floor(dice() * most) }, () => {
    const from = Math.floor(dice() * 60);
    return { from, to: from + 1 + Math.floor(dice() * 8) };
  });
const covered = (list: readonly Span[]): boolean[] =>
  Array.from({ length: 80 }, (_, at) => list.some(({ from, to }) => from <= at && at < to));

/** One span after the other against all others, as it would be written first. */
function outsideOneByOne<T extends Span>(whole: T, others: readonly Span[]): T[] {
  const out: T[] = [];
  let at = whole.from;
  for (const span of others) {
    if (span.to <= at || span.from >= whole.to) continue;
    if (span.from > at) out.push({ ...whole, from: at, to: span.from });
    at = Math.max(at, span.to);
  }
  if (at < whole.to) out.push({ ...whole, from: at });
  return out;
}

test('[SH1] 500 random lists united cover the same moments, ascending and apart', () => {
  const dice = random(1);
  for (let i = 0; i < 500; i++) {
    const [a, b] = [spans(dice, 8), spans(dice, 8)];
    const all = united(a, b);
    expect(covered(all)).toEqual(covered([...a, ...b]));
    all.slice(1).forEach((span, k) => expect(span.from).toBeGreaterThan((all[k] as Span).to));
  }
});

test('[SH2] 500 random lists in one walk leave what one span after the other does', () => {
  const dice = random(2);
  for (let i = 0; i < 500; i++) {
    const whole = united(spans(dice, 10)).map((span, name) => ({ ...span, name }));
    const others = spans(dice, 10).sort((a, b) => a.from - b.from);
    expect(outside(whole, others)).toEqual(whole.flatMap((span) => outsideOneByOne(span, others)));
  }
});
