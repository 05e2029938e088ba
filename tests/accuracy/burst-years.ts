/** Years of modelled alarms through the product's own baseline and watch, and what became of them: notices without cause, bursts noticed. */
import { burstStep, NO_BURSTS } from '../../src/alert-burst.ts';
import { burstBaseline, FLOOD_THRESHOLD, stateClass, type BurstBaseline } from '../../src/burst.ts';
import type { Alert } from '../../src/contract.ts';
import type { AlarmEvent, EventOf } from '../../src/event.ts';
import { watchRules } from '../../src/watch-rules.ts';
import { activation, alarmStream, DAY, factsOf, FROM, MINUTE, type Stream, type World } from './alarm-stream.ts';
import { demoSite } from './plant-feed.ts';
import { random } from '../src/random-history.ts';

export const CHAMBERS = 12;
/** As gateway/baselines.ts. */
const LOOK_BACK_DAYS = 90;
const RENEWED_DAYS = 7;
const MONTH = 30 * DAY;
export const TUNING = [1, 2, 3];
export const HELD_OUT = [201, 202, 203];
/** Ten chamber-years are twelve chambers over these days; before them a history grows. */
export const HISTORY_DAYS = 90;
export const JUDGED_DAYS = 305;
export const SIZES = [3, 4, 5, 6, 8, 11, 15];

const usual = { perDay: 1.5, spread: 0.5, rhythm: true, dayShape: 4, cascade: { chance: 1 / 3, more: 1.5 } };
export const WORLDS: readonly World[] = [
  {
    ...{ name: 'each alarm by itself', perDay: 3, spread: 0, rhythm: false, dayShape: null },
    ...{ cascade: { chance: 0, more: 1 }, chatter: { quick: 0, slow: 0 } },
  },
  { ...usual, name: 'a usual hall', chatter: { quick: 0.05, slow: 0 } },
  { ...usual, name: 'a usual hall with slow chatterers', chatter: { quick: 0.05, slow: 0.01 } },
  { ...usual, name: 'a busy hall', perDay: 6, chatter: { quick: 0.05, slow: 0 } },
  { ...usual, name: 'a hall that bunches', dayShape: 0.5, cascade: { chance: 0.4, more: 2.5 }, chatter: { quick: 0.05, slow: 0 } },
];

export type Burst = { readonly chamber: string; readonly at: number; readonly size: number };
export type Year = { readonly streams: readonly Stream[]; readonly bursts: readonly Burst[]; readonly days: number };

/** Twelve chambers over so many days; with `everyDays`, bursts of each size in turn, of different alarms over five minutes, where somebody listens. */
export function yearOf(world: World, order: { seed: number; days: number; everyDays?: number }): Year {
  const dice = random(order.seed + 77);
  const bursts: Burst[] = [];
  const streams = Array.from({ length: CHAMBERS }, (_, i) => {
    const chamber = `PC-${String(i + 1).padStart(2, '0')}`;
    const stream = alarmStream(world, chamber, { seed: order.seed * 1000 + i, days: order.days });
    const own = order.everyDays === undefined ? [] : injected(dice, stream, { everyDays: order.everyDays, first: i });
    bursts.push(...own);
    const more = own.flatMap(({ at, size }) =>
      Array.from({ length: size }, (_, k) => activation(chamber, 3 * k + size, k === 0 ? at : at + dice() * 5 * MINUTE)),
    );
    return { ...stream, alarms: [...stream.alarms, ...more].sort((a, b) => a.at - b.at) };
  });
  return { streams, bursts, days: order.days };
}

function injected(dice: () => number, stream: Stream, { everyDays, first }: { everyDays: number; first: number }): Burst[] {
  const out: Burst[] = [];
  for (let n = first, at = FROM + dice() * everyDays * DAY; at < FROM + stream.days * DAY; n++, at += everyDays * DAY * (0.5 + dice())) {
    const seen = stream.intervals.some(({ from, to, state }) => state !== 'unobserved' && from <= at && at + 6 * MINUTE < to);
    if (seen) out.push({ chamber: stream.chamber, at: Math.floor(at), size: SIZES[n % SIZES.length] as number });
  }
  return out;
}

