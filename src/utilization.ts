/**
 * Shares of equipment time, in the manner of SEMI E10 (formulas from memory; hierarchy of states in OPC UA Machine Vision 11.6.1, table 137).
 * Total = operations + nonscheduled; operations = uptime + downtime; uptime = productive + standby + engineering.
 * [UT1] The seven states sum to the window, times the chambers, exactly.
 * [UT2] A share divides by the observed part of its base. It comes with coverage = observed base / whole base, where the whole base is what
 *       the base would be had all unobserved time belonged to it.
 * [UT3] A share carries bounds that hold whatever the unobserved time was: low takes all of it as base but not as numerator, high takes all of
 *       it as both. That also covers unobserved time that was in truth nonscheduled: leaving x <= y out of both parts of n/(b+y) keeps the
 *       result between n/(b+y) and (n+y)/(b+y).
 * [UT4] Under 80 % coverage the share has no value; its bounds stay. (Own rule; OPC UA part 13, 5.4.3.23: time of bad data is not counted.)
 * [UT6] Dependent uptime leaves the downtime that a person's reason lays elsewhere out of operations time: maintenance delay, facilities and
 *       out-of-spec input for the equipment; of delays only the user's own for its supplier. Downtime that nobody explained stays in the base,
 *       and the upper bound takes it out.
 * [UT5] Several chambers: hours are summed first, then divided. Percentages are never averaged.
 */
import type { StateInterval } from './contract.ts';
import { type DowntimeKind, EQUIPMENT_STATES } from './equipment.ts';
import type { Share, StateTimes } from './numbers.ts';

/** [UT4] Least coverage at which a share is stated. */
export const LEAST_COVERAGE = 0.8;
/** Least coverage at which numbers that are counted (loads, alarms) may stand beside others: what nobody saw was not counted. */
export const COUNTING_COVERAGE = 0.95;

function noTime(): StateTimes {
  return Object.fromEntries(EQUIPMENT_STATES.map((state) => [state, 0])) as StateTimes;
}

/** [UT1] Milliseconds per state. */
export function stateTimes(intervals: readonly StateInterval[]): StateTimes {
  const times = noTime();
  for (const interval of intervals) times[interval.state] += interval.to - interval.from;
  return times;
}

/** [UT5] Sums of several chambers or windows. */
export function addTimes(parts: readonly StateTimes[]): StateTimes {
  const sum = noTime();
  for (const part of parts) for (const state of EQUIPMENT_STATES) sum[state] += part[state];
  return sum;
}

export function totalMs(time: StateTimes): number {
  return EQUIPMENT_STATES.reduce((sum, state) => sum + time[state], 0);
}

export function observedMs(time: StateTimes): number {
  return totalMs(time) - time.unobserved;
}

export function manufacturingMs(time: StateTimes): number {
  return time.productive + time.standby;
}

export function uptimeMs(time: StateTimes): number {
  return manufacturingMs(time) + time.engineering;
}

export function downtimeMs(time: StateTimes): number {
  return time['scheduled-downtime'] + time['unscheduled-downtime'];
}

/** Observed operations time: total without nonscheduled and unobserved. */
export function operationsMs(time: StateTimes): number {
  return uptimeMs(time) + downtimeMs(time);
}

export type Shares = {
  readonly totalUtilization: Share;
  readonly operationalUtilization: Share;
  readonly totalUptime: Share;
  readonly operationalUptime: Share;
};

/** [UT2]-[UT4] The four shares of a set of hours. */
export function shares(time: StateTimes): Shares {
  const total = { base: 'total time', observed: observedMs(time), unobserved: time.unobserved };
  const operations = { base: 'operations time', observed: operationsMs(time), unobserved: time.unobserved };
  const up = uptimeMs(time);
  return {
    totalUtilization: share('total utilization', 'productive / total time', time.productive, total),
    operationalUtilization: share('operational utilization', 'productive / operations time', time.productive, operations),
    totalUptime: share('total uptime', 'uptime / total time', up, total),
    operationalUptime: share('operational uptime', 'uptime / operations time', up, operations),
  };
}

/** [UT6] Downtime that is not the equipment's, not its supplier's, and that nobody explained. */
export type Elsewhere = { readonly equipmentMs: number; readonly supplierMs: number; readonly unexplainedMs: number };

const NOT_SUPPLIERS: readonly (DowntimeKind | null)[] = ['user-delay', 'facilities', 'out-of-spec-input'];
const NOT_EQUIPMENTS: readonly (DowntimeKind | null)[] = [...NOT_SUPPLIERS, 'supplier-delay'];
const isDown = ({ state }: StateInterval): boolean => state === 'unscheduled-downtime' || state === 'scheduled-downtime';

/** [UT6] */
export function downtimeElsewhere(intervals: readonly StateInterval[]): Elsewhere {
  const down = intervals.filter(isDown);
  const sum = (list: readonly StateInterval[]): number => list.reduce((total, { from, to }) => total + to - from, 0);
  return {
    equipmentMs: sum(down.filter(({ downtime }) => NOT_EQUIPMENTS.includes(downtime))),
    supplierMs: sum(down.filter(({ downtime }) => NOT_SUPPLIERS.includes(downtime))),
    unexplainedMs: sum(down.filter(({ state, source }) => state === 'unscheduled-downtime' && source !== 'person')),
  };
}

export function addElsewhere(parts: readonly Elsewhere[]): Elsewhere {
  const sum = (of: keyof Elsewhere): number => parts.reduce((total, part) => total + part[of], 0);
  return { equipmentMs: sum('equipmentMs'), supplierMs: sum('supplierMs'), unexplainedMs: sum('unexplainedMs') };
}

/** [UT6] */
export function dependentUptimes(
  time: StateTimes,
  elsewhere: Elsewhere,
): { equipmentDependentUptime: Share; supplierDependentUptime: Share } {
  const { equipmentMs, supplierMs, unexplainedMs } = elsewhere;
  return {
    equipmentDependentUptime: dependent('equipment-dependent uptime', time, { excludedMs: equipmentMs, unexplainedMs }),
    supplierDependentUptime: dependent('supplier-dependent uptime', time, { excludedMs: supplierMs, unexplainedMs }),
  };
}

function dependent(name: string, time: StateTimes, { excludedMs, unexplainedMs }: { excludedMs: number; unexplainedMs: number }): Share {
  const observed = operationsMs(time) - excludedMs;
  const base = { base: 'operations time without what was not its doing', observed, unobserved: time.unobserved };
  const plain = share(name, 'uptime / operations time without the downtime laid elsewhere by a reason', uptimeMs(time), base);
  const most = plain.baseMs - unexplainedMs;
  return { ...plain, high: most > 0 ? Math.min(1, (uptimeMs(time) + time.unobserved) / most) : plain.high };
}

type Base = { readonly base: string; readonly observed: number; readonly unobserved: number };

function share(name: string, formula: string, numerator: number, { base, observed, unobserved }: Base): Share {
  const baseMs = observed + unobserved;
  const coverage = baseMs > 0 ? observed / baseMs : null;
  const isStated = coverage !== null && observed > 0 && coverage >= LEAST_COVERAGE;
  return {
    name,
    value: isStated ? numerator / observed : null,
    low: baseMs > 0 ? numerator / baseMs : null,
    high: baseMs > 0 ? (numerator + unobserved) / baseMs : null,
    base,
    baseMs,
    coverage,
    rule: `${formula}, over observed time, in the manner of SEMI E10 (formulas from memory)`,
  };
}
