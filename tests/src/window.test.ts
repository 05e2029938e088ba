import { DatabaseSync } from 'node:sqlite';
import * as simple from 'simple-statistics';
import { beforeAll, describe, expect, test } from 'vitest';
import { type Calendar, nonscheduled, weekWindow } from '../../src/calendar.ts';
import { EQUIPMENT_STATES } from '../../src/equipment.ts';
import type { StoredEvent } from '../../src/event.ts';
import { fleetFacts } from '../../src/facts.ts';
import { windowNumbers as windowNumbersShape } from '../../src/numbers.ts';
import { totalMs } from '../../src/utilization.ts';
import { clipped, type FleetWindow, windowNumbers } from '../../src/window.ts';
import { CHAMBERS, randomHistory } from './random-history.ts';

const HALL: Calendar = {
  zone: 'Europe/Berlin',
  shifts: [
    { name: 'Early', days: ['mon', 'tue', 'wed', 'thu', 'fri', 'sat'], from: '06:00', to: '14:00' },
    { name: 'Late', days: ['mon', 'tue', 'wed', 'thu', 'fri'], from: '14:00', to: '22:00' },
    { name: 'Night', days: ['mon', 'tue', 'wed', 'thu', 'fri'], from: '22:00', to: '06:00' },
  ],
  holidays: [{ date: '2026-10-22', name: "Founders' Day" }],
};
const WEEK = weekWindow('2026-W43', HALL.zone) as { from: number; to: number };
const DAY = 86_400_000;

describe.each([1, 2, 3])('numbers of the 169-hour week, random history %d, recomputed by SQL over the same events', (seed) => {
  let events: StoredEvent[];
  let heardUntil: Record<string, number>;
  let found: FleetWindow;
  let db: DatabaseSync;

  beforeAll(() => {
    events = randomHistory({ from: WEEK.from - 2 * DAY, to: WEEK.to + 2 * DAY, seed });
    // PC-02 fell silent on the Friday.
    heardUntil = Object.fromEntries(CHAMBERS.map((chamber, i) => [chamber, i === 1 ? WEEK.to - 2.3 * DAY : WEEK.to + 2 * DAY]));
    found = windowNumbers(fleetFacts({ chambers: CHAMBERS, events, heardUntil }), WEEK, HALL);
    db = intervalsInSql(events, heardUntil);
  });

  test('hours per state and chamber are equal to the millisecond', () => {
    const rows = db
      .prepare(
        `
      select chamber, state, sum(min(to_at, $to) - max(from_at, $from)) as ms from piece
      where from_at < $to and to_at > $from group by chamber, state`,
      )
      .all({ from: WEEK.from, to: WEEK.to });
    const bySql = new Map(rows.map(({ chamber, state, ms }) => [`${chamber as string}/${state as string}`, ms]));
    for (const { chamber, time } of found.chambers) {
      for (const state of EQUIPMENT_STATES)
        expect([chamber, state, time[state]]).toEqual([chamber, state, bySql.get(`${chamber ?? ''}/${state}`) ?? 0]);
    }
  });

  test('loads per chamber are equal', () => {
    const rows = db
      .prepare(
        `select chamber, count(*) as n from run where outcome = 'completed' and engineering = 0 and at >= $from and at < $to group by chamber order by chamber`,
      )
      .all({ from: WEEK.from, to: WEEK.to });
    expect(found.chambers.map(({ chamber, loads }) => ({ chamber, n: loads.completed }))).toEqual(rows.map((row) => ({ ...row })));
  });

  test('n, p10, p50 and p90 of cycle time per recipe are equal to 1e-9; the median also by simple-statistics 7.12.1 (whose other quantiles follow another rule)', () => {
    const cycles = cyclesInSql(db);
    expect(found.fleet.recipes).toHaveLength(4);
    for (const { recipe, cycleTime } of found.fleet.recipes) {
      const { n, p10, p50, p90 } = cycleTime as NonNullable<typeof cycleTime>;
      const bySql = type6InSql(db, recipe);
      expect(n).toBe(bySql.n);
      [p10, p50, p90].forEach((value, i) => expect(Math.abs(value / (bySql.p[i] as number) - 1)).toBeLessThan(1e-9));
      expect(p50).toBeCloseTo(simple.median(cycles.get(recipe) as number[]), 6);
    }
  });

  test('[WN1] the fleet has the sum of its chambers, and each chamber has the whole window, to the millisecond', () => {
    for (const { time } of found.chambers) expect(totalMs(time)).toBe(WEEK.to - WEEK.from);
    expect(totalMs(found.fleet.time)).toBe(12 * 169 * 3_600_000);
    const productive = found.chambers.reduce((sum, { time }) => sum + time.productive, 0);
    expect(found.fleet.totalUtilization.value).toBeCloseTo(productive / (totalMs(found.fleet.time) - found.fleet.time.unobserved), 12);
  });

  test('[WN2] the fleet has the loads, alarms and runs of its chambers', () => {
    const sum = (of: (one: (typeof found.chambers)[number]) => number): number => found.chambers.reduce((total, one) => total + of(one), 0);
    expect(found.fleet.loads.completed).toBe(sum((one) => one.loads.completed));
    expect(found.fleet.alarms.activations).toBe(sum((one) => one.alarms.activations));
    expect(found.fleet.recipes.reduce((n, one) => n + one.runs, 0)).toBe(found.fleet.loads.completed);
  });

  test('the numbers have the shape that is promised on the wire', () => {
    for (const numbers of [found.fleet, ...found.chambers]) expect(windowNumbersShape.parse(numbers)).toEqual(numbers);
  });
});

