/**
 * Alarm statistics in the manner of ANSI/ISA-18.2 and IEC 62682 (rules known to us from secondary texts).
 * [AS1] The worst are alarms of one chamber by their activations (activation.ts says which count), ten at most, with their share of all.
 * [AS2] The trailing count at t is of activations in (t - 10 min, t]. A flood starts when it exceeds 10 and ends when it falls below 5.
 * [AS3] An alarm chatters when three of its activations fall within less than 60 s.
 * [AS4] The fleet's rate is per 10 minutes of its chambers' mean observed time: all alarms that one person would see, per clock time.
 * [AS5] Standing time runs from activation to clearing, clipped to the window, without the time in which nobody saw the chamber or the alarm was
 *       shelved, suppressed or out of service.
 * [AS6] A peak belongs to the window that it is reached in, counting back over the window's begin. A flood counts in the window where it starts;
 *       there its span is shown as far as the window goes.
 */
import { isActivation } from './activation.ts';
import { suppressionSpans } from './alarm-suppression.ts';
import type { Span } from './calendar.ts';
import type { StateInterval } from './contract.ts';
import { type AlarmFact, type ChamberFacts, firstAt, within } from './facts.ts';
import type { AlarmNumbers } from './numbers.ts';
import { united } from './spans.ts';
import { observedMs, stateTimes } from './utilization.ts';
import { DAY_MS, HOUR_MS, MINUTE_MS } from './zone.ts';

export const TRAILING_MS = 10 * MINUTE_MS;
/** A flood starts above this many activations in the trailing ten minutes ... */
export const FLOOD_ABOVE = 10;
/** ... and ends below this many. */
export const FLOOD_BELOW = 5;
const CHATTER_MS = 60_000;
const WORST_SHOWN = 10;
/** How far back it is looked whether a flood at the window's begin had started before. */
export const LOOK_BACK_MS = DAY_MS;

export type Flood = { from: number; to: number; peak: number };

/** Mean rates over a stretch of time: 150 a day is 6.25 an hour. */
export function alarmRate(
  activations: number,
  ms: number,
): { readonly perDay: number; readonly perHour: number; readonly per10Min: number } {
  const perHour = (activations * HOUR_MS) / ms;
  return { perDay: perHour * 24, perHour, per10Min: perHour / 6 };
}

/** [AS2] [AS6] The most activations in ten minutes trailing a moment from `since` on, and when that was first reached. `times` ascending. */
export function peakCount(times: readonly number[], since = -Infinity): { readonly peak: number; readonly at: number | null } {
  let [peak, at, first]: [number, number | null, number] = [0, null, 0];
  times.forEach((time, i) => {
    while ((times[first] as number) <= time - TRAILING_MS) first++;
    if (time >= since && i - first + 1 > peak) [peak, at] = [i - first + 1, time];
  });
  return { peak, at };
}

/** [AS2] Flood episodes of ascending activation times. The last one ends when its activations have left the trailing window. */
export function floods(times: readonly number[]): readonly Flood[] {
  return episodes(times, { open: FLOOD_ABOVE + 1, closeBelow: FLOOD_BELOW });
}

/** Episodes that begin when the trailing count reaches `open` and end at the moment it falls below `closeBelow`. */
export function episodes(times: readonly number[], rule: { readonly open: number; readonly closeBelow: number }): readonly Flood[] {
  const out: Flood[] = [];
  let [first, episode]: [number, Flood | null] = [0, null];
  const leaveUntil = (at: number, last: number): void => {
    while (first <= last && (times[first] as number) + TRAILING_MS <= at) {
      const left = (times[first] as number) + TRAILING_MS;
      first += 1;
      if (episode && last - first + 1 < rule.closeBelow) {
        out.push({ ...episode, to: left });
        episode = null;
      }
    }
  };
  times.forEach((time, i) => {
    leaveUntil(time, i - 1);
    const count = i - first + 1;
    if (episode) episode.peak = Math.max(episode.peak, count);
    else if (count >= rule.open) episode = { from: time, to: time, peak: count };
  });
  leaveUntil(Infinity, times.length - 1);
  return out;
}

/** [AS3] The moments at which an alarm's third activation within less than a minute came. `times` ascending, of one alarm. */
export function chatterHits(times: readonly number[]): readonly number[] {
  return times.filter((time, i) => i >= 2 && time - (times[i - 2] as number) < CHATTER_MS);
}

/** A chamber with the partition of the window's time. */
export type AlarmSubject = { readonly facts: ChamberFacts; readonly intervals: readonly StateInterval[] };

/** [AS1]-[AS6] The alarm numbers of one chamber, or of several together. */
export function alarmNumbers(subjects: readonly AlarmSubject[], window: Span): AlarmNumbers {
  const times = activationTimes(
    subjects.map(({ facts }) => facts),
    window.from - LOOK_BACK_MS,
    window.to,
  );
  const activations = times.filter((time) => time >= window.from).length;
  const meanObservedMs = subjects.reduce((sum, { intervals }) => sum + observedMs(stateTimes(intervals)), 0) / Math.max(1, subjects.length);
  const { peak, at } = peakCount(times, window.from);
  return {
    activations,
    per10Min: meanObservedMs > 0 ? alarmRate(activations, meanObservedMs).per10Min : null,
    peak10Min: peak,
    peakAt: at,
    floods: floods(times)
      .filter((flood) => flood.from >= window.from)
      .map((flood) => ({ ...flood, to: Math.min(flood.to, window.to) })),
    worst: worstAlarms(subjects, window, activations),
  };
}

