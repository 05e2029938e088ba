/** The product's side of the week benchmark: facts made of rows week by week, as the gateway reads them, and each week summed up by src/. */
import { type Calendar, nonscheduled, weekWindow, type Span } from '../../src/calendar.ts';
import { loadCounts, timedRuns } from '../../src/cycle-time.ts';
import type { StoredEvent } from '../../src/event.ts';
import { fleetFacts, within } from '../../src/facts.ts';
import { stateIntervals } from '../../src/interval.ts';
import { stateTimes } from '../../src/utilization.ts';
import { clipped, type FleetWindow, LAST_CYCLE_MS, windowNumbers } from '../../src/window.ts';
import { RECIPES, STATE_NAMES, type Rows } from './week-rows.ts';

/** By week, and chamber, state or recipe. */
export type WeekSums = Map<string, number>;

const nameOf = (chamber: number): string => `PC-${String(chamber + 1).padStart(3, '0')}`;
const REASONS = ['run', 'waiting for unload', 'engineering run', 'maintenance', 'tripped: RF generator fault', '', 'no data'] as const;

export function namesOf({ chambers }: Rows): readonly string[] {
  return Array.from({ length: chambers }, (_, i) => nameOf(i));
}

/** Everything of one week: the same function that makes the week page's numbers. */
export function weekNumbers(rows: Rows, names: readonly string[], { window, calendar }: { window: Span; calendar: Calendar }): FleetWindow {
  const events = eventsOf(rows, names, { from: window.from - LAST_CYCLE_MS, to: window.to + LAST_CYCLE_MS });
  const heardUntil = Object.fromEntries(names.map((name) => [name, rows.to]));
  return windowNumbers(fleetFacts({ chambers: names, events, heardUntil }), window, calendar);
}

/** Only what DuckDB is asked for, by the same functions: hours, loads, process times, whole cycles. */
export function sumsAlone(rows: Rows, names: readonly string[], { window, calendar }: { window: Span; calendar: Calendar }): SumParts {
  const wide = { from: window.from - LAST_CYCLE_MS, to: window.to + LAST_CYCLE_MS };
  const free = nonscheduled(calendar, wide.from, wide.to);
  const heardUntil = Object.fromEntries(names.map((name) => [name, rows.to]));
  const parts = fleetFacts({ chambers: names, events: eventsOf(rows, names, wide), heardUntil }).map((facts) => {
    const around = stateIntervals(facts, wide, free);
    const loads = loadCounts(within(facts.runs, window.from, window.to));
    return { time: stateTimes(clipped(around, window)), loads, timed: timedRuns(facts.runs, window, around) };
  });
  return { chambers: parts, parts };
}

/** Rows of the span, and the state that held when it began. */
function eventsOf({ states, runs }: Rows, names: readonly string[], { from, to }: Span): readonly StoredEvent[] {
  const events: StoredEvent[] = [];
  names.forEach((chamber, c) => {
    const first = states.first[c] as number;
    let i = indexAt(states.at, from, { from: first, to: states.first[c + 1] as number });
    if (i > first) i -= 1;
    for (; i < (states.first[c + 1] as number) && (states.at[i] as number) < to; i++) {
      const [at, state, inRun] = [states.at[i] as number, states.state[i] as number, states.inRun[i] === 1];
      const name = STATE_NAMES[state] as (typeof STATE_NAMES)[number];
      events.push({
        kind: 'equipment-state',
        chamber,
        at,
        state: name,
        reason: REASONS[state] as string,
        source: 'signal',
        run: inRun ? chamber : null,
        seq: i,
      });
    }
    for (
      let k = indexAt(runs.at, from, { from: runs.first[c] as number, to: runs.first[c + 1] as number });
      k < (runs.first[c + 1] as number);
      k++
    ) {
      const at = runs.at[k] as number;
      if (at >= to) break;
      events.push({
        kind: 'run-ended',
        chamber,
        at,
        run: chamber,
        startedAt: runs.startedAt[k] as number,
        outcome: 'completed',
        recipe: RECIPES[runs.recipe[k] as number] as string,
        load: null,
        engineering: runs.isLoad[k] === 0,
        doorClosedAt: runs.door[k] as number,
        phases: [],
        observedMs: 0,
        seq: k,
      });
    }
  });
  return events;
}

function indexAt(column: Float64Array, at: number, { from, to }: Span): number {
  let [low, high] = [from, to];
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((column[middle] as number) < at) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** The figures that DuckDB is asked for, taken from the whole. */
type SumParts = {
  readonly chambers: readonly Pick<FleetWindow['chambers'][number], 'time' | 'loads'>[];
  readonly parts: readonly Pick<FleetWindow['parts'][number], 'timed'>[];
};

export function addSums(sums: WeekSums, week: number, { chambers, parts }: SumParts): void {
  const add = (key: string, amount: number): void => void (amount !== 0 && sums.set(key, (sums.get(key) ?? 0) + amount));
  chambers.forEach(({ time, loads }, c) => {
    STATE_NAMES.forEach((state, s) => add(`${week}/${c}/${s}`, time[state]));
    add(`${week}/${c}/loads`, loads.completed);
  });
  for (const { run, cycleMs } of parts.flatMap(({ timed }) => timed)) {
    const recipe = RECIPES.indexOf(run.recipe as (typeof RECIPES)[number]);
    add(`${week}/process/${recipe}`, run.at - run.startedAt);
    if (cycleMs === null) continue;
    add(`${week}/cycles/${recipe}`, 1);
    add(`${week}/cycle ms/${recipe}`, cycleMs);
  }
}

export function weeksOf(calendar: Calendar, year: number, count: number): readonly Span[] {
  return Array.from({ length: count }, (_, i) => weekWindow(`${year}-W${String(i + 1).padStart(2, '0')}`, calendar.zone) as Span);
}
