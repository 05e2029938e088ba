/**
 * Alarms beside the targets of ANSI/ISA-18.2 and IEC 62682, as two secondary texts agree on them; the standards ask for a month or
 * more, so a week is an early sign.
 * [AT1] Targets are per operator position: over the chambers that one person watches. A site that names no positions has one, the whole hall.
 * [AT2] Rates are over the mean observed time of the position's chambers; without any observed time nothing is known.
 * [AT3] The shares of ten-minute periods and of hours are of fixed ones aligned to UTC; the most in ten minutes is of any trailing ten minutes.
 * [AT5] These shares, and that of time in flood, are of the time in which at least one of the chambers was observed; a period that is crowded in
 *       less observed time than its length makes no share above one.
 * [AT4] Stale is an alarm that stood for more than 24 hours of observed time, counted where it stood in the window.
 */
import { chatterIndex, chattersSlowly, fleetingCount } from './alarm-chatter.ts';
import { activeSpans } from './alarm-spans.ts';
import {
  type AlarmSubject,
  activationTimes,
  chatterHits,
  floodsOf,
  LOOK_BACK_MS,
  peakCount,
  staleAlarms,
  TRAILING_MS,
  unseenOf,
} from './alarm-stats.ts';
import type { Span } from './calendar.ts';
import { within } from './facts.ts';
import type { TargetLine } from './kpi.ts';
import { observedMs, stateTimes } from './utilization.ts';
import { DAY_MS, HOUR_MS } from './zone.ts';

export type Position = { readonly name: string; readonly chambers: readonly string[] };

const WHOLE_HALL = 'whole hall';
export const MOST_IN_TEN = 10;
export const MOST_IN_HOUR = 30;
export const TOP = 10;
const SOURCE = 'in the manner of ISA-18.2 (numbers from two secondary texts)';
const FROM_MEMORY = 'in the manner of EEMUA 191 (number from memory)';
const INDEX = 'index of Kondaveeti and others (definition from memory); target in the manner of ISA-18.2';
const SLOW = 'own rule: 10 or more in an hour, active under 10 s each; target in the manner of ISA-18.2';

/** [AT1] The lines of each position. */
export function alarmTargets(subjects: readonly AlarmSubject[], positions: readonly Position[], window: Span): TargetLine[] {
  return positionsOf(subjects, positions).flatMap(({ name, subjects: own }) => loadLines(name, own, window));
}

type Placed = Position & { readonly subjects: readonly AlarmSubject[] };

/** [AT1] Each position with those of its chambers that are among the subjects. */
export function positionsOf(subjects: readonly AlarmSubject[], positions: readonly Position[]): readonly Placed[] {
  const all = positions.length > 0 ? positions : [{ name: WHOLE_HALL, chambers: subjects.map(({ facts }) => facts.chamber) }];
  return all.map(({ name, chambers }) => ({ name, chambers, subjects: subjects.filter(({ facts }) => chambers.includes(facts.chamber)) }));
}

type Line = Pick<TargetLine, 'name' | 'value' | 'target' | 'most' | 'unit'>;

/** The lines that a week shows. */
export function loadLines(position: string, subjects: readonly AlarmSubject[], window: Span): TargetLine[] {
  const observed = meanObservedMs(subjects);
  const anyMs = anyObservedMs(subjects);
  const chambers = subjects.map(({ facts }) => facts);
  const wide = activationTimes(chambers, window.from - LOOK_BACK_MS, window.to);
  const times = wide.filter((time) => time >= window.from);
  const codes = byCode(subjects, window);
  const per = (ms: number): number | null => (observed > 0 ? (times.length * ms) / observed : null);
  const known = (value: number): number | null => (observed > 0 ? value : null);
  const chattering = codes.filter((own) => chatterHits(own).length > 0).length;
  const lines: Line[] = [
    { name: 'alarms per day', value: per(DAY_MS), target: 150, most: 300, unit: 'per day' },
    { name: 'alarms per hour', value: per(HOUR_MS), target: 6, most: 12, unit: 'per hour' },
    { name: 'alarms per 10 min', value: per(TRAILING_MS), target: 1, most: 2, unit: 'per 10 min' },
    { name: 'most in any 10 min', value: known(peakCount(wide, window.from).peak), target: MOST_IN_TEN, most: null, unit: 'count' },
    {
      name: '10-minute periods above 10',
      value: known(Math.min(1, (crowded(times, TRAILING_MS, MOST_IN_TEN) * TRAILING_MS) / anyMs)),
      target: 0.01,
      most: null,
      unit: 'share',
    },
    { name: 'time in flood', value: known(floodMs(chambers, window) / anyMs), target: 0.01, most: null, unit: 'share' },
    { name: 'share of the ten most frequent', value: known(topShare(codes, times.length)), target: 0.05, most: null, unit: 'share' },
    { name: 'chattering alarms', value: known(chattering), target: 0, most: null, unit: 'count' },
    { name: 'alarms standing over 24 h', value: known(staleAlarms(subjects, window).length), target: 5, most: null, unit: 'count' },
  ];
  return lines.map((line) => ({ position, ...line, verdict: verdict(line), rule: SOURCE }));
}

