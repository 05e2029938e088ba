/**
 * Reliability figures of equipment time, in the manner of SEMI E10 (formulas from memory unless said). Hours in, hours out; null where there
 * is nothing to divide by: no failure is not an infinite time between failures.
 * [RY1] MTBFp = productive time / failures; MTBFu = uptime / failures; MTBAp = productive time / assists; MCBF = cycles / failures;
 *       MTTR = repair time / failures repaired; MTOL = downtime / downtime events.
 * [RY2] Dependent uptime leaves the downtime that is not the equipment's (or the supplier's) out of operations time.
 */
import type { StateTimes } from './numbers.ts';
import { downtimeMs, operationsMs, uptimeMs } from './utilization.ts';
import { HOUR_MS } from './zone.ts';

export type ReliabilityCounts = {
  readonly failures: number;
  readonly assists: number;
  readonly cycles: number;
  readonly repairMs: number;
  readonly downtimeEvents: number;
};
export type Reliability = {
  readonly mtbfProductiveH: number | null;
  readonly mtbfUptimeH: number | null;
  readonly mtbAssistsH: number | null;
  readonly cyclesBetweenFailures: number | null;
  readonly mttrH: number | null;
  readonly meanOfflineH: number | null;
};

/** [RY1] */
export function reliability(time: StateTimes, counts: ReliabilityCounts): Reliability {
  return {
    mtbfProductiveH: per(time.productive / HOUR_MS, counts.failures),
    mtbfUptimeH: per(uptimeMs(time) / HOUR_MS, counts.failures),
    mtbAssistsH: per(time.productive / HOUR_MS, counts.assists),
    cyclesBetweenFailures: per(counts.cycles, counts.failures),
    mttrH: per(counts.repairMs / HOUR_MS, counts.failures),
    meanOfflineH: per(downtimeMs(time) / HOUR_MS, counts.downtimeEvents),
  };
}

/** [RY2] Uptime as a part of operations time without `excludedMs` of downtime (maintenance delay, facilities, out-of-spec input). */
export function dependentUptime(time: StateTimes, excludedMs: number): number | null {
  return per(uptimeMs(time), operationsMs(time) - excludedMs);
}

function per(amount: number, count: number): number | null {
  return count > 0 ? amount / count : null;
}