export type Notice = {
  readonly kind: Alert['kind'];
  readonly subject: string;
  readonly at: number;
  readonly closedAt: number;
  /** The flood rule told it, not the chamber's own threshold. */
  readonly byFloodRule: boolean;
};
export type Watched = {
  readonly notices: readonly Notice[];
  /** Chamber-months observed under thresholds of their own, and under the flood rule after the history was long enough. */
  readonly own: number;
  readonly capped: number;
  /** The baselines as they stood at the end. */
  readonly baselines: ReadonlyMap<string, BurstBaseline>;
};

/** The facts through the watch, the baselines renewed each week from the 90 days before. */
export function watched({ streams, days }: Year, epsilon: number): Watched {
  const facts = streams.flatMap(factsOf).sort((a, b) => a.at - b.at) as (AlarmEvent | EventOf<'equipment-state'>)[];
  const site = { ...watchRules(demoSite()), positions: [] };
  const found = new Map<string, Notice>();
  let [state, next, own, capped] = [NO_BURSTS, 0, 0, 0];
  let baselines: ReadonlyMap<string, BurstBaseline> = new Map();
  for (let day = 0; day < days; day += RENEWED_DAYS) {
    const week = { from: FROM + day * DAY, to: FROM + Math.min(days, day + RENEWED_DAYS) * DAY };
    baselines = new Map(streams.map((stream) => [stream.chamber, baselineAt(stream, week.from, epsilon)]));
    for (const stream of streams) {
      const months = monthsUnder(stream, week, baselines.get(stream.chamber) as BurstBaseline);
      [own, capped] = [own + months.own, capped + months.capped];
    }
    for (; next < facts.length && (facts[next] as AlarmEvent).at < week.to; next++) {
      const step = burstStep({ ...site, baselines }, state, facts[next] as AlarmEvent);
      state = step.state;
      for (const alert of step.alerts) found.set(alert.id, noticeOf(alert));
    }
  }
  return { notices: [...found.values()], own, capped, baselines };
}

const noticeOf = ({ kind, chamber, position, startedAt, closedAt, alarms }: Alert): Notice => ({
  kind,
  subject: chamber ?? position ?? '',
  at: startedAt,
  closedAt: closedAt ?? Infinity,
  byFloodRule: (alarms?.usual?.threshold ?? FLOOD_THRESHOLD) >= FLOOD_THRESHOLD,
});

function baselineAt({ chamber, alarms, intervals }: Stream, now: number, epsilon: number): BurstBaseline {
  const from = now - LOOK_BACK_DAYS * DAY;
  return burstBaseline({
    chamber,
    alarms: alarms.filter(({ at }) => at >= from && at < now),
    intervals: intervals.filter((each) => each.to > from && each.from < now),
    epsilon,
  });
}

function monthsUnder(
  { intervals }: Stream,
  week: { from: number; to: number },
  { classes }: BurstBaseline,
): { own: number; capped: number } {
  let [own, capped] = [0, 0];
  for (const { from, to, state, run } of classes === null ? [] : intervals) {
    const ms = Math.min(to, week.to) - Math.max(from, week.from);
    if (ms <= 0 || state === 'unobserved' || classes === null) continue;
    if (classes[stateClass(run)].threshold < FLOOD_THRESHOLD) own += ms / MONTH;
    else capped += ms / MONTH;
  }
  return { own, capped };
}

export type Count = { readonly count: number; readonly months: number };
export type Judged = { readonly year: Year; readonly watched: Watched };
export type FalseNotices = {
  /** Under thresholds of their own, where the promise holds, and under the flood rule. */
  readonly own: Count;
  readonly capped: Count;
  /** By how long the chamber had been heard: under 30 days, 30 to 60, 60 to 90, longer. */
  readonly byAge: readonly Count[];
  /** Of the one operator position. */
  readonly floods: Count;
};