/** What the alarm page shows beside them. */
export function closerLines(position: string, subjects: readonly AlarmSubject[], window: Span): TargetLine[] {
  const anyMs = anyObservedMs(subjects);
  const known = (value: number): number | null => (anyMs > 0 ? value : null);
  const times = activationTimes(
    subjects.map(({ facts }) => facts),
    window.from,
    window.to,
  );
  const spans = subjects.flatMap(({ facts, intervals }) =>
    [...facts.alarmsByCode.values()].map((alarms) => activeSpans(alarms, window, unseenOf(intervals))),
  );
  const hours = Math.min(1, (crowded(times, HOUR_MS, MOST_IN_HOUR) * HOUR_MS) / anyMs);
  const slow = spans.filter(chattersSlowly).length;
  const byIndex = byCode(subjects, window).filter((own) => chatterIndex(own).byIndex).length;
  const fleeting = spans.reduce((sum, own) => sum + fleetingCount(own), 0);
  const lines: (Line & { rule: string })[] = [
    { name: 'hours above 30', value: known(hours), target: 0.01, most: null, unit: 'share', rule: FROM_MEMORY },
    { name: 'chattering slowly', value: known(slow), target: 0, most: null, unit: 'count', rule: SLOW },
    { name: 'chattering by index', value: known(byIndex), target: 0, most: null, unit: 'count', rule: INDEX },
    { name: 'fleeting activations', value: known(fleeting), target: 0, most: null, unit: 'count', rule: SOURCE },
  ];
  return lines.map((line) => ({ position, ...line, verdict: verdict(line) }));
}

export function meanObservedMs(subjects: readonly AlarmSubject[]): number {
  return subjects.reduce((sum, { intervals }) => sum + observedMs(stateTimes(intervals)), 0) / Math.max(1, subjects.length);
}

/** [AT5] */
export function anyObservedMs(subjects: readonly AlarmSubject[]): number {
  if (subjects.length === 1) return meanObservedMs(subjects);
  const spans = subjects.flatMap(({ intervals }) => intervals.filter(({ state }) => state !== 'unobserved'));
  spans.sort((a, b) => a.from - b.from);
  let [sum, until] = [0, -Infinity];
  for (const { from, to } of spans) {
    sum += Math.max(0, to - Math.max(from, until));
    until = Math.max(until, to);
  }
  return sum;
}

function verdict({ value, target, most }: Line): TargetLine['verdict'] {
  if (value === null) return 'not known';
  if (value <= target) return 'within target';
  return most !== null && value > most ? 'above manageable' : 'above target';
}

/** [AT3] Fixed periods with more than `most` activations. */
export function crowded(times: readonly number[], periodMs: number, most: number): number {
  const counts = Map.groupBy(times, (time) => Math.floor(time / periodMs));
  return [...counts.values()].filter(({ length }) => length > most).length;
}

function floodMs(chambers: Parameters<typeof floodsOf>[0], window: Span): number {
  return floodsOf(chambers, window).reduce((sum, { from, to }) => sum + to - from, 0);
}

/** The activation times of each alarm that had any. */
function byCode(subjects: readonly AlarmSubject[], window: Span): readonly (readonly number[])[] {
  return subjects.flatMap(({ facts }) =>
    [...Map.groupBy(within(facts.activations, window.from, window.to), ({ code }) => code).values()].map((list) =>
      list.map(({ at }) => at),
    ),
  );
}

function topShare(codes: readonly (readonly number[])[], total: number): number {
  const top = codes
    .map(({ length }) => length)
    .sort((a, b) => b - a)
    .slice(0, TOP);
  return total > 0 ? top.reduce((sum, count) => sum + count, 0) / total : 0;
}
