/**
 * Failures, assists and repairs of a window with what their counts say, for one chamber or several together.
 * [RB1] Times and counts of several chambers are summed first, then divided; bounds are of the summed count.
 * [RB2] Means of time between failures have chi-square bounds of a constant failure rate (NIST e-Handbook 8.4.5.1); without a failure a lower
 *       bound alone. MTTR and MTOL have bounds of exponential times, an assumption.
 * [RB3] MTBFp and MTBAp count the stops that hit production, MTBFu and MCBF all failures, in the manner of SEMI E10 (from memory).
 * [RB4] From four failures on a trend is looked for, over productive time of all chambers summed. It is called one when at least two of three
 *       tests agree at 5 % (reverse arrangement, military handbook, Laplace: NIST e-Handbook 8.2.3.4; the vote of two is our own rule).
 */
import type { StateInterval } from './contract.ts';
import { laplace, militaryHandbook, reverseArrangement } from './failure-trend.ts';
import { ASSIST_LIMIT_MS, type Interrupt } from './interrupts.ts';
import { CONFIDENCE, type FailureTrend, type MeanFigure, type ReliabilityNumbers } from './kpi.ts';
import { type MeanBounds, meanTimeBounds, mtbfBounds } from './mtbf-bounds.ts';
import type { StateTimes } from './numbers.ts';
import { downtimeMs, uptimeMs } from './utilization.ts';
import { MINUTE_MS } from './zone.ts';

const MANNER = 'in the manner of SEMI E10 (from memory)';
const LEAST_FOR_TREND = 4;
/** Counting all orders of more gaps than this takes long; the other two tests remain. */
const MOST_ORDERED = 60;
const SIGNIFICANT = 0.05;

export type Stops = {
  readonly stops: readonly Interrupt[];
  readonly downtimeEvents: number;
  readonly cycles: number;
  /** Productive time, of all chambers, before each failure: from `failureTimes`. */
  readonly failureTimesMs: readonly number[];
  /** By which the stops were told apart. */
  readonly assistLimitMs?: number;
};

/** [RB1]-[RB4] */
export function reliabilityNumbers(time: StateTimes, counted: Stops): ReliabilityNumbers {
  const { stops, downtimeEvents, cycles, assistLimitMs = ASSIST_LIMIT_MS } = counted;
  const failed = stops.filter(({ kind }) => kind === 'failure');
  const assisted = stops.filter(({ kind }) => kind === 'assist');
  const repaired = failed.filter(({ cut, open }) => !cut && !open);
  const repairMs = sum(repaired, ({ downMs, delayMs }) => downMs - delayMs);
  const inProduction = (list: readonly Interrupt[]): number => list.filter((stop) => stop.inProduction).length;
  const counts = { failuresInProduction: inProduction(failed), assistsInProduction: inProduction(assisted) };
  return {
    failures: failed.length,
    assists: assisted.length,
    ...counts,
    external: stops.length - failed.length - assisted.length,
    cut: failed.filter(({ cut }) => cut).length,
    open: failed.filter(({ open }) => open).length,
    cycles,
    downtimeEvents,
    repairs: repaired.length,
    repairMs,
    delayMs: sum(repaired, ({ delayMs }) => delayMs),
    mtbfProductive: between('MTBFp', 'productive time per failure in production', [time.productive, counts.failuresInProduction]),
    mtbfUptime: between('MTBFu', 'uptime per failure', [uptimeMs(time), failed.length]),
    cyclesBetweenFailures: between('MCBF', 'runs per failure', [cycles, failed.length]),
    mtbAssists: between('MTBAp', 'productive time per assist in production', [time.productive, counts.assistsInProduction]),
    mttr: lasting('MTTR', 'repair time per failure repaired', [repairMs, repaired.length]),
    meanOffline: lasting('MTOL', 'downtime per downtime event', [downtimeMs(time), downtimeEvents]),
    trend: trend(counted.failureTimesMs, time.productive),
    assistLimitMs,
    rule: `stops that began in the window, ${MANNER}; an assist was cleared within ${assistLimitMs / MINUTE_MS} min without maintenance; no word makes one of a longer stop`,
  };
}

