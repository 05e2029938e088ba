/**
 * OEE and the ISO 22400-2 set, as far as a chamber's facts carry them. Nobody counts good and bad here, so quality is not known and never
 * assumed: what is shown is availability times performance, and says so.
 * [EF1] A recipe's nominal process time is the time that a tenth of its loads in the window beat (NIST type 6), over all chambers of the fleet. It
 *       is of the window's own runs, so that the same runs give the same figure whenever they are asked for, and of how many is told with it.
 *       It is process time alone: loading, unloading and slower runs show as loss of performance. Performance may exceed 100 %.
 * [EF2] By SEMI E79 (from memory) the base is total time; by ISO 22400-2 (formulas seen in an open ontology of it) it is planned busy time, here
 *       total time without nonscheduled time and scheduled downtime. Both are over observed time.
 * [EF3] Bounds hold whatever the unobserved time was, as long as no recipe ran faster in it than nominal: low gives it no load, high all of it
 *       and the whole of the runs that were not fully observed.
 * [EF4] Of ISO 22400-2 only figures with every input known have a value; of the others it is said what is missing. Delay during an order is
 *       unscheduled downtime inside a run; corrective maintenance is unscheduled downtime, preventive scheduled downtime.
 */
import type { StateInterval } from './contract.ts';
import { isLoad } from './cycle-time.ts';
import type { RunEnded } from './event.ts';
import type { Effectiveness, IsoFigure } from './kpi.ts';
import type { StateTimes } from './numbers.ts';
import { iso22400, oeeE79 } from './oee.ts';
import { ascending, percentile } from './stats.ts';
import { LEAST_COVERAGE, observedMs, operationsMs, uptimeMs } from './utilization.ts';
import { HOUR_MS } from './zone.ts';

/** [EF1] Nominal process time, and of how many loads of the fleet it was learned. */
export type Nominal = { readonly ms: number; readonly loads: number };
/** By recipe. */
export type NominalTimes = ReadonlyMap<string, Nominal>;

const NOMINAL = 0.1;
const nameOf = (run: RunEnded): string => run.recipe ?? '';

/** [EF1] From the runs of the whole fleet that ended in the window. */
export function nominalTimes(runs: readonly RunEnded[]): NominalTimes {
  const byRecipe = Map.groupBy(runs.filter(isLoad), nameOf);
  return new Map(
    [...byRecipe].map(([recipe, group]) => {
      const times = ascending(group.map((run) => run.at - run.startedAt));
      return [recipe, { ms: percentile(times, NOMINAL), loads: times.length }];
    }),
  );
}

/** Sums of a window that effectiveness is made of. */
export type Work = {
  readonly loads: number;
  /** [EF1] Nominal process time of the loads. */
  readonly theoreticalMs: number;
  /** [EF3] Nominal process time of the runs that were not fully observed. */
  readonly unsureMs: number;
  /** [EF4] Unscheduled downtime inside runs. */
  readonly delayedMs: number;
};

export const NO_WORK: Work = { loads: 0, theoreticalMs: 0, unsureMs: 0, delayedMs: 0 };

export function workOf(runs: readonly RunEnded[], intervals: readonly StateInterval[], nominal: NominalTimes): Work {
  const loads = runs.filter(isLoad);
  const unsure = runs.filter((run) => run.outcome === 'not-fully-observed' && !run.engineering);
  const time = (list: readonly RunEnded[]): number => list.reduce((sum, run) => sum + (nominal.get(nameOf(run))?.ms ?? 0), 0);
  const delayed = intervals.filter(({ state, run }) => state === 'unscheduled-downtime' && run !== null);
  return {
    loads: loads.length,
    theoreticalMs: time(loads),
    unsureMs: time(unsure),
    delayedMs: delayed.reduce((sum, { from, to }) => sum + to - from, 0),
  };
}

export function addWork(parts: readonly Work[]): Work {
  return parts.reduce(
    (sum, part) => ({
      loads: sum.loads + part.loads,
      theoreticalMs: sum.theoreticalMs + part.theoreticalMs,
      unsureMs: sum.unsureMs + part.unsureMs,
      delayedMs: sum.delayedMs + part.delayedMs,
    }),
    NO_WORK,
  );
}