describe('windows', () => {
  const events = randomHistory({ from: WEEK.from - DAY, to: WEEK.to, seed: 4, chambers: ['PC-01'] });
  const facts = fleetFacts({ chambers: ['PC-01'], events, heardUntil: { 'PC-01': WEEK.to } });

  test('[WN1] seven days of a week add up to the week: times, loads, alarms', () => {
    const week = windowNumbers(facts, WEEK, HALL).fleet;
    const ends = Array.from({ length: 8 }, (_, i) => Math.min(WEEK.to, WEEK.from + i * DAY + (i === 7 ? 3_600_000 : 0)));
    const days = ends.slice(1).map((to, i) => windowNumbers(facts, { from: ends[i] as number, to }, HALL).fleet);
    for (const state of EQUIPMENT_STATES) expect(days.reduce((sum, day) => sum + day.time[state], 0)).toBe(week.time[state]);
    expect(days.reduce((sum, day) => sum + day.loads.completed, 0)).toBe(week.loads.completed);
    expect(days.reduce((sum, day) => sum + day.alarms.activations, 0)).toBe(week.alarms.activations);
  });

  test('the same numbers come out when only the opening fact, the window and the day after are given', () => {
    const from = WEEK.from + 2 * DAY;
    const [before, inside] = [events.filter(({ at }) => at < from), events.filter(({ at }) => at >= from)];
    const opening = [
      before.filter(({ kind }) => kind === 'equipment-state').at(-1),
      ...before.filter(({ kind }) => kind === 'alarm'),
    ].flatMap((event) => (event ? [event] : []));
    const few = fleetFacts({ chambers: ['PC-01'], opening, events: inside, heardUntil: { 'PC-01': WEEK.to } });
    const window = { from, to: from + DAY };
    expect(windowNumbers(few, window, HALL).fleet).toEqual(windowNumbers(facts, window, HALL).fleet);
  });

  test('an empty window has no hours and no shares', () => {
    const { fleet } = windowNumbers(facts, { from: WEEK.from, to: WEEK.from }, HALL);
    expect([totalMs(fleet.time), fleet.totalUtilization.value, fleet.loads.completed, fleet.recipes]).toEqual([0, null, 0, []]);
  });

  test('intervals are cut at the window and otherwise left alone', () => {
    const [first, second] = windowNumbers(facts, WEEK, HALL).intervals[0] as unknown as [
      { from: number; to: number },
      { from: number; to: number },
    ];
    expect(clipped([first, second] as never, { from: first.from + 1, to: second.from })).toEqual([{ ...first, from: first.from + 1 }]);
  });
});

