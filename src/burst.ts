/**
 * What is usual for this chamber, and from how many alarms on ten minutes are a burst here. By state class, because a running chamber has
 * other alarms than an idle one.
 * [BU1] Chatter is collapsed first: an alarm counts again once it kept quiet for 60 s, and no more than twice in ten minutes (slow chatter
 *       keeps quiet longer); one that goes on chattering counts once in ten minutes. Suppressed ones and notices never count.
 * [BU2] The baseline is activations over observed hours of that state class. Unobserved time and past episodes (floods, and whatever else the
 *       caller names), with the ten minutes that led to them, count neither as activations nor as hours.
 * [BU3] Under 30 observed days there is no baseline of this chamber's own: only the flood rule (more than 10) holds, and the alert says so.
 * [BU4] The threshold is the smallest count that is expected by chance no oftener than epsilon in 30 days (4320 windows), at least 3: by the scan
 *       statistic for alarms that come as bunched as this chamber's do, and for a rate known from no more alarms than it had (scan-bunched.ts).
 * [BU5] It is at most 11: there the flood rule fires first, and epsilon no longer holds.
 * [BU6] How bunched they come is taken from the share of ten-minute periods without any: one burst hardly moves it.
 * [BU7] Past episodes that reach the threshold are left out like floods, and the rest is counted anew: a burst must not hide the next (as
 *       Farrington and others do with past outbreaks, J. R. Statist. Soc. A 159 (1996) 547).
 * [BU8] What came oftener than once in 30 observed days, and more than once, is a habit of this chamber and no burst: the threshold is above it.
 * Method: own choice among published ones; docs/alarms.md tells what it does to simulated years. Trailing counts as in ISA-18.2.
 */
import { isActivation } from './activation.ts';
import { episodes, FLOOD_ABOVE, FLOOD_BELOW, floods, TRAILING_MS } from './alarm-stats.ts';
import type { Span } from './calendar.ts';
import type { StateInterval } from './contract.ts';
import type { AlarmEvent } from './event.ts';
import { shapeFromEmpty } from './negative-binomial.ts';
import { bunchedThreshold, expectedNotices, type KnownRate } from './scan-bunched.ts';
import { outside } from './spans.ts';
import { DAY_MS, HOUR_MS } from './zone.ts';

type StateClass = 'running' | 'not-running';

export const REFRACTORY_MS = 60_000;
/** Of one alarm in ten minutes. */
export const MOST_COUNTED = 2;
export const LEAST_HISTORY_MS = 30 * DAY_MS;
const LEAST_THRESHOLD = 3;
export const FLOOD_THRESHOLD = FLOOD_ABOVE + 1;
const MONTH_MS = 30 * DAY_MS;
export const WINDOWS_PER_MONTH = MONTH_MS / TRAILING_MS;

export type ClassBaseline = {
  readonly per10Min: number;
  readonly threshold: number;
  readonly observedHours: number;
  readonly activations: number;
  /** False alerts to expect in 30 days at the threshold. */
  readonly expectedFalsePerMonth: number;
  /** Variance over mean of ten-minute counts, as the share of empty ones tells it; 1 where each comes by itself, null without any. */
  readonly dispersion: number | null;
  /** Past episodes that reached the threshold and were left out. */
  readonly leftOut: number;
};
export type BurstBaseline = {
  readonly chamber: string;
  readonly observedDays: number;
  /** Null while the history is too short. */
  readonly classes: Readonly<Record<StateClass, ClassBaseline>> | null;
};

type BurstHistory = {
  readonly chamber: string;
  /** The chamber's alarm facts, ascending by time. */
  readonly alarms: readonly AlarmEvent[];
  /** The chamber's partition of the history, in order. */
  readonly intervals: readonly StateInterval[];
  /** False alerts accepted per chamber in 30 days. */
  readonly epsilon: number;
  /** Past episodes that are no part of what is usual, such as bursts that turned out to be real. */
  readonly past?: readonly Span[];
};

/** A state with a run in progress, whatever the run is for. */
export const stateClass = (run: string | null): StateClass => (run === null ? 'not-running' : 'running');

/** [BU1]-[BU8] */
export function burstBaseline({ chamber, alarms, intervals, epsilon, past = [] }: BurstHistory): BurstBaseline {
  const times = collapsed(alarms.filter(isActivation)).map((alarm) => alarm.at);
  const excluded = withLead([...floods(times), ...past]);
  const kept = outside(
    intervals.filter((interval) => interval.state !== 'unobserved'),
    excluded,
  );
  const observed = lengthOf(kept);
  const observedDays = observed / DAY_MS;
  if (observed < LEAST_HISTORY_MS) return { chamber, observedDays, classes: null };
  const ofClass = (name: StateClass): ClassBaseline =>
    classBaseline(times, joined(kept.filter((interval) => stateClass(interval.run) === name)), epsilon);
  return { chamber, observedDays, classes: { running: ofClass('running'), 'not-running': ofClass('not-running') } };
}

