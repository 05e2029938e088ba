/**
 * The week's alarms beside the targets of ANSI/ISA-18.2 and IEC 62682, as two secondary texts agree on them; the standards ask for a month or
 * more, so a week is an early sign.
 * [AT1] Targets are per operator position: over the chambers that one person watches. A site that names no positions has one, the whole hall.
 * [AT2] Rates are over the mean observed time of the position's chambers; without any observed time nothing is known.
 * [AT3] The share of ten-minute periods is of fixed periods aligned to UTC; the most in ten minutes is of any trailing ten minutes.
 * [AT4] Stale is an alarm that stood for more than 24 hours of observed time, counted where it stood in the window.
 */
import { type AlarmSubject, activationTimes, chatterHits, floodsOf, peakCount, staleAlarms, TRAILING_MS } from './alarm-stats.ts';
import type { Span } from './calendar.ts';
import { within } from './facts.ts';
import type { TargetLine } from './kpi.ts';
import { observedMs, stateTimes } from './utilization.ts';
import { DAY_MS, HOUR_MS } from './zone.ts';

export type Position = { readonly name: string; readonly chambers: readonly string[] };

const WHOLE_HALL = 'whole hall';
const MOST_IN_TEN = 10;
const TOP = 10;
const SOURCE = 'in the manner of ISA-18.2 (numbers from two secondary texts)';

/** [AT1] The lines of each position. */
export function alarmTargets(subjects: readonly AlarmSubject[], positions: readonly Position[], window: Span): TargetLine[] {
  const all = positions.length > 0 ? positions : [{ name: WHOLE_HALL, chambers: subjects.map(({ facts }) => facts.chamber) }];
  return all.flatMap(({ name, chambers }) =>
    linesOf(
      name,
      subjects.filter(({ facts }) => chambers.includes(facts.chamber)),
      window,
    ),
  );
}

type Line = Pick<TargetLine, 'name' | 'value' | 'target' | 'most' | 'unit'>;

function linesOf(position: string, subjects: readonly AlarmSubject[], window: Span): TargetLine[] {
  const observed = subjects.reduce((sum, { intervals }) => sum + observedMs(stateTimes(intervals)), 0) / Math.max(1, subjects.length);
  const chambers = subjects.map(({ facts }) => facts);
  const times = activationTimes(chambers, window.from, window.to);
  const codes = byCode(subjects, window);
  const per = (ms: number): number | null => (observed > 0 ? (times.length * ms) / observed : null);
  const known = (value: number): number | null => (observed > 0 ? value : null);
  const lines: Line[] = [
    { name: 'alarms per day', value: per(DAY_MS), target: 150, most: 300, unit: 'per day' },
    { name: 'alarms per hour', value: per(HOUR_MS), target: 6, most: 12, unit: 'per hour' },
    { name: 'alarms per 10 min', value: per(TRAILING_MS), target: 1, most: 2, unit: 'per 10 min' },
    { name: 'most in any 10 min', value: known(peakCount(times).peak), target: MOST_IN_TEN, most: null, unit: 'count' },
    {
      name: '10-minute periods above 10',
      value: known(crowded(times) / (observed / TRAILING_MS)),
      target: 0.01,
      most: null,
      unit: 'share',
    },
    { name: 'time in flood', value: known(floodMs(chambers, window) / observed), target: 0.01, most: null, unit: 'share' },
    { name: 'share of the ten most frequent', value: known(topShare(codes, times.length)), target: 0.05, most: null, unit: 'share' },
    { name: 'chattering alarms', value: known(codes.filter(({ chatters }) => chatters).length), target: 0, most: null, unit: 'count' },
    { name: 'alarms standing over 24 h', value: known(staleAlarms(subjects, window)), target: 5, most: null, unit: 'count' },
  ];
  return lines.map((line) => ({ position, ...line, verdict: verdict(line), rule: SOURCE }));
}

function verdict({ value, target, most }: Line): TargetLine['verdict'] {
  if (value === null) return 'not known';
  if (value <= target) return 'within target';
  return most !== null && value > most ? 'above manageable' : 'above target';
}

/** [AT3] Fixed periods with more than ten activations. */
function crowded(times: readonly number[]): number {
  const counts = Map.groupBy(times, (time) => Math.floor(time / TRAILING_MS));
  return [...counts.values()].filter(({ length }) => length > MOST_IN_TEN).length;
}

function floodMs(chambers: Parameters<typeof floodsOf>[0], window: Span): number {
  return floodsOf(chambers, window).reduce((sum, { from, to }) => sum + to - from, 0);
}

type CodeCount = { readonly activations: number; readonly chatters: boolean };

function byCode(subjects: readonly AlarmSubject[], window: Span): readonly CodeCount[] {
  return subjects.flatMap(({ facts }) =>
    [...Map.groupBy(within(facts.activations, window.from, window.to), ({ code }) => code).values()].map((list) => ({
      activations: list.length,
      chatters: chatterHits(list.map(({ at }) => at)).length > 0,
    })),
  );
}

function topShare(codes: readonly CodeCount[], total: number): number {
  const top = codes
    .map(({ activations }) => activations)
    .sort((a, b) => b - a)
    .slice(0, TOP);
  return total > 0 ? top.reduce((sum, count) => sum + count, 0) / total : 0;
}
