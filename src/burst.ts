/**
 * What is usual for this chamber, and from how many alarms on ten minutes are a burst here. By state class, because a running chamber has
 * other alarms than an idle one.
 * [BU1] Chatter is collapsed first: an alarm counts again no sooner than 60 s after it last counted. Suppressed ones and notices never count.
 * [BU2] The baseline is activations over observed hours of that state class. Unobserved time and past episodes (floods, and whatever else the
 *       caller names), with the ten minutes that led to them, count neither as activations nor as hours.
 * [BU3] Under 30 observed days there is no baseline of this chamber's own: only the flood rule (more than 10) holds, and the alert says so.
 * [BU4] The threshold is the smallest count whose scan probability over 30 days (4320 windows) is at most epsilon, at least 3.
 * [BU5] It is at most 11: there the flood rule fires first, and epsilon no longer holds.
 * [BU6] Where ten-minute counts vary more than chance allows (variance over mean above 1.5), the threshold is raised until the chamber's own
 *       history would have given no more false alerts than epsilon allows for its length.
 * Method: own choice among published ones (scan statistic, Alm); trailing counts as in ISA-18.2.
 */
import { isActivation } from './activation.ts';
import { episodes, FLOOD_ABOVE, FLOOD_BELOW, floods, TRAILING_MS } from './alarm-stats.ts';
import type { Span } from './calendar.ts';
import type { StateInterval } from './contract.ts';
import type { AlarmEvent } from './event.ts';
import { scanProbability, scanThreshold } from './scan-statistic.ts';
import { meanAndSd } from './stats.ts';
import { DAY_MS, HOUR_MS } from './zone.ts';

export const STATE_CLASSES = ['running', 'not-running'] as const;
export type StateClass = (typeof STATE_CLASSES)[number];

export const REFRACTORY_MS = 60_000;
export const LEAST_HISTORY_MS = 30 * DAY_MS;
export const LEAST_THRESHOLD = 3;
export const FLOOD_THRESHOLD = FLOOD_ABOVE + 1;
export const WINDOWS_PER_MONTH = (30 * DAY_MS) / TRAILING_MS;
const OVERDISPERSED = 1.5;

export type ClassBaseline = {
  readonly per10Min: number;
  readonly threshold: number;
  readonly observedHours: number;
  readonly activations: number;
  /** Alm's chance of a false alert in 30 days at the threshold, with these alarms coming by chance. */
  readonly expectedFalsePerMonth: number;
  /** Variance over mean of the ten-minute counts; null with fewer than two whole bins or no activation. */
  readonly dispersion: number | null;
};
export type BurstBaseline = {
  readonly chamber: string;
  readonly observedDays: number;
  /** Null while the history is too short. */
  readonly classes: Readonly<Record<StateClass, ClassBaseline>> | null;
};

export type BurstHistory = {
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

/** [BU1]-[BU6] */
export function burstBaseline({ chamber, alarms, intervals, epsilon, past = [] }: BurstHistory): BurstBaseline {
  const times = collapsed(alarms.filter(isActivation)).map((alarm) => alarm.at);
  const excluded = [...floods(times), ...past].map(({ from, to }) => ({ from: from - TRAILING_MS, to })).sort((a, b) => a.from - b.from);
  const kept = intervals.filter((interval) => interval.state !== 'unobserved').flatMap((interval) => without(interval, excluded));
  const observed = kept.reduce((sum, span) => sum + span.to - span.from, 0);
  const observedDays = observed / DAY_MS;
  if (observed < LEAST_HISTORY_MS) return { chamber, observedDays, classes: null };
  const ofClass = (name: StateClass): ClassBaseline =>
    classBaseline(times, joined(kept.filter((interval) => stateClass(interval.run) === name)), epsilon);
  return { chamber, observedDays, classes: { running: ofClass('running'), 'not-running': ofClass('not-running') } };
}

/** [BU1] The activations that count, of one chamber, ascending. */
export function collapsed<T extends AlarmEvent>(activations: readonly T[]): readonly T[] {
  const lastCounted = new Map<string, number>();
  return activations.filter(({ code, at }) => {
    if (at < (lastCounted.get(code) ?? -Infinity) + REFRACTORY_MS) return false;
    lastCounted.set(code, at);
    return true;
  });
}

function classBaseline(times: readonly number[], spans: readonly Span[], epsilon: number): ClassBaseline {
  const exposureMs = spans.reduce((sum, span) => sum + span.to - span.from, 0);
  const own = insideOf(times, spans);
  const mu = exposureMs > 0 ? (own.length * TRAILING_MS) / exposureMs : 0;
  const dispersion = dispersionOf(own, spans);
  const byChance = Math.max(LEAST_THRESHOLD, scanThreshold(mu, WINDOWS_PER_MONTH, epsilon));
  const byHistory =
    dispersion !== null && dispersion > OVERDISPERSED ? historyThreshold(own, byChance, (epsilon * exposureMs) / (30 * DAY_MS)) : 0;
  const threshold = Math.min(FLOOD_THRESHOLD, Math.max(byChance, byHistory));
  return {
    per10Min: mu,
    threshold,
    observedHours: exposureMs / HOUR_MS,
    activations: own.length,
    expectedFalsePerMonth: scanProbability(threshold, mu, WINDOWS_PER_MONTH),
    dispersion,
  };
}

/** [BU6] The smallest count, from `least` on, at which the history had no more episodes than `budget`. */
function historyThreshold(times: readonly number[], least: number, budget: number): number {
  let c = least;
  while (c < FLOOD_THRESHOLD && episodes(times, { open: c, closeBelow: closeBelow(c) }).length > budget) c += 1;
  return c;
}

/** An episode is over when the trailing count falls below half its threshold, or below 5 where the flood rule opened it (ISA-18.2). */
export function closeBelow(threshold: number): number {
  return threshold >= FLOOD_THRESHOLD ? FLOOD_BELOW : threshold / 2;
}

/** [BU6] Variance over mean of counts in fixed ten-minute bins that lie wholly in the spans. */
function dispersionOf(times: readonly number[], spans: readonly Span[]): number | null {
  const counts: number[] = [];
  let next = 0;
  for (const { from, to } of spans) {
    for (let bin = Math.ceil(from / TRAILING_MS) * TRAILING_MS; bin + TRAILING_MS <= to; bin += TRAILING_MS) {
      while (next < times.length && (times[next] as number) < bin) next++;
      const first = next;
      while (next < times.length && (times[next] as number) < bin + TRAILING_MS) next++;
      counts.push(next - first);
    }
  }
  const { mean, sd } = meanAndSd(counts);
  return mean && sd !== null ? sd ** 2 / mean : null;
}

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

/** The parts of an interval outside the spans (in order). */
function without(interval: StateInterval, spans: readonly Span[]): StateInterval[] {
  const out: StateInterval[] = [];
  let at = interval.from;
  for (const span of spans) {
    if (span.to <= at || span.from >= interval.to) continue;
    if (span.from > at) out.push({ ...interval, from: at, to: span.from });
    at = Math.max(at, span.to);
  }
  if (at < interval.to) out.push({ ...interval, from: at });
  return out;
}
