/**
 * All numbers of any window, by chamber and for the fleet.
 * [WN1] The fleet's hours are the sum of its chambers' hours, and its shares are computed from that sum.
 * [WN2] The fleet's loads and times are those of all its chambers' runs together, not averages of chambers.
 */
import { alarmNumbers, type AlarmSubject } from './alarm-stats.ts';
import { type Calendar, nonscheduled, type Span } from './calendar.ts';
import type { StateInterval } from './contract.ts';
import { loadCounts, recipeTimes, type TimedRun, timedRuns } from './cycle-time.ts';
import { type ChamberFacts, within } from './facts.ts';
import { stateIntervals } from './interval.ts';
import type { LoadCounts, StateTimes, WindowNumbers } from './numbers.ts';
import { addTimes, shares, stateTimes } from './utilization.ts';
import { DAY_MS } from './zone.ts';

/** Cycles that end within this long after the window still count to the run that ended in it. */
export const LAST_CYCLE_MS = DAY_MS;

export type FleetWindow = {
  readonly fleet: WindowNumbers;
  readonly chambers: readonly WindowNumbers[];
  /** Per chamber, in the order of the facts: the partition that the numbers rest on. */
  readonly intervals: readonly (readonly StateInterval[])[];
};

/** Numbers of [from, to) for the chambers given. */
export function windowNumbers(fleet: readonly ChamberFacts[], window: Span, calendar: Calendar): FleetWindow {
  const wide = { from: window.from - LAST_CYCLE_MS, to: window.to + LAST_CYCLE_MS };
  const free = nonscheduled(calendar, wide.from, wide.to);
  const parts = fleet.map((facts) => chamberPart(facts, window, wide, free));
  const sum = parts.length === 1 ? (parts[0] as Sum) : together(parts);
  return {
    fleet: numbersOf(null, parts, window, sum),
    chambers: parts.map((part) => numbersOf(part.facts.chamber, [part], window, part)),
    intervals: parts.map((part) => part.intervals),
  };
}

type Sum = { readonly time: StateTimes; readonly loads: LoadCounts; readonly timed: readonly TimedRun[] };
type Part = Sum & AlarmSubject;

function chamberPart(facts: ChamberFacts, window: Span, wide: Span, free: readonly Span[]): Part {
  const around = stateIntervals(facts, wide, free);
  const intervals = clipped(around, window);
  return {
    facts,
    intervals,
    time: stateTimes(intervals),
    loads: loadCounts(within(facts.runs, window.from, window.to)),
    timed: timedRuns(facts.runs, window, around),
  };
}

/** [WN1] [WN2] */
function together(parts: readonly Part[]): Sum {
  const loads = loadCounts([]);
  for (const part of parts) for (const key of Object.keys(loads) as (keyof LoadCounts)[]) loads[key] += part.loads[key];
  return { time: addTimes(parts.map((part) => part.time)), loads, timed: parts.flatMap((part) => part.timed) };
}

function numbersOf(chamber: string | null, parts: readonly Part[], window: Span, sum: Sum): WindowNumbers {
  return {
    chamber,
    chambers: parts.length,
    from: window.from,
    to: window.to,
    time: sum.time,
    ...shares(sum.time),
    loads: sum.loads,
    recipes: recipeTimes(sum.timed),
    alarms: alarmNumbers(parts, window),
  };
}

/** The parts of intervals that lie in the window. */
export function clipped(intervals: readonly StateInterval[], window: Span): readonly StateInterval[] {
  return intervals
    .filter((interval) => interval.from < window.to && interval.to > window.from)
    .map((interval) =>
      interval.from >= window.from && interval.to <= window.to
        ? interval
        : { ...interval, from: Math.max(interval.from, window.from), to: Math.min(interval.to, window.to) },
    );
}
