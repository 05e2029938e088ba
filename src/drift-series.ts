/**
 * The figures that a chamber's runs leave behind, laid out for the drift charts.
 * [DF1] A run is good, fit to teach a baseline, when it was completed, wholly observed and without a deviation.
 * [DF2] Figures of what comes after the pump-down are taken from completed runs only: a run broken off has no energy to compare.
 * [DF3] What happens before gas comes on in the first two parts of the pump-down, and what is no recipe's doing (rate of rise, flow controller
 *       zeros), is of the chamber; all else is of chamber and recipe, its base and tail too, because boards of different recipes hold more water or less.
 * [DF4] Runs without a load (engineering, no load told) tell nothing of loaded ones: they give the tail of an empty pump-down, and nothing else
 *       but rate of rise and flow zeros.
 * [DF5] A figure seen in few runs, such as one of leak tests and of empty runs, is rare (drift.ts).
 * [DF6] Of a long record the newest runs are kept, and those after every beginning of a baseline: what is forgotten moves no baseline.
 */
import type { MeasuredRun } from './drift.ts';
import type { SymptomName } from './drift-cause.ts';
import type { RunEnded } from './event.ts';
import type { RunRecord } from './run-facts.ts';
import { GAS_LINES } from './signal.ts';

export type SeriesKey = {
  readonly name: SymptomName;
  /** Gas line of a flow controller's figure. */
  readonly line: number | null;
};
type Kind = { readonly scope: 'chamber' | 'recipe'; readonly from: 'loaded' | 'empty' | 'any'; readonly isRare: boolean };

const recipe: Kind = { scope: 'recipe', from: 'loaded', isRare: false };
const chamber: Kind = { ...recipe, scope: 'chamber' };

/** In the order in which they are shown. [DF3] [DF4] [DF5] */
export const SERIES_KINDS: Readonly<Record<SymptomName, Kind>> = {
  'pump-down': recipe,
  'pump-down-first': chamber,
  'pump-down-middle': chamber,
  'pump-down-tail': recipe,
  'empty-tail': { scope: 'chamber', from: 'empty', isRare: true },
  'base-pressure': recipe,
  'rate-of-rise': { scope: 'chamber', from: 'any', isRare: true },
  'plasma-pressure': recipe,
  'flow-zero': { scope: 'chamber', from: 'any', isRare: false },
  'flow-deviation': recipe,
  'reflected-fraction': recipe,
  'delivered-energy': recipe,
  'ignition-delay': recipe,
  purge: recipe,
  vent: recipe,
};
export const SYMPTOMS = Object.keys(SERIES_KINDS) as readonly SymptomName[];

const isPerLine = (name: SymptomName): boolean => name === 'flow-zero' || name === 'flow-deviation';
/** Every figure that can be, each flow controller by itself. */
export const SERIES: readonly SeriesKey[] = SYMPTOMS.flatMap((name) =>
  (isPerLine(name) ? GAS_LINES : [null]).map((line): SeriesKey => ({ name, line })),
);
export const placeOf = ({ name, line }: SeriesKey): number => SERIES.findIndex((key) => key.name === name && key.line === line);

export type RecordedRun = Pick<RunEnded, 'run' | 'at' | 'startedAt' | 'outcome' | 'recipe' | 'engineering' | 'load' | 'observedMs'> & {
  readonly record: RunRecord;
};

/** One run, as little as the charts need of it. */
export type RunFigures = {
  readonly run: string;
  readonly at: number;
  readonly recipe: string | null;
  readonly isEmpty: boolean;
  readonly engineering: boolean;
  readonly good: boolean;
  /** By place in `SERIES`, SI; NaN where the run has no such figure. */
  readonly figures: Float64Array;
};