/** [AS6] Flood episodes of the chambers together that touch the window, cut to it. */
export function floodsOf(chambers: readonly ChamberFacts[], window: Span): readonly Span[] {
  return floods(activationTimes(chambers, window.from - LOOK_BACK_MS, window.to))
    .map(({ from, to }) => ({ from: Math.max(from, window.from), to: Math.min(to, window.to) }))
    .filter(({ from, to }) => to > from);
}

export type Stale = { readonly fact: AlarmFact; readonly span: Span; readonly observedMs: number };

/** Alarms that stood for more than a day of observed time, and in the window; their spans end with the window at the latest. */
export function staleAlarms(subjects: readonly AlarmSubject[], window: Span): readonly Stale[] {
  return subjects.flatMap(({ facts, intervals }) => {
    const unseen = unseenOf(intervals);
    return [...facts.alarmsByCode.values()].flatMap((all) => {
      const alarms = all.slice(0, firstAt(all, window.to)).filter(({ notice }) => !notice);
      return standingSpans(alarms, null, window.to)
        .map((span) => ({ fact: alarms[0] as AlarmFact, span, observedMs: seenMs(span, hiddenIn(alarms, unseen, window.to)) }))
        .filter((stale) => stale.span.to > window.from && stale.observedMs > DAY_MS);
    });
  });
}

/** Where nobody saw the chamber. */
export const unseenOf = (intervals: readonly StateInterval[]): readonly StateInterval[] =>
  intervals.filter(({ state }) => state === 'unobserved');

/** When counted activations of any of the chambers came, ascending, from <= time < to. */
export function activationTimes(chambers: readonly ChamberFacts[], from: number, to: number): readonly number[] {
  const times = chambers.flatMap((facts) => within(facts.activations, from, to).map((alarm) => alarm.at));
  return chambers.length > 1 ? times.sort((a, b) => a - b) : times;
}

function worstAlarms(subjects: readonly AlarmSubject[], window: Span, total: number): AlarmNumbers['worst'] {
  const ranked = subjects.flatMap(({ facts, intervals }) => {
    const unseen = unseenOf(intervals);
    return [...facts.alarmsByCode.values()].map((alarms) => worstOf(alarms, window, unseen));
  });
  return ranked
    .filter((alarm) => alarm !== null && (alarm.activations > 0 || alarm.standingMs > 0))
    .map((alarm) => alarm as AlarmNumbers['worst'][number])
    .sort((a, b) => b.activations - a.activations || b.standingMs - a.standingMs || (a.chamber + a.code < b.chamber + b.code ? -1 : 1))
    .slice(0, WORST_SHOWN)
    .map((alarm) => ({ ...alarm, share: total > 0 ? alarm.activations / total : 0 }));
}

/** One alarm in the window, from all its facts; null when it is a notice or had none before the window's end. */
function worstOf(facts: readonly AlarmFact[], window: Span, unseen: readonly Span[]): AlarmNumbers['worst'][number] | null {
  const [first, end] = [firstAt(facts, window.from), firstAt(facts, window.to)];
  const last = facts[end - 1];
  if (!last || last.notice) return null;
  const { chamber, code, text, priority } = last;
  const inside = facts.slice(first, end);
  const times = inside.filter(isActivation).map((fact) => fact.at);
  const stood = stoodBefore(facts, first);
  const spans = standingSpans(inside, stood ? window.from : null, window.to);
  const hidden = hiddenIn(facts, unseen, window.to);
  const standingMs = spans.reduce((sum, span) => sum + seenMs(span, hidden), 0);
  return { chamber, code, text, priority, activations: times.length, share: 0, standingMs, chattering: chatterHits(times).length > 0 };
}

/** [AS5] `since` is when it began to stand, null when it does not at first. */
function standingSpans(facts: readonly AlarmFact[], since: number | null, until: number): readonly Span[] {
  const spans: Span[] = [];
  const close = (to: number): void => {
    if (since !== null) spans.push({ from: since, to });
    since = null;
  };
  for (const fact of facts) {
    if (fact.change === 'activated') since ??= fact.at;
    else if (fact.change === 'cleared') close(fact.at);
  }
  close(until);
  return spans;
}

/** [AS5] When the alarm was not annunciated, or nobody saw the chamber. */
function hiddenIn(facts: readonly AlarmFact[], unseen: readonly Span[], until: number): readonly Span[] {
  const suppressed = suppressionSpans(facts, until);
  return suppressed.length === 0 ? unseen : united(unseen, suppressed);
}

/** [AS5] The part of a span outside the unseen ones, which are in order and do not overlap. */
function seenMs(span: Span, unseen: readonly Span[]): number {
  const hidden = unseen.map(({ from, to }) => Math.max(0, Math.min(to, span.to) - Math.max(from, span.from)));
  return hidden.reduce((left, ms) => left - ms, span.to - span.from);
}

/** Whether the alarm stood before the fact at `index`: by the last activation or clearing before it. */
function stoodBefore(facts: readonly AlarmFact[], index: number): boolean {
  let last = index - 1;
  while (last >= 0 && !isTurn(facts[last] as AlarmFact)) last--;
  return facts[last]?.change === 'activated';
}

const isTurn = ({ change }: AlarmFact): boolean => change === 'activated' || change === 'cleared';
