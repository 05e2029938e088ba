/**
 * The manager's page of one ISO week, as data. Sentences are made in week-headline.ts.
 * [WE1] The page covers the whole week, or the part up to now while the week still runs; it says which.
 * [WE2] It stands beside up to 8 weeks before it, from the first week with any fact on, each computed by the same rules.
 * [WE3] A loss stands beside what whole earlier weeks make usual: its part of their observed time, on this week's.
 * [WE4] A cause that people told has no usual: earlier weeks hold no more of it than somebody told of them. Nor is a cause compared that is below
 *       its usual where people told another over part of it.
 * [WE5] Of the stops without a reason the five longest are told, of the fleet and of each chamber that has any.
 */
import { alarmTargets, type Position } from './alarm-targets.ts';
import { type Span, weekOf, weekPlus, weekWindow } from './calendar.ts';
import type { StateInterval, Stop } from './contract.ts';
import type { ChamberFacts } from './facts.ts';
import { loadRates, losses, stopText } from './losses.ts';
import type { DriftWarning, Loss, Unexplained, Usual, WeekChange, WeekLoss, WeekPage } from './numbers.ts';
import { onlySeen, seenCount } from './seen.ts';
import { stopsPage } from './stops.ts';
import { observedMs } from './utilization.ts';
import { type ComparedWeek, headline, usualOf } from './week-headline.ts';
import { type FleetWindow, windowNumbers, type WindowRules } from './window.ts';
import { HOUR_MS } from './zone.ts';

const EARLIER_WEEKS = 8;

/** One of the weeks that a page stands beside. */
export type WeekSummary = WeekPage['previous'][number];

type WeekInput = {
  readonly week: string;
  /** Facts of the week and, unless `previous` is given, of the 8 weeks before. */
  readonly facts: readonly ChamberFacts[];
  readonly calendar: WindowRules;
  readonly now: number;
  /** Earlier weeks computed before (a finished week changes only when late facts come in), oldest first. */
  readonly previous?: readonly WeekSummary[];
  /** Who watches which chambers; none: one position watches all. */
  readonly positions?: readonly Position[];
  readonly drift?: readonly DriftWarning[];
  readonly changes?: readonly WeekChange[];
};

const LONGEST_STOPS = 5;

/** [WE1] [WE2] The page, or null for a text that names no week. */
export function weekPage(input: WeekInput): WeekPage | null {
  const { week, facts, calendar, now } = input;
  const whole = weekWindow(week, calendar.zone);
  if (!whole) return null;
  const countedTo = Math.max(whole.from, Math.min(whole.to, now));
  const window = { from: whole.from, to: countedTo };
  const found = windowNumbers(facts, window, calendar);
  const previous = [...(input.previous ?? summaries(input))];
  const complete = now >= whole.to;
  const numbers = {
    complete,
    fleet: onlySeen(found.fleet),
    chambers: found.chambers.map(onlySeen),
    previous,
    losses: weekLosses(found, complete ? previous : []),
    drift: [...(input.drift ?? [])],
    unexplained: unexplainedOf(found, window),
  };
  return {
    week,
    ...whole,
    hours: (whole.to - whole.from) / HOUR_MS,
    zone: calendar.zone,
    countedTo,
    headline: headline(numbers),
    ...numbers,
    alarmTargets: alarmTargets(found.parts, input.positions ?? [], window),
    changes: [...(input.changes ?? [])],
    previousWeek: weekPlus(week, -1) as string,
    nextWeek: whole.to <= now ? weekPlus(week, 1) : null,
    generatedAt: now,
  };
}

/** [WE3] [WE4] */
function weekLosses({ fleet, chambers, intervals }: FleetWindow, previous: readonly WeekSummary[]): WeekLoss[] {
  const observed = observedMs(fleet.time);
  const isTold = toldCauses(intervals.flat());
  return losses(intervals, loadRates(chambers)).map((loss) => {
    const usual = usualLoss(loss, previous, observed);
    return { ...loss, usual: usual && isTold(loss, usual) ? null : usual };
  });
}

/** [WE4] */
function toldCauses(intervals: readonly StateInterval[]): (loss: Loss, usual: Usual) => boolean {
  const told = intervals.filter(({ entry }) => entry !== null);
  const key = (state: string, cause: string): string => `${state}/${cause}`;
  const words = new Set(told.map(({ state, reason }) => key(state, reason)));
  const over = new Set(told.flatMap(({ observed }) => (observed ? [key(observed.state, observed.reason)] : [])));
  return ({ state, cause, lostMs }, { low }) => words.has(key(state, cause)) || (lostMs < low && over.has(key(state, cause)));
}

function usualLoss(loss: Pick<WeekLoss, 'cause' | 'state'>, previous: readonly WeekSummary[], observed: number): Usual | null {
  return loss.state === 'unobserved' ? null : usualOf(comparedLosses(loss, previous, observed).map(({ value }) => value));
}

/** [WE3] A loss that an earlier week did not have took none of its time. */
export function comparedLosses(
  { cause, state }: { readonly cause: string; readonly state: string },
  previous: readonly WeekSummary[],
  observed: number,
): readonly ComparedWeek[] {
  const lost = (week: WeekSummary): number => week.losses.find((one) => one.cause === cause && one.state === state)?.lostMs ?? 0;
  return previous
    .filter((week) => week.totalUtilization.value !== null)
    .map((week) => ({ week: week.week, value: (lost(week) / observedMs(week.time)) * observed }));
}

function unexplainedOf({ parts, fleet: { time } }: FleetWindow, window: Span): Unexplained {
  const { stops, unexplainedMs, share } = stopsPage(
    parts.map(({ around, facts }) => ({ intervals: around, heardUntil: facts.heardUntil })),
    window,
  );
  return {
    stops: seenCount(stops.length, time),
    lostMs: seenCount(unexplainedMs, time),
    share,
    longest: longestOf(stops),
    byChamber: [...Map.groupBy(stops, ({ chamber }) => chamber)]
      .map(([chamber, own]) => ({ chamber, stops: own.length, longest: longestOf(own) }))
      .sort((a, b) => (a.chamber < b.chamber ? -1 : 1)),
  };
}

/** [WE5] */
const longestOf = (stops: readonly Stop[]): Unexplained['longest'] =>
  [...stops]
    .sort((a, b) => b.to - b.from - (a.to - a.from))
    .slice(0, LONGEST_STOPS)
    .map(({ chamber, from, to, reasons }) => ({ chamber, from, to, reason: stopText(reasons) }));

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
  const { fleet: all, chambers, intervals } = windowNumbers(facts, window, calendar);
  const fleet = onlySeen(all);
  return {
    week,
    totalUtilization: fleet.totalUtilization,
    operationalUtilization: fleet.operationalUtilization,
    loads: fleet.loads,
    alarmActivations: fleet.alarms.activations,
    time: fleet.time,
    failures: fleet.reliability.failures,
    assists: fleet.reliability.assists,
    losses: losses(intervals, loadRates(chambers)).map(({ cause, state, lostMs }) => ({ cause, state, lostMs })),
    byChamber: chambers.map(onlySeen).map(({ chamber, operationalUtilization, loads }) => ({
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