/** [BU1] The activations that count, of one chamber, ascending. */
export function collapsed<T extends AlarmEvent>(activations: readonly T[]): readonly T[] {
  const known = new Map<string, { readonly came: number; readonly counted: readonly number[] }>();
  return activations.filter(({ code, at }) => {
    const before = known.get(code);
    const lately = (before?.counted ?? []).filter((one) => one > at - TRAILING_MS);
    const isQuiet = before === undefined || at >= before.came + REFRACTORY_MS;
    const isNew = lately.length === 0 || (isQuiet && lately.length < MOST_COUNTED);
    known.set(code, { came: at, counted: isNew ? [...lately, at] : lately });
    return isNew;
  });
}

/** [BU4]-[BU8] `times` that count, ascending; `spans` of the class, in order. */
function classBaseline(times: readonly number[], spans: readonly Span[], epsilon: number): ClassBaseline {
  const own = insideOf(times, spans);
  const habit = habitThreshold(own, spans);
  const first = Math.max(habit, chanceThreshold(rateOf(own, spans), epsilon));
  const bursts = episodes(own, { open: first, closeBelow: closeBelow(first) });
  const left = outside(spans, withLead(bursts));
  const kept = insideOf(own, left);
  const rate = rateOf(kept, left);
  const threshold = Math.max(habit, chanceThreshold(rate, epsilon));
  const exposureMs = lengthOf(left);
  const per10Min = exposureMs > 0 ? (kept.length * TRAILING_MS) / exposureMs : 0;
  return {
    per10Min,
    threshold,
    observedHours: exposureMs / HOUR_MS,
    activations: kept.length,
    expectedFalsePerMonth: expectedNotices(threshold, rate, WINDOWS_PER_MONTH),
    dispersion: kept.length > 0 ? 1 + per10Min / rate.k : null,
    leftOut: bursts.length,
  };
}

/** [BU4] [BU5] */
const chanceThreshold = (rate: KnownRate, epsilon: number): number =>
  Math.max(LEAST_THRESHOLD, bunchedThreshold(rate, WINDOWS_PER_MONTH, { epsilon, most: FLOOD_THRESHOLD }));

/** [BU8] The smallest count that the history had no more episodes of than one in 30 days, one at least. */
function habitThreshold(times: readonly number[], spans: readonly Span[]): number {
  const budget = Math.max(1, lengthOf(spans) / MONTH_MS);
  let c = LEAST_THRESHOLD;
  while (c < FLOOD_THRESHOLD && episodes(times, { open: c, closeBelow: closeBelow(c) }).length > budget) c += 1;
  return c;
}

/** An episode is over when the trailing count falls below half its threshold, or below 5 where the flood rule opened it (ISA-18.2). */
export function closeBelow(threshold: number): number {
  return threshold >= FLOOD_THRESHOLD ? FLOOD_BELOW : threshold / 2;
}

/** [BU6] By fixed ten-minute bins that lie wholly in the spans. */
function rateOf(times: readonly number[], spans: readonly Span[]): KnownRate {
  let [bins, empty, inside, next] = [0, 0, 0, 0];
  for (const { from, to } of spans) {
    for (let bin = Math.ceil(from / TRAILING_MS) * TRAILING_MS; bin + TRAILING_MS <= to; bin += TRAILING_MS) {
      while (next < times.length && (times[next] as number) < bin) next++;
      const first = next;
      while (next < times.length && (times[next] as number) < bin + TRAILING_MS) next++;
      bins += 1;
      inside += next - first;
      if (next === first) empty += 1;
    }
  }
  const k = bins > 0 ? shapeFromEmpty(inside / bins, empty / bins) : Infinity;
  return { events: times.length, over: lengthOf(spans) / TRAILING_MS, k };
}

const lengthOf = (spans: readonly Span[]): number => spans.reduce((sum, { from, to }) => sum + to - from, 0);

/** [BU2] With the ten minutes that led to them. */
const withLead = (spans: readonly Span[]): readonly Span[] => spans.map(({ from, to }) => ({ from: from - TRAILING_MS, to }));

function insideOf(times: readonly number[], spans: readonly Span[]): readonly number[] {
  let index = 0;
  return times.filter((time) => {
    while (index < spans.length && (spans[index] as Span).to <= time) index++;
    return index < spans.length && (spans[index] as Span).from <= time;
  });
}

/** Spans that touch become one: a chamber that goes from unload to idle is not running throughout. */
function joined(spans: readonly Span[]): readonly Span[] {
  const out: Span[] = [];
  for (const { from, to } of spans) {
    const last = out.at(-1);
    if (last && last.to === from) out[out.length - 1] = { from: last.from, to };
    else out.push({ from, to });
  }
  return out;
}
