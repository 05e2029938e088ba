/**
 * All numbers of any window, by chamber and for the fleet.
 * [WN1] The fleet's hours are the sum of its chambers' hours, and its shares are computed from that sum.
 * [WN2] The fleet's loads and times are those of all its chambers' runs together, not averages of chambers.
 * [WN3] A chamber has the same numbers whether it is asked for alone or with the fleet: what is nominal comes from the fleet either way.
 */
import { alarmNumbers, type AlarmSubject } from './alarm-stats.ts';
import { type Calendar, nonscheduled, type Shift, shiftsBetween, type Span } from './calendar.ts';
import type { StateInterval } from './contract.ts';
import { isLoad, loadCounts, NO_RECIPE, recipeTimes, type TimedRun, timedRuns } from './cycle-time.ts';
import { addWork, effectiveness, isoFigures, type NominalTimes, nominalTimes, type Work, workOf } from './effectiveness.ts';
import type { RunEnded } from './event.ts';
import { type ChamberFacts, within } from './facts.ts';
import { ASSIST_LIMIT_MS, downtimeEvents, type Interrupt, interrupts } from './interrupts.ts';
import { stateIntervals } from './interval.ts';
import type { WaitingPart } from './kpi.ts';
import type { LoadCounts, StateTimes, WindowNumbers } from './numbers.ts';
import { failureTimes, reliabilityNumbers } from './reliability-numbers.ts';
import { shiftLoads } from './shift-loads.ts';
import { type Cycle, cyclesOf, throughputs } from './throughput.ts';
import { addElsewhere, addTimes, dependentUptimes, downtimeElsewhere, type Elsewhere, shares, stateTimes } from './utilization.ts';
import { addWaiting, waitingParts } from './waiting.ts';
import { DAY_MS } from './zone.ts';

/** Cycles and stops that end within this long after the window still count to the run that ended, the stop that began in it. */
export const LAST_CYCLE_MS = DAY_MS;

export type FleetWindow = {
  readonly fleet: WindowNumbers;
  readonly chambers: readonly WindowNumbers[];
  /** Per chamber, in the order of the facts: the partition that the numbers rest on. */
  readonly intervals: readonly (readonly StateInterval[])[];
  /** Likewise what else they were made of. */
  readonly parts: readonly Part[];
  readonly nominal: NominalTimes;
  /** Those that touch the window. */
  readonly shifts: readonly Shift[];
};

/** Calendar of the window, what is an assist there, and what is nominal where the facts given are not the whole fleet's. */
export type WindowRules = Calendar & { readonly assistLimitMs?: number; readonly nominal?: NominalTimes };

/** Numbers of [from, to) for the chambers given. */
export function windowNumbers(fleet: readonly ChamberFacts[], window: Span, rules: WindowRules): FleetWindow {
  const wide = { from: window.from - LAST_CYCLE_MS, to: window.to + LAST_CYCLE_MS };
  const frame: Frame = {
    window,
    wide,
    free: nonscheduled(rules, wide.from, wide.to),
    shifts: shiftsBetween(rules, window.from, window.to),
    assistLimitMs: rules.assistLimitMs ?? ASSIST_LIMIT_MS,
    nominal: rules.nominal ?? nominalTimes(fleet.flatMap(({ runs }) => within(runs, window.from, window.to))),
  };
  const parts = fleet.map((facts) => chamberPart(facts, frame));
  const sum = parts.length === 1 ? (parts[0] as Part) : together(parts);
  return {
    fleet: numbersOf(null, parts, frame, sum),
    chambers: parts.map((part) => numbersOf(part.facts.chamber, [part], frame, part)),
    intervals: parts.map((part) => part.intervals),
    parts,
    nominal: frame.nominal,
    shifts: frame.shifts,
  };
}

type Frame = {
  readonly window: Span;
  readonly wide: Span;
  readonly free: readonly Span[];
  readonly shifts: readonly Shift[];
  readonly assistLimitMs: number;
  readonly nominal: NominalTimes;
};
type Sum = {
  readonly time: StateTimes;
  readonly elsewhere: Elsewhere;
  readonly loads: LoadCounts;
  readonly runs: readonly RunEnded[];
  readonly timed: readonly TimedRun[];
  readonly stops: readonly Interrupt[];
  readonly downtimeEvents: readonly Span[];
  readonly work: Work;
  readonly waiting: readonly WaitingPart[];
  readonly cycles: readonly Cycle[];
};
/** `around`: its intervals a day beyond the window on both sides, by which stops and cycles that reach over its ends are known whole. */
export type Part = Sum & AlarmSubject & { readonly around: readonly StateInterval[] };

function chamberPart(facts: ChamberFacts, { window, wide, free, assistLimitMs, nominal }: Frame): Part {
  const around = stateIntervals(facts, wide, free);
  const intervals = clipped(around, window);
  const runs = within(facts.runs, window.from, window.to);
  const timed = timedRuns(facts.runs, window, around);
  const began = ({ from }: Span): boolean => from >= window.from && from < window.to;
  return {
    facts,
    intervals,
    around,
    time: stateTimes(intervals),
    elsewhere: downtimeElsewhere(intervals),
    loads: loadCounts(runs),
    runs,
    timed,
    stops: interrupts(around, assistLimitMs).filter(began),
    downtimeEvents: downtimeEvents(around).filter(began),
    work: workOf(runs, intervals, nominal),
    waiting: waitingParts(intervals),
    cycles: cyclesOf(timed, around, NO_RECIPE),
  };
}

/** [WN1] [WN2] */
function together(parts: readonly Part[]): Sum {
  const loads = loadCounts([]);
  for (const part of parts) for (const key of Object.keys(loads) as (keyof LoadCounts)[]) loads[key] += part.loads[key];
  return {
    time: addTimes(parts.map((part) => part.time)),
    elsewhere: addElsewhere(parts.map((part) => part.elsewhere)),
    loads,
    runs: parts.flatMap((part) => part.runs),
    timed: parts.flatMap((part) => part.timed),
    stops: parts.flatMap((part) => part.stops),
    downtimeEvents: parts.flatMap((part) => part.downtimeEvents),
    work: addWork(parts.map((part) => part.work)),
    waiting: addWaiting(parts.map((part) => part.waiting)),
    cycles: parts.flatMap((part) => part.cycles),
  };
}

function numbersOf(chamber: string | null, parts: readonly Part[], { window, shifts, assistLimitMs }: Frame, sum: Sum): WindowNumbers {
  const { time, stops, runs, work } = sum;
  const failureTimesMs = failureTimes(
    stops,
    parts.map(({ intervals }) => intervals),
  );
  return {
    chamber,
    chambers: parts.length,
    from: window.from,
    to: window.to,
    time,
    ...shares(time),
    ...dependentUptimes(time, sum.elsewhere),
    loads: sum.loads,
    recipes: recipeTimes(sum.timed),
    alarms: alarmNumbers(parts, window),
    reliability: reliabilityNumbers(time, {
      ...{ stops, downtimeEvents: sum.downtimeEvents.length, cycles: runs.length },
      ...{ failureTimesMs, assistLimitMs },
    }),
    oee: effectiveness(time, work),
    iso22400: isoFigures(time, work),
    waiting: [...sum.waiting],
    shiftLoads: shiftLoads(runs.filter(isLoad), shifts, window),
    throughput: throughputs(sum.cycles, window.to - window.from),
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
