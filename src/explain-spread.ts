/**
 * Times of loads explained: percentiles by the two values that they lie between, summed parts of cycles by chamber.
 * [XS1] A percentile is between two of its values by the NIST rule; every value is listed.
 */
import { NO_RECIPE, type TimedRun } from './cycle-time.ts';
import { type Draft, type Evidence, type Ingredient, NO_BOUNDS } from './explanation.ts';
import { runEvidence } from './explain-count.ts';
import { CYCLE_PARTS, type CyclePartName } from './kpi.ts';
import { ascending } from './stats.ts';
import type { Part } from './window.ts';

export const SPREAD_TIMES = ['process-time', 'cycle-time', 'wait-for-unload'] as const;
export type SpreadTime = (typeof SPREAD_TIMES)[number];

const TIMES: Readonly<
  Record<SpreadTime, { readonly words: string; readonly of: (timed: TimedRun) => number | null; readonly rule: string }>
> = {
  'process-time': {
    words: 'process time',
    of: ({ run }) => run.at - run.startedAt,
    rule: 'pump-down start to the chamber back at atmosphere',
  },
  'cycle-time': {
    words: 'cycle time',
    of: ({ cycleMs }) => cycleMs,
    rule: 'door closed to door closed at the next run; cycles with unobserved or nonscheduled time are left out',
  },
  'wait-for-unload': {
    words: 'wait for unload',
    of: ({ waitMs }) => waitMs,
    rule: 'back at atmosphere until the door opens; waits that unobserved or nonscheduled time cuts are left out',
  },
};

/** [XS1] `percent` such as 50; `loads` are of one recipe. Null for a recipe without any such time. */
export function explainSpread(time: SpreadTime, percent: number, loads: readonly TimedRun[]): Draft | null {
  const { words, of, rule } = TIMES[time];
  const known = loads.flatMap((timed) => {
    const ms = of(timed);
    return ms === null ? [] : [{ timed, ms }];
  });
  if (known.length === 0) return null;
  const recipe = known[0]?.timed.run.recipe ?? NO_RECIPE;
  const values = ascending(known.map(({ ms }) => ms));
  const n = values.length;
  const position = Math.min(Math.max((percent / 100) * (n + 1), 1), n);
  const below = values[Math.floor(position) - 1] as number;
  const above = values[Math.ceil(position) - 1] as number;
  return {
    words: `${words} of ${recipe}: ${percent} % of loads are as fast or faster`,
    unit: 'ms',
    value: below + (position - Math.floor(position)) * (above - below),
    ...NO_BOUNDS,
    coverage: null,
    formula: `${rule}; between the values on both sides of position p (n + 1)`,
    base: `${n} of ${loads.length} loads`,
    source: 'percentile by NIST e-Handbook 7.2.6.2 (type 6); the time itself: common practice, no source',
    scale: 1,
    numerator: { words: `all ${words}s`, unit: 'ms', amount: values.reduce((sum, ms) => sum + ms, 0), parts: byChamber(known) },
    denominator: null,
    percentile: { p: percent / 100, n, position, below, above },
    excluded: [],
    madeOf: known.map(({ timed, ms }) => runEvidence(timed.run, ms)),
  };
}

function byChamber(known: readonly { readonly timed: TimedRun; readonly ms: number }[]): Ingredient[] {
  return [...Map.groupBy(known, ({ timed }) => timed.run.chamber)].map(([label, group]) => ({
    label,
    state: null,
    amount: group.reduce((sum, { ms }) => sum + ms, 0),
    count: group.length,
  }));
}

/** Summed hours of one part of whole cycles. `recipe` null: of all. */
export function explainCyclePart(part: CyclePartName, recipe: string | null, parts: readonly Part[]): Draft {
  const place = CYCLE_PARTS.indexOf(part);
  const found = parts.flatMap(({ cycles }) =>
    cycles
      .filter((cycle) => recipe === null || cycle.recipe === recipe)
      .map(({ run, parts: ms }) => ({ timed: { run, cycleMs: null, waitMs: null }, ms: ms[place] as number }))
      .filter(({ ms }) => ms > 0),
  );
  const ingredients = byChamber(found);
  const amount = ingredients.reduce((sum, one) => sum + one.amount, 0);
  return {
    words: `${part} in whole cycles${recipe === null ? '' : ` of ${recipe}`}`,
    unit: 'ms',
    value: amount,
    ...NO_BOUNDS,
    coverage: null,
    formula: 'sum over whole cycles, door closed to door closed',
    base: `${found.length} cycles that have this part`,
    source: 'common practice, no source',
    scale: 1,
    numerator: { words: part, unit: 'ms', amount, parts: ingredients },
    denominator: null,
    excluded: [],
    madeOf: found.map(({ timed, ms }): Evidence => runEvidence(timed.run, ms)),
  };
}
