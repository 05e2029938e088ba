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
export type Cycle = { readonly run: RunEnded; readonly recipe: string; readonly cycleMs: number; readonly parts: readonly number[] };

const placeOf = Object.fromEntries(CYCLE_PARTS.map((part, i) => [part, i])) as Record<CyclePartName, number>;

/** [TP1] Of the loads with a known cycle, one chamber at a time. `intervals` cover at least the cycles. */
export function cyclesOf(loads: readonly TimedRun[], intervals: readonly StateInterval[], noRecipe: string): readonly Cycle[] {
  const cycles: Cycle[] = [];
  for (const { run, cycleMs } of loads) {
    if (cycleMs === null || run.doorClosedAt === null) continue;
    const parts = new Array<number>(CYCLE_PARTS.length).fill(0);
    const cycle = { from: run.doorClosedAt, to: run.doorClosedAt + cycleMs };
    for (const phase of run.phases) add(parts, PART_OF[phase.phase] ?? 'other', within(cycle, phase));
    addBetween(parts, { from: run.at, to: cycle.to }, intervals);
    let named = 0;
    for (const ms of parts) named += ms;
    add(parts, 'other', cycleMs - named);
    cycles.push({ run, recipe: run.recipe ?? noRecipe, cycleMs, parts });
  }
  return cycles;
}

/** [TP1] From the run's end to the next door closed. */
function addBetween(parts: number[], span: Span, intervals: readonly StateInterval[]): void {
  let [before, after, isFirst]: [number, number, boolean] = [0, 0, true];
  let last: CyclePartName | null = null;
  for (let i = Math.max(0, firstFrom(intervals, span.from + 1) - 1); i < intervals.length; i++) {
    const interval = intervals[i] as StateInterval;
    if (interval.from >= span.to) break;
    const ms = within(span, interval);
    if (ms === 0) continue;
    last = partBetween(interval);
    if (last === 'idle') isFirst = false;
    if (last !== 'load') add(parts, last, ms);
    else if (isFirst) before += ms;
    else after += ms;
  }
  add(parts, after > 0 || last !== 'load' ? 'unload' : 'unload-and-load', before);
  add(parts, 'load', after);
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

function add(parts: number[], part: CyclePartName, ms: number): void {
  parts[placeOf[part]] = (parts[placeOf[part]] as number) + ms;
}

const within = (span: Span, { from, to }: Span): number => Math.max(0, Math.min(span.to, to) - Math.max(span.from, from));

/** Sums over cycles: one pass, whatever is asked of them. */
type Tally = {
  cycles: number;
  busyCycles: number;
  cycleMs: number;
  readonly ms: Float64Array;
  readonly count: Float64Array;
  /** [TP3] The smaller of a minute and the part, over all cycles and over the busy ones. */
  readonly saved: Float64Array;
  readonly savedBusy: Float64Array;
};

const column = (): Float64Array => new Float64Array(CYCLE_PARTS.length);
const noTally = (): Tally => ({
  cycles: 0,
  busyCycles: 0,
  cycleMs: 0,
  ms: column(),
  count: column(),
  saved: column(),
  savedBusy: column(),
});

/** [TP3] Followed by less than a minute of idling. */
export const isBusy = ({ parts }: Cycle): boolean => (parts[placeOf.idle] as number) < MINUTE_MS;
/** [TP3] Of one part of a cycle, by its place. */
export const savedMs = ({ parts }: Pick<Cycle, 'parts'>, place: number): number => Math.min(SAVED_MS, parts[place] as number);
/** [TP3] What a cycle takes without idling once that is saved: saved idling is in it already. */
export const shortenedMs = (cycle: Cycle, place: number): number =>
  cycle.cycleMs - (cycle.parts[placeOf.idle] as number) - (place === placeOf.idle ? 0 : savedMs(cycle, place));

function count(tally: Tally, cycle: Cycle): void {
  const { cycleMs, parts } = cycle;
  const busy = Number(isBusy(cycle));
  tally.cycles += 1;
  tally.busyCycles += busy;
  tally.cycleMs += cycleMs;
  for (let i = 0; i < parts.length; i++) {
    const ms = parts[i] as number;
    if (ms === 0) continue;
    const saved = savedMs(cycle, i);
    grow(tally.ms, i, ms);
    grow(tally.count, i, 1);
    grow(tally.saved, i, saved);
    grow(tally.savedBusy, i, busy * saved);
  }
}

function grow(values: Float64Array, i: number, by: number): void {
  values[i] = (values[i] as number) + by;
}

/** All recipes together, then each, most cycles first. */
export function throughputs(cycles: readonly Cycle[], windowMs: number): Throughput[] {
  if (cycles.length === 0) return [];
  const all = noTally();
  const byRecipe = new Map<string, Tally>();
  for (const cycle of cycles) {
    let own = byRecipe.get(cycle.recipe);
    if (!own) byRecipe.set(cycle.recipe, (own = noTally()));
    count(all, cycle);
    count(own, cycle);
  }
  const sorted = [...byRecipe].sort((a, b) => b[1].cycles - a[1].cycles || (a[0] < b[0] ? -1 : 1));
  return [throughput(null, all, windowMs), ...sorted.map(([recipe, tally]) => throughput(recipe, tally, windowMs))];
}

function throughput(recipe: string | null, tally: Tally, windowMs: number): Throughput {
  const { cycles, busyCycles, cycleMs } = tally;
  const parts = CYCLE_PARTS.flatMap((part, i): CyclePart[] => {
    const ms = tally.ms[i] as number;
    if (ms === 0) return [];
    const gains = {
      minuteLoadsPerWeek: loadsGained(tally, i, { saved: tally.saved, windowMs }),
      minuteLoadsPerWeekBusy: loadsGained(tally, i, { saved: tally.savedBusy, windowMs }),
    };
    return [{ part, limit: LIMIT_OF[part], ms, cycles: tally.count[i] as number, ...gains }];
  });
  return { recipe, cycles, busyCycles, cycleMs, parts, ...limiting(parts), rule: RULE };
}

/** [TP2] */
function limiting(parts: readonly CyclePart[]): Pick<Throughput, 'limiting' | 'limitedBy'> {
  const summed = new Map<Limit, number>();
  for (const { limit, ms } of parts) summed.set(limit, (summed.get(limit) ?? 0) + ms);
  const [part] = parts.toSorted((a, b) => b.ms - a.ms);
  const [most] = [...summed].sort((a, b) => b[1] - a[1] || LIMITS.indexOf(a[0]) - LIMITS.indexOf(b[0]));
  return { limiting: part?.part ?? null, limitedBy: most?.[0] ?? null };
}

type Saving = { readonly saved: Float64Array; readonly windowMs: number };

/** [TP3] Saved minutes, in loads of what all cycles take without idling once they are saved. */
function loadsGained(tally: Tally, part: number, { saved, windowMs }: Saving): number | null {
  const shortened = part === placeOf.idle ? 0 : (tally.saved[part] as number);
  const left = tally.cycleMs - (tally.ms[placeOf.idle] as number) - shortened;
  return left > 0 && windowMs > 0 ? (((saved[part] as number) * tally.cycles) / left) * (WEEK_MS / windowMs) : null;
}
