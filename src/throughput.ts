/**
 * What limits the fleet: whole cycles taken apart, door closed to door closed.
 * [TP1] A cycle's parts sum to it exactly. The run gives its phases; between runs the chamber's states say what went on: the first handling after
 *       a run is unloading, the last before the next run loading, and where both are one, unload and load. What nothing names is 'other'.
 * [TP2] The limiting part is the one with the most summed hours, the limit the kind of parts with the most. Plasma, sequence and people are
 *       told apart: short recipes are limited by people, long ones by plasma.
 * [TP3] A minute saved in every cycle's part saves the smaller of a minute and the part. The sum over all cycles, over what a cycle then takes
 *       without its idling, makes room for so many loads, scaled to a week. It brings them only where work is waiting: the second figure counts
 *       only the minutes of cycles that idled less than a minute, because there demand was seen.
 */
import { firstFrom, type Span } from './calendar.ts';
import type { StateInterval } from './contract.ts';
import type { TimedRun } from './cycle-time.ts';
import type { Phase } from './equipment.ts';
import type { RunEnded } from './event.ts';
import { CYCLE_PARTS, type CyclePart, type CyclePartName, type Limit, LIMITS, type Throughput } from './kpi.ts';
import { WAITING_FOR_UNLOAD } from './waiting.ts';
import { DAY_MS, MINUTE_MS } from './zone.ts';

const WEEK_MS = 7 * DAY_MS;
const SAVED_MS = MINUTE_MS;
const RULE =
  'summed hours of whole cycles, door closed to door closed; a minute saved makes room for loads at what a cycle then takes without idling, if there is work for them; common practice, no source';

const LIMIT_OF: Readonly<Record<CyclePartName, Limit>> = {
  load: 'people',
  'pump-down': 'sequence',
  'gas-stabilisation': 'sequence',
  plasma: 'plasma',
  purge: 'sequence',
  vent: 'sequence',
  hold: 'down',
  'wait-unload': 'people',
  unload: 'people',
  'unload-and-load': 'people',
  idle: 'idle',
  down: 'down',
  other: 'other',
};
const PART_OF: Partial<Readonly<Record<Phase, CyclePartName>>> = {
  'pump-down': 'pump-down',
  'gas-stabilisation': 'gas-stabilisation',
  plasma: 'plasma',
  purge: 'purge',
  'vent-delay': 'vent',
  vent: 'vent',
  hold: 'hold',
};

/** Milliseconds per part, in the order of CYCLE_PARTS, and the recipe. */
export type Cycle = { readonly run: RunEnded; readonly recipe: string; readonly cycleMs: number; readonly parts: Float64Array };

const placeOf = Object.fromEntries(CYCLE_PARTS.map((part, i) => [part, i])) as Record<CyclePartName, number>;

/** [TP1] Of the loads with a known cycle, one chamber at a time. `intervals` cover at least the cycles. */
export function cyclesOf(loads: readonly TimedRun[], intervals: readonly StateInterval[], noRecipe: string): readonly Cycle[] {
  return loads.flatMap(({ run, cycleMs }) => {
    if (cycleMs === null || run.doorClosedAt === null) return [];
    const parts = new Float64Array(CYCLE_PARTS.length);
    const cycle = { from: run.doorClosedAt, to: run.doorClosedAt + cycleMs };
    for (const { phase, from, to } of run.phases) add(parts, PART_OF[phase] ?? 'other', within(cycle, { from, to }));
    addBetween(parts, { from: run.at, to: cycle.to }, intervals);
    parts[placeOf.other] = (parts[placeOf.other] as number) + cycleMs - parts.reduce((sum, ms) => sum + ms, 0);
    return [{ run, recipe: run.recipe ?? noRecipe, cycleMs, parts }];
  });
}