type Quotient = readonly [amount: number, count: number];

/** [RB2] */
function between(name: string, words: string, [amount, count]: Quotient): MeanFigure {
  const bounds = mtbfBounds({ amount, failures: count, confidence: CONFIDENCE });
  return figure({ name, words, amount, count, unit: name === 'MCBF' ? 'cycles' : 'ms', ...bounds });
}

function lasting(name: string, words: string, [amount, count]: Quotient): MeanFigure {
  return figure({ name, words, amount, count, unit: 'ms', ...meanTimeBounds({ amount, failures: count, confidence: CONFIDENCE }) });
}

function figure({ rule, ...given }: MeanBounds & Omit<MeanFigure, 'rule'>): MeanFigure {
  return { ...given, rule: `${given.words}, ${MANNER}; bounds: ${rule}` };
}

/** [RB4] `timesMs`: productive time of all chambers before each failure, ascending. */
export function trend(timesMs: readonly number[], endMs: number): FailureTrend | null {
  if (timesMs.length < LEAST_FOR_TREND || endMs <= 0) return null;
  const failures = { timesH: timesMs, endH: endMs };
  const order = timesMs.length <= MOST_ORDERED ? reverseArrangement(timesMs) : null;
  const handbook = militaryHandbook(failures);
  const line = laplace(failures);
  const tests: FailureTrend['tests'] = [
    ...(order
      ? [{ name: 'reverse arrangement', statistic: order.reversals, pImproving: order.pImproving, pWorsening: order.pWorsening }]
      : []),
    ...(handbook ? [test('military handbook, chi-square', handbook.chiSquare, handbook.pImproving)] : []),
    ...(line ? [test('Laplace, z', line.z, line.pImproving)] : []),
  ];
  const votes = (side: 'pImproving' | 'pWorsening'): number => tests.filter((one) => one[side] < SIGNIFICANT).length;
  const verdict = votes('pImproving') >= 2 ? 'improving' : votes('pWorsening') >= 2 ? 'worsening' : 'no trend shown';
  return {
    failures: timesMs.length,
    verdict,
    text: TREND_WORDS[verdict],
    tests,
    rule: 'two of three tests at 5 %: NIST e-Handbook 8.2.3.4',
  };
}

const test = (name: string, statistic: number, pImproving: number): FailureTrend['tests'][number] => ({
  name,
  statistic,
  pImproving,
  pWorsening: 1 - pImproving,
});

const TREND_WORDS = {
  improving: 'Failures came further apart as the window went on.',
  worsening: 'Failures came closer together as the window went on.',
  'no trend shown': 'The failures show no trend: they may well have come by chance as they did.',
} as const;

/** [RB4] How much productive time of all chambers lay before each failure that hit production, ascending. */
export function failureTimes(stops: readonly Interrupt[], chambers: readonly (readonly StateInterval[])[]): readonly number[] {
  const at = stops
    .filter(({ kind, inProduction }) => kind === 'failure' && inProduction)
    .map(({ from }) => from)
    .sort((a, b) => a - b);
  if (at.length < LEAST_FOR_TREND) return [];
  const before = new Float64Array(at.length);
  for (const intervals of chambers) addProductive(intervals, at, before);
  return [...before];
}

function addProductive(intervals: readonly StateInterval[], at: readonly number[], before: Float64Array): void {
  let [done, i]: [number, number] = [0, 0];
  for (const { state, from, to } of intervals) {
    for (; i < at.length && (at[i] as number) < to; i++) before[i] = (before[i] as number) + done + grown(state, (at[i] as number) - from);
    done += grown(state, to - from);
  }
  for (; i < at.length; i++) before[i] = (before[i] as number) + done;
}

const grown = (state: StateInterval['state'], ms: number): number => (state === 'productive' ? Math.max(0, ms) : 0);

function sum<T>(list: readonly T[], of: (one: T) => number): number {
  return list.reduce((total, one) => total + of(one), 0);
}