/** Notices in years in which nothing was injected. */
export function falseNotices(years: readonly Judged[]): FalseNotices {
  const bursts = years.flatMap(({ watched: { notices } }) => notices.filter(({ kind }) => kind === 'burst'));
  const old = bursts.filter(({ at }) => at >= FROM + 30 * DAY);
  const edges = [0, 30, 60, 90, Infinity];
  const byAge = edges.slice(1).map((to, i) => {
    const from = edges[i] as number;
    const months = sumOf(years.map(({ year }) => (CHAMBERS * (Math.min(to, year.days) - from) * DAY) / MONTH));
    return { count: bursts.filter(({ at }) => at >= FROM + from * DAY && at < FROM + to * DAY).length, months };
  });
  const floods = years.flatMap(({ watched: { notices } }) => notices.filter(({ kind }) => kind === 'flood')).length;
  return {
    own: { count: old.filter(({ byFloodRule }) => !byFloodRule).length, months: sumOf(years.map(({ watched }) => watched.own)) },
    capped: { count: old.filter(({ byFloodRule }) => byFloodRule).length, months: sumOf(years.map(({ watched }) => watched.capped)) },
    byAge,
    floods: { count: floods, months: sumOf(years.map(({ year }) => (year.days * DAY) / MONTH)) },
  };
}
export const sumOf = (values: readonly number[]): number => values.reduce((a, b) => a + b, 0);

export type Caught = {
  readonly size: number;
  readonly of: number;
  readonly caught: number;
  /** From the burst's first alarm to the notice, ascending; of those caught. */
  readonly delaysMs: readonly number[];
};

/** Injected bursts of chambers with a history that opened a notice, or fell into one that was open. */
export function caughtBursts(years: readonly Judged[]): readonly Caught[] {
  const judged = years.flatMap(({ year, watched: { notices } }) =>
    year.bursts.filter(({ at }) => at >= FROM + 37 * DAY).map((burst) => ({ burst, notice: noticeFor(burst, notices) })),
  );
  return SIZES.map((size) => {
    const of = judged.filter(({ burst }) => burst.size === size);
    const delaysMs = of.flatMap(({ burst, notice }) => (notice === undefined ? [] : [Math.max(0, notice.at - burst.at)]));
    return { size, of: of.length, caught: delaysMs.length, delaysMs: delaysMs.sort((a, b) => a - b) };
  });
}

const noticeFor = (burst: Burst, notices: readonly Notice[]): Notice | undefined =>
  notices.find(
    ({ kind, subject, at, closedAt }) =>
      kind === 'burst' && subject === burst.chamber && at < burst.at + 10 * MINUTE && closedAt > burst.at,
  );

/** The thresholds of the chambers, per class, ascending. */
export function thresholdsOf(baselines: ReadonlyMap<string, BurstBaseline>): Record<'running' | 'not-running', readonly number[]> {
  const of = (name: ReturnType<typeof stateClass>): number[] =>
    [...baselines.values()].flatMap(({ classes }) => (classes === null ? [] : [classes[name].threshold])).sort((a, b) => a - b);
  return { running: of('running'), 'not-running': of('not-running') };
}

export function judged(world: World, order: { seed: number; days: number; epsilon: number; everyDays?: number }): Judged {
  const year = yearOf(world, order);
  return { year, watched: watched(year, order.epsilon) };
}

export const rate = ({ count, months }: Count): number | null => (months > 0 ? count / months : null);

/** 95 % bounds of a Poisson rate, by the cube root of chi square (Wilson and Hilferty, textbook). */
export function rateBounds({ count, months }: Count): readonly [number, number] {
  const z = 1.959964;
  const low = count === 0 ? 0 : count * (1 - 1 / (9 * count) - z / (3 * Math.sqrt(count))) ** 3;
  const next = count + 1;
  const high = next * (1 - 1 / (9 * next) + z / (3 * Math.sqrt(next))) ** 3;
  return [low / months, high / months];
}
