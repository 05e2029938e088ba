/**
 * The manager's page of one ISO week, as data. Sentences are made in week-headline.ts.
 * [WE1] The page covers the whole week, or the part up to now while the week still runs; it says which.
 * [WE2] It stands beside up to 8 weeks before it, from the first week with any fact on, each computed by the same rules.
 */
import { type Calendar, type Span, weekOf, weekPlus, weekWindow } from './calendar.ts';
import type { ChamberFacts } from './facts.ts';
import { losses } from './losses.ts';
import type { WeekPage } from './numbers.ts';
import { headline } from './week-headline.ts';
import { windowNumbers } from './window.ts';
import { HOUR_MS } from './zone.ts';

const EARLIER_WEEKS = 8;

/** One of the weeks that a page stands beside. */
export type WeekSummary = WeekPage['previous'][number];

type WeekInput = {
  readonly week: string;
  /** Facts of the week and, unless `previous` is given, of the 8 weeks before. */
  readonly facts: readonly ChamberFacts[];
  readonly calendar: Calendar;
  readonly now: number;
  /** Earlier weeks computed before (a finished week changes only when late facts come in), oldest first. */
  readonly previous?: readonly WeekSummary[];
};

/** [WE1] [WE2] The page, or null for a text that names no week. */
export function weekPage(input: WeekInput): WeekPage | null {
  const { week, facts, calendar, now } = input;
  const whole = weekWindow(week, calendar.zone);
  if (!whole) return null;
  const countedTo = Math.max(whole.from, Math.min(whole.to, now));
  const { fleet, chambers, intervals } = windowNumbers(facts, { from: whole.from, to: countedTo }, calendar);
  const previous = input.previous ?? summaries(input);
  const numbers = { complete: now >= whole.to, fleet, chambers: [...chambers], previous: [...previous], losses: losses(intervals) };
  return {
    week,
    ...whole,
    hours: (whole.to - whole.from) / HOUR_MS,
    zone: calendar.zone,
    countedTo,
    headline: headline(numbers),
    ...numbers,
    previousWeek: weekPlus(week, -1) as string,
    nextWeek: whole.to <= now ? weekPlus(week, 1) : null,
    generatedAt: now,
  };
}

/** [WE2] The weeks that a page of `week` stands beside, oldest first. `firstAt` is the time of the earliest fact, null for none. */
export function earlierWeeks(week: string, firstAt: number | null, zone: string): readonly string[] {
  const first = firstAt === null ? week : weekOf(firstAt, zone);
  const earlier: string[] = [];
  for (let back = EARLIER_WEEKS; back >= 1; back--) {
    const name = weekPlus(week, -back);
    if (name !== null && name >= first) earlier.push(name);
  }
  return earlier;
}

/** What a later page needs of a finished week. Null for a text that names no week. */
export function weekSummary({ week, facts, calendar, now }: WeekInput): WeekSummary | null {
  const whole = weekWindow(week, calendar.zone);
  if (!whole) return null;
  const window: Span = { from: whole.from, to: Math.max(whole.from, Math.min(whole.to, now)) };
  const { fleet, chambers } = windowNumbers(facts, window, calendar);
  return {
    week,
    totalUtilization: fleet.totalUtilization,
    operationalUtilization: fleet.operationalUtilization,
    loads: fleet.loads,
    alarmActivations: fleet.alarms.activations,
    time: fleet.time,
    byChamber: chambers.map(({ chamber, operationalUtilization, loads }) => ({
      chamber: chamber as string,
      operationalUtilization,
      loads: loads.completed,
    })),
    recipes: fleet.recipes.map(({ recipe, runs, processTime, cycleTime }) => ({ recipe, runs, processTime, cycleTime })),
  };
}

function summaries(input: WeekInput): readonly WeekSummary[] {
  const first = input.facts.flatMap(({ states, runs, alarms }) =>
    [states[0], runs[0], alarms[0]].flatMap((fact) => (fact ? [fact.at] : [])),
  );
  const weeks = earlierWeeks(input.week, first.length > 0 ? Math.min(...first) : null, input.calendar.zone);
  return weeks.flatMap((week) => weekSummary({ ...input, week }) ?? []);
}
