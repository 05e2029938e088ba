import { readFileSync, writeFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import type { Calendar } from '../../src/calendar.ts';
import type { ReasonEvent } from '../../src/event.ts';
import { fleetFacts } from '../../src/facts.ts';
import { weekPage as weekPageShape, type WeekPage } from '../../src/numbers.ts';
import { earlierWeeks, weekPage, weekSummary } from '../../src/week.ts';
import { totalMs } from '../../src/utilization.ts';
import { usualOf } from '../../src/week-headline.ts';
import { CHAMBERS, randomHistory } from './random-history.ts';

const calendar: Calendar = {
  zone: 'Europe/Berlin',
  holidays: [{ date: '2026-10-08', name: "Founders' Day" }],
  shifts: [
    { name: 'Early', days: ['mon', 'tue', 'wed', 'thu', 'fri', 'sat'], from: '06:00', to: '14:00' },
    { name: 'Late', days: ['mon', 'tue', 'wed', 'thu', 'fri'], from: '14:00', to: '22:00' },
    { name: 'Night', days: ['mon', 'tue', 'wed', 'thu', 'fri'], from: '22:00', to: '06:00' },
  ],
};
const [FROM, TO] = [Date.UTC(2026, 8, 9), Date.UTC(2026, 9, 27)];
const heard = Object.fromEntries(CHAMBERS.map((chamber) => [chamber, TO]));
const FACTS = fleetFacts({ chambers: CHAMBERS, events: randomHistory({ from: FROM, to: TO, seed: 26 }), heardUntil: heard });
const page = (week: string, now = TO): WeekPage => weekPage({ week, facts: FACTS, calendar, now }) as WeekPage;

describe('week page', () => {
  test('the golden page: the 169-hour week 43 of 2026 beside six earlier weeks (UPDATE=1 rewrites it)', () => {
    const file = new URL('../golden/week-2026-W43.json', import.meta.url);
    const whole = page('2026-W43');
    // Two chambers show all there is to see; twelve would only make changes harder to read.
    const text = `${JSON.stringify(rounded({ ...whole, chambers: whole.chambers.slice(0, 2) }), null, 1)}\n`;
    if (process.env['UPDATE'] === '1') writeFileSync(file, text);
    expect(text).toBe(readFileSync(file, 'utf8'));
  });

  test('it has the shape that is promised on the wire', () => {
    expect(weekPageShape.parse(page('2026-W43'))).toEqual(page('2026-W43'));
  });

  test('[WE1] a finished week is complete and counted to its end, in the hours that it had', () => {
    const { complete, countedTo, to, hours, nextWeek, previousWeek } = page('2026-W43');
    expect([complete, countedTo - to, hours, previousWeek, nextWeek]).toEqual([true, 0, 169, '2026-W42', '2026-W44']);
    const spring = weekPage({ week: '2026-W13', facts: FACTS, calendar, now: TO }) as WeekPage;
    expect([spring.hours, spring.fleet.time.unobserved, spring.fleet.totalUtilization.value]).toEqual([167, 12 * 167 * 3_600_000, null]);
  });

  test('[WE1] a running week is counted up to now, and no next week is offered', () => {
    const now = Date.UTC(2026, 9, 21, 10);
    const { complete, countedTo, fleet, nextWeek, headline } = page('2026-W43', now);
    expect([complete, countedTo, fleet.to, nextWeek]).toEqual([false, now, now, null]);
    expect(headline[0]).toMatch(/^\d+ loads so far; the week is still running\.$/);
  });

  test('[WE1] a week that has not begun is empty, a text that names none gives null', () => {
    const { complete, fleet } = page('2026-W50');
    expect([complete, fleet.totalUtilization.baseMs, fleet.loads.completed]).toEqual([false, 0, null]);
    expect([
      weekPage({ week: '2025-W53', facts: FACTS, calendar, now: TO }),
      weekSummary({ week: 'x', facts: FACTS, calendar, now: TO }),
    ]).toEqual([null, null]);
  });

  test('[WE1] week 53 of 2026 is a page of its own, between week 52 and week 1 of 2027', () => {
    const { from, to, previousWeek, nextWeek } = page('2026-W53', Date.UTC(2027, 0, 20));
    expect([new Date(from).toISOString(), new Date(to).toISOString(), previousWeek, nextWeek]).toEqual([
      '2026-12-27T23:00:00.000Z',
      '2027-01-03T23:00:00.000Z',
      '2026-W52',
      '2027-W01',
    ]);
  });

  test('[WE5] every chamber with stops nobody explained tells its own longest, also those too short for the list of the fleet', () => {
    const { stops, longest, byChamber } = page('2026-W43').unexplained;
    expect(byChamber.reduce((sum, one) => sum + one.stops, 0)).toBe(stops);
    const all = byChamber.flatMap((one) => one.longest);
    const length = ({ from, to }: { from: number; to: number }): number => to - from;
    expect([...all].sort((a, b) => length(b) - length(a)).slice(0, 5)).toEqual(longest);
    for (const one of byChamber) {
      expect(one.longest).toHaveLength(Math.min(5, one.stops));
      expect(one.longest.every(({ chamber }) => chamber === one.chamber)).toBe(true);
    }
    expect(byChamber.length).toBeGreaterThan(new Set(longest.map(({ chamber }) => chamber)).size);
  });

  test('[WE2] the earlier weeks are eight at most, oldest first, from the first with any fact', () => {
    expect(page('2026-W43').previous.map(({ week }) => week)).toEqual([
      '2026-W37',
      '2026-W38',
      '2026-W39',
      '2026-W40',
      '2026-W41',
      '2026-W42',
    ]);
    expect(earlierWeeks('2027-W02', Date.UTC(2020, 0, 1), 'UTC')).toEqual([
      '2026-W47',
      '2026-W48',
      '2026-W49',
      '2026-W50',
      '2026-W51',
      '2026-W52',
      '2026-W53',
      '2027-W01',
    ]);
    expect(earlierWeeks('2026-W43', null, 'UTC')).toEqual([]);
  });

  test('[WE2] an earlier week says the same as its own page did, and may be handed in ready made', () => {
    const [own, line] = [page('2026-W41'), page('2026-W43').previous.find(({ week }) => week === '2026-W41')];
    expect(line).toMatchObject({
      totalUtilization: own.fleet.totalUtilization,
      operationalUtilization: own.fleet.operationalUtilization,
      loads: own.fleet.loads,
      alarmActivations: own.fleet.alarms.activations,
      time: own.fleet.time,
    });
    expect(line?.byChamber).toEqual(
      own.chambers.map(({ chamber, operationalUtilization, loads }) => ({ chamber, operationalUtilization, loads: loads.completed })),
    );
    const handed = weekPage({ week: '2026-W43', facts: FACTS, calendar, now: TO, previous: page('2026-W43').previous });
    expect(handed).toEqual(page('2026-W43'));
  });

  test('[WE3] a loss of a finished week stands beside its part of earlier weeks’ observed time; of a running one it does not', () => {
    const { losses, previous, fleet } = page('2026-W43');
    const idle = losses.find(({ cause }) => cause === 'idle');
    const shares = previous
      .filter(({ totalUtilization }) => totalUtilization.value !== null)
      .map(({ time, losses: own }) => (own.find(({ cause }) => cause === 'idle')?.lostMs ?? 0) / (totalMs(time) - time.unobserved));
    const usual = usualOf(shares);
    const observed = totalMs(fleet.time) - fleet.time.unobserved;
    expect(idle?.usual?.median).toBeCloseTo((usual?.median ?? 0) * observed, 3);
    expect(idle?.usual?.high).toBeCloseTo((usual?.high ?? 0) * observed, 3);
    expect(losses.find(({ state }) => state === 'unobserved')?.usual).toBeNull();
    expect(page('2026-W43', Date.UTC(2026, 9, 21, 10)).losses.every((loss) => loss.usual === null)).toBe(true);
  });

  test('[WE4] a cause that a person told is compared with no week, and what it was told over is not called less', () => {
    const week = page('2026-W43');
    const toldFor = (ms: number): WeekPage => {
      const facts = FACTS.map((one) => {
        const entry = { entry: one.chamber, state: 'unscheduled-downtime', reason: 'waiting for parts', downtime: null } as ReasonEvent;
        return { ...one, told: [{ entry, from: week.from, to: week.from + ms }] };
      });
      return weekPage({ week: '2026-W43', facts, calendar, now: TO, previous: week.previous }) as WeekPage;
    };
    const { losses, headline } = toldFor(3_600_000);
    expect(losses.find(({ cause }) => cause === 'waiting for parts')).toMatchObject({ usual: null });
    expect(toldFor(150 * 3_600_000).losses.filter(({ usual, lostMs }) => usual && lostMs < usual.low)).toEqual([]);
    expect(losses.filter(({ usual }) => usual !== null).length).toBeGreaterThan(1);
    expect(headline.join(' ')).not.toMatch(/changed most: waiting for parts/);
    expect(week.losses.every(({ state, usual }) => (usual === null) === (state === 'unobserved'))).toBe(true);
  });

  test('every chamber has the whole week, and the losses with everything else sum to it', () => {
    const { chambers, losses, fleet } = page('2026-W43');
    const lost = losses.reduce((sum, { lostMs }) => sum + lostMs, 0);
    expect(lost + fleet.time.productive + fleet.time.engineering + fleet.time.nonscheduled).toBe(12 * 169 * 3_600_000);
    expect(chambers.map(({ chamber }) => chamber)).toEqual(CHAMBERS);
  });
});

/** Six significant decimals: enough to see a changed rule, not a changed last bit. */
function rounded(value: unknown): unknown {
  return JSON.parse(
    JSON.stringify(value, (_key, one: unknown) => (typeof one === 'number' && !Number.isInteger(one) ? Number(one.toFixed(6)) : one)),
  );
}