/** State facts to clipped pieces of the wide window, calendar laid over, in SQL alone (window functions, no code of ours but the free spans). */
function intervalsInSql(events: readonly StoredEvent[], heardUntil: Record<string, number>): DatabaseSync {
  const db = new DatabaseSync(':memory:');
  db.exec(
    `create table state(chamber, at, seq, state, run); create table run(chamber, at, outcome, engineering, recipe, door); create table heard(chamber, at); create table free(from_at, to_at)`,
  );
  const [state, run] = [db.prepare('insert into state values (?, ?, ?, ?, ?)'), db.prepare('insert into run values (?, ?, ?, ?, ?, ?)')];
  for (const event of events) {
    if (event.kind === 'equipment-state') state.run(event.chamber, event.at, event.seq, event.state, event.run);
    if (event.kind === 'run-ended')
      run.run(event.chamber, event.at, event.outcome, Number(event.engineering), event.recipe, event.doorClosedAt);
  }
  for (const [chamber, at] of Object.entries(heardUntil)) db.prepare('insert into heard values (?, ?)').run(chamber, at);
  for (const { from, to } of nonscheduled(HALL, WEEK.from - DAY, WEEK.to + DAY)) db.prepare('insert into free values (?, ?)').run(from, to);
  db.exec(`
    create table held as
      select s.chamber, s.state, s.run, s.at as from_at, min(h.at, coalesce(lead(s.at) over (partition by s.chamber order by s.at, s.seq), h.at)) as to_at
      from state s join heard h using (chamber);
    delete from held where to_at <= from_at;
    insert into held select chamber, 'unobserved', null, at, ${WEEK.to + DAY} from heard where at < ${WEEK.to + DAY};
    create table piece as
      select h.chamber, 'nonscheduled' as state, max(h.from_at, f.from_at) as from_at, min(h.to_at, f.to_at) as to_at
      from held h join free f on f.from_at < h.to_at and f.to_at > h.from_at
      where h.run is null and h.state not in ('productive', 'unobserved');
    insert into piece
      with covering(from_at, to_at) as (select from_at, to_at from free),
      work(from_at, to_at) as (
        select coalesce(lag(to_at) over (order by from_at), 0), from_at from covering
        union all select max(to_at), ${WEEK.to + 10 * DAY} from covering)
      select h.chamber, h.state, max(h.from_at, w.from_at), min(h.to_at, w.to_at)
      from held h join work w on w.from_at < h.to_at and w.to_at > h.from_at
      where h.run is null and h.state not in ('productive', 'unobserved');
    insert into piece select chamber, state, from_at, to_at from held where not (run is null and state not in ('productive', 'unobserved'));
    create table cycle as
      with next as (select *, lead(door) over (partition by chamber order by at) as next_door from run)
      select recipe, chamber, next_door - door as ms from next n
      where outcome = 'completed' and engineering = 0 and at >= ${WEEK.from} and at < ${WEEK.to} and door is not null and next_door > door
        and not exists (select 1 from piece p where p.chamber = n.chamber and p.state in ('nonscheduled', 'unobserved') and p.from_at < next_door and p.to_at > door);`);
  return db;
}

function cyclesInSql(db: DatabaseSync): Map<string, number[]> {
  const cycles = new Map<string, number[]>();
  for (const { recipe, ms } of db.prepare('select recipe, ms from cycle').all())
    cycles.set(recipe as string, [...(cycles.get(recipe as string) ?? []), ms as number]);
  return cycles;
}

/** NIST 7.2.6.2 in SQL: between the values at rank floor(p(n+1)) and the next. */
function type6InSql(db: DatabaseSync, recipe: string): { n: number; p: number[] } {
  const query = db.prepare(`
    with ranked as (select ms, row_number() over (order by ms) as rank, count(*) over () as n from cycle where recipe = $recipe),
    place as (select max(1.0, min(1.0 * n, $p * (n + 1))) as position, n from ranked limit 1)
    select n, (select ms from ranked where rank = cast(position as int)) as low,
      (select ms from ranked where rank = min(n, cast(position as int) + 1)) as high, position - cast(position as int) as part from place`);
  const rows = [0.1, 0.5, 0.9].map((p) => query.get({ recipe, p }) as { n: number; low: number; high: number; part: number });
  return { n: rows[0]?.n ?? 0, p: rows.map(({ low, high, part }) => low + part * (high - low)) };
}

test('[IU2] the site file’s assist limit tells the stops of a window apart, and every number rests on it', () => {
  const events = randomHistory({ from: WEEK.from - 7 * DAY, to: WEEK.to + DAY, seed: 2 });
  const facts = fleetFacts({ chambers: CHAMBERS, events, heardUntil: {} });
  const at = (assistLimitMs?: number) =>
    windowNumbers(facts, WEEK, { ...HALL, ...(assistLimitMs !== undefined && { assistLimitMs }) }).fleet.reliability;
  const [usual, six, none, hour] = [at(), at(6 * 60_000), at(0), at(3_600_000)];
  expect(six).toEqual(usual);
  expect([none.assists, none.failures]).toEqual([0, usual.assists + usual.failures]);
  expect(hour.assists).toBeGreaterThan(usual.assists);
  expect(hour.assists + hour.failures).toBe(usual.assists + usual.failures);
  expect([hour.assistLimitMs, hour.rule.includes('within 60 min')]).toEqual([3_600_000, true]);
});