/** [EF2] [EF3] OEE without quality by both bases. */
export function effectiveness(time: StateTimes, work: Work): Effectiveness[] {
  const e79 = ofTotalTime(time, work);
  const iso = ofPlannedTime(time, work);
  const formula = 'nominal process time of the loads / productive time';
  return [
    oee(time, work, {
      manner: 'SEMI E79',
      base: 'total time',
      observed: observedMs(time),
      rule: 'in the manner of SEMI E79 (from memory)',
      factors: [
        { name: 'availability', value: e79.availability, formula: 'uptime / total time' },
        { name: 'operational efficiency', value: e79.operational, formula: 'productive time / uptime' },
        { name: 'rate efficiency', value: e79.rate, formula },
      ],
    }),
    oee(time, work, {
      manner: 'ISO 22400-2',
      base: 'planned busy time',
      observed: plannedMs(time),
      rule: 'in the manner of ISO 22400-2 (formulas seen in an open ontology of it)',
      factors: [
        { name: 'availability', value: iso.availability, formula: 'productive time / planned busy time' },
        { name: 'effectiveness', value: iso.effectiveness, formula },
      ],
    }),
  ];
}

/** [EF2] Good and bad are not told apart: of what comes back, quality and what is made of it are not used. */
const ofTotalTime = (time: StateTimes, work: Work): ReturnType<typeof oeeE79> =>
  oeeE79({
    totalMs: observedMs(time),
    uptimeMs: uptimeMs(time),
    productiveMs: time.productive,
    theoreticalMs: work.theoreticalMs,
    theoreticalGoodMs: work.theoreticalMs,
  });

const plannedMs = (time: StateTimes): number => operationsMs(time) - time['scheduled-downtime'];

/** [EF4] Setup is not told apart from loading and orders are not known: of what comes back, what is made of them is not used. */
const ofPlannedTime = (time: StateTimes, work: Work): ReturnType<typeof iso22400> =>
  iso22400({
    pbt: plannedMs(time),
    apt: time.productive,
    aust: 0,
    adet: work.delayedMs,
    aoet: plannedMs(time),
    priTimesPq: work.theoreticalMs,
    pq: work.loads,
    gq: work.loads,
  });

type Base = Pick<Effectiveness, 'manner' | 'base' | 'factors' | 'rule'> & { readonly observed: number };

function oee(time: StateTimes, work: Work, { observed, rule, ...base }: Base): Effectiveness {
  const baseMs = observed + time.unobserved;
  const coverage = ratio(observed, baseMs);
  const high = ratio(work.theoreticalMs + work.unsureMs + time.unobserved, baseMs);
  return {
    name: 'OEE without quality',
    ...base,
    baseMs,
    value: coverage !== null && coverage >= LEAST_COVERAGE ? ratio(work.theoreticalMs, observed) : null,
    low: ratio(work.theoreticalMs, baseMs),
    high,
    coverage,
    quality: 'not known',
    theoreticalMs: work.theoreticalMs,
    rule: `nominal process time of the loads / ${base.base}, ${rule}; nominal is what a tenth of the recipe's loads in the fleet beat; quality is not known and not in it`,
  };
}

/** [EF4] */
export function isoFigures(time: StateTimes, work: Work): IsoFigure[] {
  const iso = ofPlannedTime(time, work);
  const down = { corrective: time['unscheduled-downtime'], preventive: time['scheduled-downtime'] };
  const share = (name: string, value: number | null, formula: string): IsoFigure => ({
    name,
    value,
    unit: 'share',
    formula,
    missing: null,
  });
  const missing = (name: string, formula: string, what: string): IsoFigure => ({
    name,
    value: null,
    unit: 'share',
    formula,
    missing: what,
  });
  return [
    share('availability', iso.availability, 'APT / PBT: productive / planned busy time'),
    share('effectiveness', iso.effectiveness, 'PRI x PQ / APT: nominal time of loads / productive time'),
    share('technical efficiency', iso.technicalEfficiency, 'APT / (APT + ADET): productive / productive and stops in runs'),
    share('allocation efficiency', iso.allocationEfficiency, 'AUBT / PBT: busy / planned busy time'),
    share(
      'corrective maintenance ratio',
      ratio(down.corrective, down.corrective + down.preventive),
      'CMT / (CMT + PMT): unscheduled / all downtime',
    ),
    {
      name: 'throughput',
      value: iso.throughputRate === null ? null : iso.throughputRate * HOUR_MS,
      unit: 'per hour',
      formula: 'loads / planned busy time; AOET is not known',
      missing: null,
    },
    missing('quality ratio', 'GQ / PQ', 'nobody counts good and bad loads here'),
    missing('OEE index', 'availability x effectiveness x quality ratio', 'the quality ratio is not known'),
    missing('allocation ratio', 'AUBT / AOET', 'no order data: when orders began and ended is not known'),
    missing('utilization efficiency', 'APT / AUBT', 'setup is not told apart from loading'),
    missing('setup ratio', 'AUST / AUPT', 'setup is not told apart from loading'),
  ];
}

function ratio(part: number, base: number): number | null {
  return base > 0 ? part / base : null;
}
