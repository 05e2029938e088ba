/**
 * Times of loads explained: percentiles by the two values that they lie between, summed parts of cycles by chamber.
 * [XS1] A percentile is between two of its values by the NIST rule; every value is listed.
 */
import { isLoad, NO_RECIPE, type TimedRun } from './cycle-time.ts';
import { type Draft, type Evidence, type Ingredient, PLAIN } from './explanation.ts';
import { counted, countTerm, runEvidence } from './explain-count.ts';
import { CYCLE_PARTS, type CyclePartName } from './kpi.ts';
import { ascending } from './stats.ts';
import type { Part } from './window.ts';

export const SPREAD_TIMES = ['process-time', 'cycle-time', 'wait-for-unload'] as const;
type SpreadTime = (typeof SPREAD_TIMES)[number];

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

type OfRecipe = { readonly recipe: string; readonly parts: readonly Part[] };

const loadsOf = ({ recipe, parts }: OfRecipe): readonly TimedRun[] =>
  parts.flatMap(({ timed }) => timed.filter(({ run }) => (run.recipe ?? NO_RECIPE) === recipe && isLoad(run)));

/** Loads of one recipe. */
export function explainRecipeLoads(recipe: string, parts: readonly Part[]): Draft {
  const runs = loadsOf({ recipe, parts }).map(({ run }) => run);
  return counted(
    `loads of ${recipe}`,
    countTerm('loads', runs, ({ chamber }) => chamber),
    {
      formula: 'completed product runs of this recipe that ended in the window',
      source: 'common practice, no source: a load is a completed product run',
      madeOf: runs.map((run) => runEvidence(run, 1)),
    },
  );
}

/** All that loads of one recipe waited, back at atmosphere, until they were opened. */
export function explainWaitSum(recipe: string, parts: readonly Part[]): Draft {
  const { words, of, rule } = TIMES['wait-for-unload'];
  const known = withTime(loadsOf({ recipe, parts }), of);
  const ingredients = byChamber(known);
  const amount = ingredients.reduce((sum, one) => sum + one.amount, 0);
  return {
    ...PLAIN,
    words: `summed ${words} of ${recipe}`,
    unit: 'ms',
    value: amount,
    formula: `sum over loads: ${rule}`,
    source: 'common practice, no source',
    numerator: { words, unit: 'ms', amount, parts: ingredients },
    madeOf: known.map(({ timed, ms }) => runEvidence(timed.run, ms)),
  };
}

type Timed = { readonly timed: TimedRun; readonly ms: number };
const withTime = (loads: readonly TimedRun[], of: (timed: TimedRun) => number | null): readonly Timed[] =>
  loads.flatMap((timed) => {
    const ms = of(timed);
    return ms === null ? [] : [{ timed, ms }];
  });

/** [XS1] `percent` such as 50. Null for a recipe without any such time. */
export function explainSpread(time: SpreadTime, percent: number, asked: OfRecipe): Draft | null {
  const { words, of, rule } = TIMES[time];
  const loads = loadsOf(asked);
  const known = withTime(loads, of);
  if (known.length === 0) return null;
  const values = ascending(known.map(({ ms }) => ms));
  const n = values.length;
  const position = Math.min(Math.max((percent / 100) * (n + 1), 1), n);
  const below = values[Math.floor(position) - 1] as number;
  const above = values[Math.ceil(position) - 1] as number;
  return {
    ...PLAIN,
    words: `${words} of ${asked.recipe}: ${percent} % of loads are as fast or faster`,
    unit: 'ms',
    value: below + (position - Math.floor(position)) * (above - below),
    formula: `${rule}; between the values on both sides of position p (n + 1)`,
    base: `${n} of ${loads.length} loads`,
    source: 'percentile by NIST e-Handbook 7.2.6.2 (type 6); the time itself: common practice, no source',
    numerator: { words: `all ${words}s`, unit: 'ms', amount: values.reduce((sum, ms) => sum + ms, 0), parts: byChamber(known) },
    percentile: { p: percent / 100, n, position, below, above },
    madeOf: known.map(({ timed, ms }) => runEvidence(timed.run, ms)),
  };
}

function byChamber(known: readonly Timed[]): Ingredient[] {
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
    ...PLAIN,
    words: `${part} in whole cycles${recipe === null ? '' : ` of ${recipe}`}`,
    unit: 'ms',
    value: amount,
    formula: 'sum over whole cycles, door closed to door closed',
    base: `${found.length} cycles that have this part`,
    source: 'common practice, no source',
    numerator: { words: part, unit: 'ms', amount, parts: ingredients },
    madeOf: found.map(({ timed, ms }): Evidence => runEvidence(timed.run, ms)),
  };
}
