/**
 * What a chamber's own completed runs teach about the next: durations by recipe and stretch.
 * [LN1] Only completed, wholly observed runs teach; the last 20 of each recipe, of the 12 recipes used last.
 * [LN2] A median needs three runs.
 */
import type { Learned, OpenRun } from './chamber-state.ts';
import type { Phase } from './equipment.ts';
import { median } from './stats.ts';

const MOST_RUNS = 20;
const MOST_RECIPES = 12;
const MOST_KEYS = 40;
const FEWEST_RUNS = 3;
const PLASMA = 'all-plasma';

export const stretchKey = (phase: Phase, step: number | null): string => `${phase}/${step ?? ''}`;

/** [LN1] Newest recipe last. */
export function learn(learned: readonly Learned[], run: OpenRun): readonly Learned[] {
  if (run.recipe === null) return learned;
  const before = learned.find(({ recipe }) => recipe === run.recipe);
  const durations: Record<string, readonly number[]> = { ...before?.durations };
  for (const [key, ms] of Object.entries(durationsOf(run)).slice(0, MOST_KEYS))
    durations[key] = [...(durations[key] ?? []), ms].slice(-MOST_RUNS);
  const others = learned.filter(({ recipe }) => recipe !== run.recipe);
  return [...others, { recipe: run.recipe, durations }].slice(-MOST_RECIPES);
}

/** Total ms by stretch; a stretch that came twice counts its sum. */
function durationsOf(run: OpenRun): Record<string, number> {
  const sums: Record<string, number> = {};
  for (const { phase, step, from, to } of run.phases) {
    const keys = phase === 'plasma' ? [stretchKey(phase, step), PLASMA] : [stretchKey(phase, step)];
    for (const key of keys) sums[key] = (sums[key] ?? 0) + to - from;
  }
  return sums;
}

/** [LN2] */
export function medianPlasmaMs(learned: readonly Learned[], recipe: string | null): number | null {
  const values = learned.find((each) => each.recipe === recipe)?.durations[PLASMA] ?? [];
  return values.length >= FEWEST_RUNS ? median(values) : null;
}