/** [TP1] From the run's end to the next door closed. */
function addBetween(parts: Float64Array, span: Span, intervals: readonly StateInterval[]): void {
  const handling: { readonly first: boolean; readonly ms: number }[] = [];
  let isFirst = true;
  let last: CyclePartName | null = null;
  for (let i = Math.max(0, firstFrom(intervals, span.from + 1) - 1); i < intervals.length; i++) {
    const interval = intervals[i] as StateInterval;
    if (interval.from >= span.to) break;
    const ms = within(span, interval);
    if (ms === 0) continue;
    last = partBetween(interval);
    if (last !== 'load') {
      add(parts, last, ms);
      if (last === 'idle') isFirst = false;
    } else handling.push({ first: isFirst, ms });
  }
  const unloading = handling.filter(({ first }) => first);
  const loading = handling.filter(({ first }) => !first);
  for (const { ms } of unloading) add(parts, loading.length > 0 || last !== 'load' ? 'unload' : 'unload-and-load', ms);
  for (const { ms } of loading) add(parts, 'load', ms);
}

function partBetween({ state, reason, observed, run }: StateInterval): CyclePartName {
  switch (state) {
    case 'standby':
      return (observed?.reason ?? reason) === WAITING_FOR_UNLOAD ? 'wait-unload' : 'idle';
    case 'productive':
      return run === null ? 'load' : 'other';
    case 'scheduled-downtime':
    case 'unscheduled-downtime':
      return 'down';
    default:
      return 'other';
  }
}

function add(parts: Float64Array, part: CyclePartName, ms: number): void {
  parts[placeOf[part]] = (parts[placeOf[part]] as number) + ms;
}

const within = (span: Span, { from, to }: Span): number => Math.max(0, Math.min(span.to, to) - Math.max(span.from, from));

/** All recipes together, then each, most cycles first. */
export function throughputs(cycles: readonly Cycle[], windowMs: number): Throughput[] {
  if (cycles.length === 0) return [];
  const groups = [...Map.groupBy(cycles, ({ recipe }) => recipe)].sort((a, b) => b[1].length - a[1].length || (a[0] < b[0] ? -1 : 1));
  return [throughput(null, cycles, windowMs), ...groups.map(([recipe, group]) => throughput(recipe, group, windowMs))];
}

function throughput(recipe: string | null, cycles: readonly Cycle[], windowMs: number): Throughput {
  const busy = cycles.filter(({ parts }) => (parts[placeOf.idle] as number) < MINUTE_MS);
  const cycleMs = cycles.reduce((sum, one) => sum + one.cycleMs, 0);
  const parts = CYCLE_PARTS.map((part): CyclePart => {
    const of = ({ parts: ms }: Cycle): number => ms[placeOf[part]] as number;
    return {
      part,
      limit: LIMIT_OF[part],
      ms: cycles.reduce((sum, cycle) => sum + of(cycle), 0),
      cycles: cycles.filter((cycle) => of(cycle) > 0).length,
      minuteLoadsPerWeek: loadsGained(cycles, cycles, { of, windowMs }),
      minuteLoadsPerWeekBusy: loadsGained(busy, cycles, { of, windowMs }),
    };
  }).filter(({ ms }) => ms > 0);
  return { recipe, cycles: cycles.length, busyCycles: busy.length, cycleMs, parts, ...limiting(parts), rule: RULE };
}

/** [TP2] */
function limiting(parts: readonly CyclePart[]): Pick<Throughput, 'limiting' | 'limitedBy'> {
  const summed = LIMITS.map((limit) => ({ limit, ms: parts.filter((one) => one.limit === limit).reduce((sum, { ms }) => sum + ms, 0) }));
  const most = <T extends { readonly ms: number }>(list: readonly T[]): T | undefined => list.toSorted((a, b) => b.ms - a.ms)[0];
  return { limiting: most(parts)?.part ?? null, limitedBy: most(summed.filter(({ ms }) => ms > 0))?.limit ?? null };
}

type Saving = { readonly of: (cycle: Cycle) => number; readonly windowMs: number };

/** [TP3] The minutes of `saving` cycles, in loads of what all cycles take without idling once it is saved. */
function loadsGained(saving: readonly Cycle[], all: readonly Cycle[], { of, windowMs }: Saving): number | null {
  const saved = (cycles: readonly Cycle[]): number => cycles.reduce((sum, cycle) => sum + Math.min(SAVED_MS, of(cycle)), 0);
  const worked = all.reduce((sum, { cycleMs, parts }) => sum + cycleMs - (parts[placeOf.idle] as number), 0);
  const left = worked - saved(all);
  return left > 0 && windowMs > 0 ? ((saved(saving) * all.length) / left) * (WEEK_MS / windowMs) : null;
}
