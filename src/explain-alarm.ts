/**
 * Numbers of alarms explained from the very activations.
 * [XA1] A count lists what it counted, a rate divides it by observed time; each row leads to the moment at the chamber.
 */
import { LOOK_BACK_MS, peakCount, TRAILING_MS } from './alarm-stats.ts';
import type { Span } from './calendar.ts';
import { counted, countTerm, intervalsIn, UP } from './explain-count.ts';
import { timeTerm } from './explain-time.ts';
import { amountText } from './explain-words.ts';
import type { Draft, Evidence, Term } from './explanation.ts';
import { type AlarmFact, within } from './facts.ts';
import type { AlarmNumbers } from './numbers.ts';
import type { Part } from './window.ts';

export const ALARM_SOURCE = 'in the manner of ISA-18.2: activations, without notices, suppressed alarms and those found standing';

export const activationsOf = (parts: readonly Part[], { from, to }: Span): readonly AlarmFact[] =>
  parts.flatMap(({ facts }) => within(facts.activations, from, to));
export const alarmText = ({ text, code }: AlarmFact): string => text || code;
export const alarmName = (alarm: AlarmFact): string => `${alarmText(alarm)} at ${alarm.chamber}`;

export function alarmEvidence(alarm: AlarmFact): Evidence {
  const { chamber, at, priority } = alarm;
  return { chamber, from: at, to: at, state: null, text: alarmText(alarm), counts: priority, run: null, amount: 1 };
}

/** [XA1] */
export function explainAlarms(parts: readonly Part[], window: Span): Draft {
  const list = activationsOf(parts, window);
  return counted('alarm activations', countTerm('activations', list, alarmName), {
    formula: 'alarms that became active in the window',
    source: ALARM_SOURCE,
    madeOf: list.map(alarmEvidence),
  });
}

/** [XA1] Of one alarm at one chamber; `asShare`: of all activations. */
export function explainAlarm(
  subject: { chamber: string; code: string; asShare: boolean },
  parts: readonly Part[],
  window: Span,
): Draft | null {
  const all = activationsOf(parts, window);
  const own = all.filter(({ chamber, code }) => chamber === subject.chamber && code === subject.code);
  const facts = parts.find((part) => part.facts.chamber === subject.chamber)?.facts.alarmsByCode.get(subject.code);
  const named = own[0] ?? facts?.[0];
  if (named === undefined) return null;
  const draft = counted(`activations of ${alarmName(named)}`, countTerm('activations', own, alarmName), {
    formula: 'times it became active in the window',
    source: ALARM_SOURCE,
    madeOf: own.map(alarmEvidence),
  });
  return subject.asShare
    ? { ...draft, ...shareOfAll(`share of ${alarmName(named)} in all activations`, draft, all), base: 'all activations' }
    : draft;
}

export function shareOfAll(
  words: string,
  { numerator }: Draft,
  all: readonly AlarmFact[],
): Pick<Draft, 'words' | 'unit' | 'value' | 'formula' | 'denominator'> {
  const formula = 'its activations / all activations of the window';
  const value = all.length > 0 ? (numerator?.amount ?? 0) / all.length : 0;
  return { words, unit: 'share', value, formula, denominator: all.length > 0 ? countTerm('all activations', all, alarmName) : null };
}

/** [XA1] Over the mean observed time of the chambers: what one person who watches them all sees. */
export function explainAlarmRate({ per10Min }: AlarmNumbers, parts: readonly Part[], window: Span): Draft {
  const rate = { words: 'alarms per 10 minutes', unit: 'per 10 min' as const, value: per10Min };
  return { ...explainAlarms(parts, window), ...rate, ...ratePer(TRAILING_MS, parts) };
}

export function ratePer(ms: number, parts: readonly Part[]): Pick<Draft, 'formula' | 'base' | 'scale' | 'denominator'> {
  return {
    formula: `activations x ${amountText(ms, 'ms')} / mean observed time of the chambers`,
    base: 'mean observed time of the chambers',
    scale: ms,
    denominator: meanObserved(parts),
  };
}

function meanObserved(parts: readonly Part[]): Term {
  const observed = intervalsIn(parts, [...UP, 'scheduled-downtime', 'unscheduled-downtime', 'nonscheduled']);
  const whole = timeTerm('mean observed time of a chamber', observed);
  const mean = (ms: number): number => ms / Math.max(1, parts.length);
  return { ...whole, amount: mean(whole.amount), parts: whole.parts.map((part) => ({ ...part, amount: mean(part.amount) })) };
}

/** [XA1] The most in any ten minutes: those of the ten minutes in which it was first reached. */
export function explainPeak(parts: readonly Part[], window: Span): Draft {
  const wide = [...activationsOf(parts, { from: window.from - LOOK_BACK_MS, to: window.to })].sort((a, b) => a.at - b.at);
  const { at } = peakCount(
    wide.map((alarm) => alarm.at),
    window.from,
  );
  const list = at === null ? [] : wide.filter((alarm) => alarm.at > at - TRAILING_MS && alarm.at <= at);
  return counted('most activations in any 10 minutes', countTerm('activations', list, alarmName), {
    formula: 'activations in the 10 minutes before the moment at which they were most; the ten minutes may begin before the window',
    source: ALARM_SOURCE,
    madeOf: list.map(alarmEvidence),
  });
}
