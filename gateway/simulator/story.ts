/**
 * What happens in the hall from week to week, so that any six weeks have something to find near their end: two weeks by turns, by local day
 * and time. Beside it, planned maintenance and the Monday conditioning.
 */
import { ALARM } from './alarm-catalogue.ts';
import { cause } from './alarm-lines.ts';
import { instantOf, localMonday } from './calendar.ts';
import { beginLink } from './disturbance.ts';
import type { FaultName } from './plant-port.ts';
import { between, exponential, logNormal, stream } from './random.ts';
import { toNow, type Unit, type World } from './unit.ts';

const HOUR = 3_600_000;
const DAY = 24 * HOUR;
const WEEK = 7 * DAY;
const HOURS_BETWEEN_LINK_DROPS = 16;

type Entry = {
  readonly week: 0 | 1;
  readonly day: number;
  readonly hour: number;
  readonly fault: FaultName;
  readonly chamber: string | null;
  readonly size?: number;
  readonly hours?: number;
};

/** Day 0 is Monday; hours are local and may run past a day. */
export const STORY: readonly Entry[] = [
  { week: 0, day: 0, hour: 6, fault: 'pump-wear', chamber: 'PC-07', size: 5.5, hours: 8 * 24 + 8 },
  { week: 0, day: 0, hour: 6, fault: 'mfc-drift', chamber: 'PC-10', size: -3, hours: 11 * 24 },
  { week: 0, day: 0, hour: 13.5, fault: 'alarm-burst', chamber: 'PC-05', size: 16 },
  { week: 0, day: 1, hour: 14.1, fault: 'power-dip', chamber: null },
  { week: 0, day: 2, hour: 6, fault: 'match-hunting', chamber: 'PC-06', size: 22, hours: 16 },
  { week: 0, day: 2, hour: 8, fault: 'chattering-switch', chamber: 'PC-03', size: 1, hours: 12 },
  { week: 0, day: 3, hour: 6, fault: 'leak', chamber: 'PC-09', size: 140, hours: 6 * 24 },
  { week: 0, day: 3, hour: 16, fault: 'half-open-link', chamber: 'PC-12', hours: 0.06 },
  { week: 0, day: 4, hour: 7, fault: 'chattering-switch', chamber: 'PC-08', size: 2, hours: 14 },
  { week: 0, day: 4, hour: 10.5, fault: 'skip-purge', chamber: 'PC-06', size: 1 },
  { week: 0, day: 4, hour: 17, fault: 'house-gas', chamber: null, size: 45, hours: 0.6 },
  { week: 1, day: 0, hour: 9, fault: 'controller-restart', chamber: 'PC-02' },
  { week: 1, day: 0, hour: 15, fault: 'match-hunting', chamber: 'PC-11', size: 18, hours: 7 },
  { week: 1, day: 1, hour: 10.4, fault: 'alarm-burst', chamber: 'PC-12', size: 14 },
  { week: 1, day: 2, hour: 11.2, fault: 'rf-trip', chamber: 'PC-01' },
  { week: 1, day: 2, hour: 13, fault: 'house-gas', chamber: null, size: 40, hours: 0.5 },
  { week: 1, day: 3, hour: 8, fault: 'chattering-switch', chamber: 'PC-02', size: 2, hours: 10 },
  { week: 1, day: 3, hour: 15.3, fault: 'operator-abort', chamber: 'PC-08' },
  { week: 1, day: 4, hour: 10.2, fault: 'cooling-water', chamber: null, size: 8, hours: 41 / 60 },
  { week: 1, day: 4, hour: 14, fault: 'match-hunting', chamber: 'PC-06', size: 20, hours: 8 },
  { week: 1, day: 5, hour: 7.5, fault: 'alarm-burst', chamber: 'PC-03', size: 12 },
];

/** Chambers that cool and dry in the week's last hours need a leak test or a conditioning run on Monday. */
const MONDAY_LEAK_TEST = 4;

type Due = { readonly at: number; readonly act: () => void };

/** Every minute. Looks at what the week brings, in order, and does what has become due. */
export function stepStory(world: World, at: number): void {
  const { story } = world.state;
  const monday = localMonday(at);
  if (story.weekFrom !== monday) {
    story.weekFrom = monday;
    story.done = instantOf(monday);
    if (at - instantOf(monday) > 60_000) story.done = at;
  }
  for (const due of weekPlan(world, monday)) if (due.at > story.done && due.at <= at) due.act();
  story.done = at;
  linkDrops(world, at);
}

const plans = new WeakMap<World, { monday: number; plan: readonly Due[] }>();

function weekPlan(world: World, monday: number): readonly Due[] {
  const known = plans.get(world);
  if (known?.monday === monday) return known.plan;
  const parity = Math.round(monday / WEEK) & 1;
  const told = world.state.story.quiet === true ? [] : STORY;
  const faults = told
    .filter((each) => each.week === parity && isHere(world, each.chamber))
    .map((each) => ({
      at: instantOf(monday + each.day * DAY + each.hour * HOUR),
      act: () => {
        const durationMs = each.hours === undefined ? null : each.hours * HOUR;
        world.state.orders.push({ fault: each.fault, chamber: each.chamber, size: each.size ?? null, durationMs });
      },
    }));
  const plan = [...faults, ...maintenancePlan(world, monday), mondayService(world, monday)].sort((a, b) => a.at - b.at);
  plans.set(world, { monday, plan });
  return plan;
}

const isHere = (world: World, chamber: string | null): boolean => chamber === null || world.units.some((u) => u.design.id === chamber);

/** Every chamber once a week for some hours, three on fixed days, once in four weeks longer. Told a day before as a notice. */
function maintenancePlan(world: World, monday: number): Due[] {
  const week = Math.round(monday / WEEK);
  return world.units.flatMap((u) => {
    const dice = stream(world.state.seed + week, `maintenance ${u.design.id}`);
    const day = u.design.index === 4 ? 1 : u.design.index === 1 ? 2 : u.design.index === 10 ? 3 : 1 + (u.design.index % 4);
    const long = (week + u.design.index) % 4 === 0;
    const at = instantOf(monday + day * DAY + between(dice, 6.5, 12) * HOUR);
    const durationMs = HOUR * logNormal(dice, long ? 8 : 3, 0.25);
    return [
      { at: at - DAY, act: () => noticeMaintenance(u) },
      { at, act: () => orderMaintenance(u, durationMs) },
    ];
  });
}

function noticeMaintenance(u: Unit): void {
  toNow(u);
  cause(u, ALARM.maintenanceDue, true);
}

function orderMaintenance(u: Unit, durationMs: number): void {
  toNow(u);
  u.c.maintenanceDueMs = durationMs;
}

function mondayService(world: World, monday: number): Due {
  const week = Math.round(monday / WEEK);
  return {
    at: instantOf(monday + 6 * HOUR),
    act: () => {
      for (const u of world.units) u.c.service = (u.design.index + week) % MONDAY_LEAK_TEST === 0 ? ['LKT-05', 'CND-15'] : ['CND-15'];
    },
  };
}

/** The link of the last chamber goes now and then. */
function linkDrops(world: World, at: number): void {
  const { state } = world;
  if (at < state.nextLinkDrop) return;
  state.nextLinkDrop = at + exponential(state.dice.links, HOURS_BETWEEN_LINK_DROPS * HOUR);
  if (world.units.some((u) => u.design.server === 'cedar-12'))
    beginLink(world, 'cedar-12', 'drop', 1000 * Math.round(between(state.dice.links, 20, 200)));
}
