/**
 * Loads, process times and cycle times, per recipe: one fleet average would hide both the short recipes and the long ones.
 * [CT1] A load is a completed product run. It counts in the window in which the run ended, wherever it began.
 * [CT2] Process time runs from pump-down start to the chamber back at atmosphere.
 * [CT3] Cycle time runs from door closed to door closed at the chamber's next run, whatever that run was. A cycle that holds unobserved or
 *       nonscheduled time is left out: nobody knows its length, or nobody was there to turn the load around. Downtime and idle time are in it.
 * [CT4] Only completed product runs have times. A phase whose boundary fell into a gap has no known duration and is left out.
 * [CT5] A phase that a run went through more than once counts with its sum, once.
 */
import type { StateInterval } from './contract.ts';
import { firstFrom, type Span } from './calendar.ts';
import { PHASES, type Phase } from './equipment.ts';
import type { RunEnded } from './event.ts';
import { firstAt } from './facts.ts';
import { BEFORE_FIRST } from './interval.ts';
import type { LoadCounts, RecipeTimes } from './numbers.ts';
import { spreadOf } from './stats.ts';
import { waitForUnloadMs, waitSpread } from './waiting.ts';

export const NO_RECIPE = 'recipe not known';

function noLoads(): LoadCounts {
  return { completed: 0, aborted: 0, interrupted: 0, notFullyObserved: 0, engineering: 0 };
}

/** [CT1] Runs by outcome. */
export function loadCounts(runs: readonly RunEnded[]): LoadCounts {
  const counts = noLoads();
  for (const run of runs) {
    if (run.engineering) counts.engineering += 1;
    else if (run.outcome === 'not-fully-observed') counts.notFullyObserved += 1;
    else counts[run.outcome] += 1;
  }
  return counts;
}

export const isLoad = (run: RunEnded): boolean => run.outcome === 'completed' && !run.engineering;

/** A load with its cycle time and its wait for unload, null where they are not known. */
export type TimedRun = { readonly run: RunEnded; readonly cycleMs: number | null; readonly waitMs: number | null };

/**
 * The loads of one chamber in the window [CT1] [CT3]. `runs` (ascending) may reach beyond the window: the run after the last one closes its cycle.
 * `intervals` are the chamber's state intervals, covering at least the cycles.
 */
export function timedRuns(runs: readonly RunEnded[], window: Span, intervals: readonly StateInterval[]): readonly TimedRun[] {
  const broken = intervals.filter(breaksCycle);
  const timed: TimedRun[] = [];
  for (let i = firstAt(runs, window.from); i < runs.length; i++) {
    const run = runs[i] as RunEnded;
    if (run.at >= window.to) break;
    if (isLoad(run)) timed.push({ run, cycleMs: cycleMs(run, runs[i + 1], broken), waitMs: waitForUnloadMs(run, intervals) });
  }
  return timed;
}

/** Time before the first fact given is not known to be a break: callers give one opening fact, not all of history. */
function breaksCycle({ state, reason }: StateInterval): boolean {
  return state === 'nonscheduled' || (state === 'unobserved' && reason !== BEFORE_FIRST);
}

function cycleMs(run: RunEnded, next: RunEnded | undefined, broken: readonly Span[]): number | null {
  const [from, to] = [run.doorClosedAt, next?.doorClosedAt];
  if (from === null || to === null || to === undefined || to <= from) return null;
  const last = broken[firstFrom(broken, to) - 1];
  return last && last.to > from ? null : to - from;
}

/** Times per recipe, most run first. */
export function recipeTimes(loads: readonly TimedRun[]): RecipeTimes[] {
  const byRecipe = Map.groupBy(loads, (load) => load.run.recipe ?? NO_RECIPE);
  return [...byRecipe]
    .map(([recipe, group]) => ({
      recipe,
      runs: group.length,
      processTime: spreadOf(group.map(({ run }) => run.at - run.startedAt)),
      cycleTime: spreadOf(group.flatMap(({ cycleMs }) => (cycleMs === null ? [] : [cycleMs]))),
      waitForUnload: waitSpread(group.map(({ waitMs }) => waitMs)),
      phases: phaseTimes(group.map(({ run }) => run)),
    }))
    .sort((a, b) => b.runs - a.runs || (a.recipe < b.recipe ? -1 : 1));
}

/** [CT4] [CT5] Durations per phase and plasma step, in the order of a run. */
function phaseTimes(runs: readonly RunEnded[]): RecipeTimes['phases'] {
  const durations = new Map<string, { phase: Phase; step: number | null; values: number[] }>();
  for (const run of runs) {
    for (const [key, { phase, step, durationMs }] of phaseSums(run)) {
      const known = durations.get(key) ?? { phase, step, values: [] };
      known.values.push(durationMs);
      durations.set(key, known);
    }
  }
  return [...durations.values()]
    .sort((a, b) => PHASES.indexOf(a.phase) - PHASES.indexOf(b.phase) || (a.step ?? 0) - (b.step ?? 0))
    .flatMap(({ phase, step, values }) => {
      const duration = spreadOf(values);
      return duration ? [{ phase, step, duration }] : [];
    });
}

type PhaseSum = { readonly phase: Phase; readonly step: number | null; readonly durationMs: number };

function phaseSums(run: RunEnded): ReadonlyMap<string, PhaseSum> {
  const sums = new Map<string, PhaseSum>();
  const unknown = new Set<string>();
  run.phases.forEach(({ phase, step, from, to, source }, i) => {
    const key = `${phase}/${step ?? ''}`;
    if (source === 'gap' || run.phases[i + 1]?.source === 'gap') unknown.add(key);
    sums.set(key, { phase, step, durationMs: (sums.get(key)?.durationMs ?? 0) + to - from });
  });
  for (const key of unknown) sums.delete(key);
  return sums;
}
