/**
 * When an alarm's condition was active, activation by activation: what chattering, fleeting and delays are judged by.
 * [AP1] Of counted activations in the window. One is known to its end when it was seen to clear and the chamber was observed all the while.
 * [AP2] Of any other only the part up to its next word, the next unobserved time or the end of the window is known, and its end is not.
 */
import { isActivation } from './activation.ts';
import type { Span } from './calendar.ts';
import { type AlarmFact, firstAt } from './facts.ts';

export type ActiveSpan = Span & {
  /** It was seen to clear at `to`. */
  readonly isKnown: boolean;
  /** Somebody acknowledged it before it cleared. */
  readonly acknowledged: boolean;
};

/** [AP1] [AP2] One alarm's facts, ascending; `unseen` in order. */
export function activeSpans(facts: readonly AlarmFact[], window: Span, unseen: readonly Span[]): readonly ActiveSpan[] {
  const out: ActiveSpan[] = [];
  const end = firstAt(facts, window.to);
  for (let i = firstAt(facts, window.from); i < end; i++) {
    const fact = facts[i] as AlarmFact;
    if (isActivation(fact)) out.push(spanOf(facts, i, { unseen, until: window.to }));
  }
  return out;
}

function spanOf(facts: readonly AlarmFact[], index: number, { unseen, until }: { unseen: readonly Span[]; until: number }): ActiveSpan {
  const from = (facts[index] as AlarmFact).at;
  let [next, acknowledged] = [index + 1, false];
  for (; isBetween(facts[next]?.change); next++) acknowledged ||= isAnswer(facts[next]);
  const word = facts[next];
  const to = word?.at ?? until;
  const hole = unseen.find((span) => span.to > from && span.from < to);
  const isKnown = word?.change === 'cleared' && hole === undefined;
  return { from, to: isKnown ? to : Math.max(from, Math.min(to, hole?.from ?? to, until)), isKnown, acknowledged };
}

/** Neither begin nor end. */
const isBetween = (change: AlarmFact['change'] | undefined): boolean =>
  change !== undefined && change !== 'activated' && change !== 'cleared';
const isAnswer = (fact: AlarmFact | undefined): boolean => fact?.change === 'acknowledged' && fact.of === undefined;