/** [DF1] [DF2] */
export function runFigures(run: RecordedRun): RunFigures {
  const { record } = run;
  const isSeen = run.observedMs >= run.at - run.startedAt;
  return {
    run: run.run,
    at: run.at,
    recipe: run.recipe,
    isEmpty: run.engineering && run.load === null,
    engineering: run.engineering,
    good: run.outcome === 'completed' && isSeen && record.deviations.length === 0,
    figures: Float64Array.from(SERIES, (key) => figureOf(key, record, run.outcome === 'completed') ?? NaN),
  };
}

const seconds = (ms: number | null): number | null => (ms === null ? null : ms / 1000);

/** [DF2] */
function figureOf({ name, line }: SeriesKey, record: RunRecord, isComplete: boolean): number | null {
  const { pumpDown } = record;
  switch (name) {
    case 'pump-down':
      return seconds(pumpDown.totalMs);
    case 'pump-down-first':
      return seconds(pumpDown.firstMs);
    case 'pump-down-middle':
      return seconds(pumpDown.middleMs);
    case 'pump-down-tail':
    case 'empty-tail':
      return seconds(pumpDown.tailMs);
    case 'base-pressure':
      return record.basePressurePa;
    case 'rate-of-rise':
      return record.rateOfRisePaPerS;
    case 'flow-zero':
      return shareOf(record.flowZero, line);
    default:
      return isComplete ? completedFigure({ name, line }, record) : null;
  }
}

function completedFigure({ name, line }: SeriesKey, record: RunRecord): number | null {
  switch (name) {
    case 'plasma-pressure':
      return record.plasmaPressurePa;
    case 'flow-deviation':
      return shareOf(record.flowError, line);
    case 'reflected-fraction':
      return record.reflectedFraction;
    case 'delivered-energy':
      return record.energyJ;
    case 'ignition-delay':
      return seconds(record.ignitionDelayMs);
    case 'purge':
      return seconds(record.purgeMs);
    case 'vent':
      return seconds(record.ventMs);
    default:
      return null;
  }
}

const shareOf = (list: readonly { readonly line: number; readonly share: number }[], line: number | null): number | null =>
  list.find((each) => each.line === line)?.share ?? null;

/** [DF3] [DF4] Runs ascending in time; `recipe` matters for figures of a recipe only. Runs of another kind are not in it, gaps are. */
export function measuredRuns(runs: readonly RunFigures[], key: SeriesKey, recipe: string | null): readonly MeasuredRun[] {
  const kind = SERIES_KINDS[key.name];
  const place = placeOf(key);
  return runs
    .filter((run) => isOfKind(run, kind, recipe))
    .map((run) => {
      const value = run.figures[place] as number;
      return { run: run.run, at: run.at, value: Number.isNaN(value) ? null : value, good: run.good };
    });
}

function isOfKind(run: RunFigures, { scope, from }: Kind, recipe: string | null): boolean {
  if (from === 'empty') return run.isEmpty;
  if (from === 'loaded' && run.engineering) return false;
  return scope === 'chamber' || run.recipe === recipe;
}

/** Recipes of product runs, the one run most in these runs first. */
export function recipesOf(runs: readonly RunFigures[]): readonly string[] {
  const counts = new Map<string, number>();
  for (const { recipe, engineering } of runs) if (recipe !== null && !engineering) counts.set(recipe, (counts.get(recipe) ?? 0) + 1);
  return [...counts].toSorted((a, b) => b[1] - a[1] || a[0].localeCompare(b[0])).map(([recipe]) => recipe);
}

const HEAD_RUNS = 400;

/** [DF6] At most about `most` runs, ascending in time; `beginnings`: the instants after which a baseline was learned anew. */
export function trimmed<T extends { readonly at: number }>(runs: readonly T[], most: number, beginnings: readonly number[]): readonly T[] {
  if (runs.length <= most) return runs;
  const first = runs.length - most;
  const heads = [-Infinity, ...beginnings].map((at) => runs.findIndex((run) => run.at > at)).filter((index) => index >= 0);
  return runs.filter((_, i) => i >= first || heads.some((head) => i >= head && i < head + HEAD_RUNS));
}
