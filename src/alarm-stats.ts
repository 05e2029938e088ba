/**
 * Alarm statistics in the manner of ANSI/ISA-18.2 and IEC 62682 (rules known to us from secondary texts).
 * [AS1] The worst are alarms of one chamber by their activations (activation.ts says which count), ten at most, with their share of all.
 * [AS2] The trailing count at t is of activations in (t - 10 min, t]. A flood starts when it exceeds 10 and ends when it falls below 5.
 * [AS3] An alarm chatters when three of its activations fall within less than 60 s.
 * [AS4] The fleet's rate is per 10 minutes of its chambers' mean observed time: all alarms that one person would see, per clock time.
 * [AS5] Standing time runs from activation to clearing, clipped to the window and to the last word from the chamber.
 * [AS6] The "per cent of periods" figure uses fixed 10-minute bins aligned to UTC; everything else the trailing window.
 */
import { isActivation } from './activation.ts';
import type { Span } from './calendar.ts';
import { type AlarmFact, type ChamberFacts, firstAt, within } from './facts.ts';
import type { AlarmNumbers } from './numbers.ts';
import { HOUR_MS, MINUTE_MS } from './zone.ts';

export const TRAILING_MS = 10 * MINUTE_MS;
/** A flood starts above this many activations in the trailing ten minutes ... */
export const FLOOD_ABOVE = 10;
/** ... and ends below this many. */
export const FLOOD_BELOW = 5;
const CHATTER_MS = 60_000;
const WORST_SHOWN = 10;

export type Flood = { from: number; to: number; peak: number };

/** Mean rates over a stretch of time: 150 a day is 6.25 an hour. */
export function alarmRate(
  activations: number,
  ms: number,
): { readonly perDay: number; readonly perHour: number; readonly per10Min: number } {
  const perHour = (activations * HOUR_MS) / ms;
  return { perDay: perHour * 24, perHour, per10Min: perHour / 6 };
}

/** [AS2] The most activations in any trailing ten minutes and when that was first reached. `times` ascending. */
export function peakCount(times: readonly number[]): { readonly peak: number; readonly at: number | null } {
  let [peak, at, first]: [number, number | null, number] = [0, null, 0];
  times.forEach((time, i) => {
    while ((times[first] as number) <= time - TRAILING_MS) first++;
    if (i - first + 1 > peak) [peak, at] = [i - first + 1, time];
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

/** [AS6] Activations per fixed bin that has any, by bin start. */
export function fixedBins(times: readonly number[]): ReadonlyMap<number, number> {
  const bins = new Map<number, number>();
  for (const time of times) {
    const bin = Math.floor(time / TRAILING_MS) * TRAILING_MS;
    bins.set(bin, (bins.get(bin) ?? 0) + 1);
  }
  return bins;
}

/** [AS1]-[AS5] The alarm numbers of one chamber, or of several together. `observedMs` is summed over them. */
export function alarmNumbers(chambers: readonly ChamberFacts[], window: Span, observedMs: number): AlarmNumbers {
  const times = activationTimes(chambers, window.from - TRAILING_MS, window.to);
  const inside = times.filter((time) => time >= window.from);
  const meanObservedMs = observedMs / Math.max(1, chambers.length);
  const { peak, at } = peakCount(inside);
  return {
    activations: inside.length,
    per10Min: meanObservedMs > 0 ? alarmRate(inside.length, meanObservedMs).per10Min : null,
    peak10Min: peak,
    peakAt: at,
    floods: floods(times)
      .filter((flood) => flood.to > window.from && flood.from < window.to)
      .map((flood) => ({ ...flood, from: Math.max(flood.from, window.from), to: Math.min(flood.to, window.to) })),
    worst: worstAlarms(chambers, window, inside.length),
  };
}

/** When counted activations of any of the chambers came, ascending, from <= time < to. */
export function activationTimes(chambers: readonly ChamberFacts[], from: number, to: number): readonly number[] {
  const times = chambers.flatMap((facts) => within(facts.activations, from, to).map((alarm) => alarm.at));
  return chambers.length > 1 ? times.sort((a, b) => a - b) : times;
}

function worstAlarms(chambers: readonly ChamberFacts[], window: Span, total: number): AlarmNumbers['worst'] {
  const ranked = chambers.flatMap((facts) =>
    [...facts.alarmsByCode.values()].map((alarms) => worstOf(alarms, window, Math.min(window.to, facts.heardUntil))),
  );
  return ranked
    .filter((alarm) => alarm !== null && (alarm.activations > 0 || alarm.standingMs > 0))
    .map((alarm) => alarm as AlarmNumbers['worst'][number])
    .sort((a, b) => b.activations - a.activations || b.standingMs - a.standingMs || (a.chamber + a.code < b.chamber + b.code ? -1 : 1))
    .slice(0, WORST_SHOWN)
    .map((alarm) => ({ ...alarm, share: total > 0 ? alarm.activations / total : 0 }));
}

/** One alarm in the window, from all its facts; null when it is a notice or had none before the window's end. */
function worstOf(facts: readonly AlarmFact[], window: Span, until: number): AlarmNumbers['worst'][number] | null {
  const [first, end] = [firstAt(facts, window.from), firstAt(facts, window.to)];
  const last = facts[end - 1];
  if (!last || last.notice) return null;
  const { chamber, code, text, priority } = last;
  const inside = facts.slice(first, end);
  const times = inside.filter(isActivation).map((fact) => fact.at);
  const stood = stoodBefore(facts, first);
  const standingMs = standing(inside, stood ? window.from : null, until);
  return { chamber, code, text, priority, activations: times.length, share: 0, standingMs, chattering: chatterHits(times).length > 0 };
}

/** [AS5] `since` is when it began to stand, null when it does not at first. */
function standing(facts: readonly AlarmFact[], since: number | null, until: number): number {
  let sum = 0;
  const close = (to: number): void => {
    if (since !== null) sum += Math.max(0, Math.min(to, until) - since);
    since = null;
  };
  for (const fact of facts) {
    if (fact.change === 'activated') since ??= fact.at;
    else if (fact.change === 'cleared') close(fact.at);
  }
  close(until);
  return sum;
}

/** Whether the alarm stood before the fact at `index`: by the last fact that is no acknowledgement. */
function stoodBefore(facts: readonly AlarmFact[], index: number): boolean {
  let last = index - 1;
  while (last >= 0 && (facts[last] as AlarmFact).change === 'acknowledged') last--;
  return facts[last]?.change === 'activated';
}
