import { readFileSync } from 'node:fs';
import { beforeEach, describe, expect, it } from 'vitest';
import { openAnswers, type OpenAnswers } from '../../gateway/answers.ts';
import { parseSite } from '../../gateway/config.ts';
import { plantOf } from '../../gateway/plant.ts';
import { memoryStore } from '../../gateway/store/memory.ts';
import type { EventQuery, Store } from '../../gateway/store/store.ts';
import { initialChamber, type ChamberState } from '../../src/chamber.ts';
import { alarmRow, interval, runRow } from '../../src/contract.ts';
import type { AlarmEvent, StoredEvent } from '../../src/event.ts';
import { fleetFacts } from '../../src/facts.ts';
import { weekPage as weekShape, windowNumbers as numbersShape } from '../../src/numbers.ts';
import { weekPage } from '../../src/week.ts';
import { windowNumbers } from '../../src/window.ts';
import { randomHistory } from '../src/random-history.ts';
import { exampleAlert, exampleDelivery, exampleFleet, exampleServer } from './wire-examples.ts';

const FILE = 'gateway/simulator/quellmoor.yaml';
const plant = plantOf(parseSite(FILE, readFileSync(FILE, 'utf8')));
const HOUR = 3_600_000;
const DAY = 24 * HOUR;
/** Wednesday of ISO week 2026-W48, 08:00 in Berlin, in the early shift. */
const NOW = Date.UTC(2026, 10, 25, 7);
const HISTORY = randomHistory({ from: NOW - 30 * DAY, to: NOW, seed: 5, alarmsPerHour: 1 });

let store: Store;
let answers: OpenAnswers;
let reads: EventQuery[];
let clock: { at: number; steady: number; now(): number; steadyMs(): number; speed: number };
let states: Map<string, ChamberState>;

beforeEach(async () => {
  const memory = memoryStore();
  await memory.append({ events: HISTORY, snapshots: new Map() });
  reads = [];
  store = { ...memory, events: (query) => (reads.push(query), memory.events(query)) };
  clock = { at: NOW, steady: 0, now: () => clock.at, steadyMs: () => clock.steady, speed: 1 };
  states = new Map(plant.chambers.map(({ id, rules }) => [id, { ...initialChamber(rules), now: NOW - 1_500 }]));
  for (const [id, state] of states)
    states.set(id, { ...state, presence: { ...state.presence, word: 'heard', silent: false, heardAt: NOW - 1_500 } });
  answers = openAnswers({
    plant,
    store,
    clock,
    state: (id) => states.get(id) as ChamberState,
    fleet: () => exampleFleet(),
    servers: () => [exampleServer()],
    health: () => ({ ready: true, problems: [] }),
    readTrace: async ({ chamber, signals, from, to }) => ({
      chamber,
      from,
      to,
      signals: signals.map((signal) => ({
        signal,
        at: Array.from({ length: 3600 }, (_, n) => from + n * 1000),
        value: Array.from({ length: 3600 }, (_, n) => n),
      })),
    }),
  });
});

const scope = (name: 'now' | 'shift' | 'today' | 'week', chamber: string | null = null) => ({ window: { name }, chamber });
const own = (from: number, to: number, chamber: string | null = null) => ({ window: { from, to }, chamber });
/** All facts at once, straight from the history: what the answers must equal although they read only a part. */
const allFacts = (events: readonly StoredEvent[] = HISTORY) =>
  fleetFacts({ chambers: plant.ids, events, heardUntil: Object.fromEntries(plant.ids.map((id) => [id, NOW])) });

describe('numbers of a window', () => {
  it.each([
    ['now', NOW - HOUR],
    ['shift', Date.UTC(2026, 10, 25, 5)],
    ['today', Date.UTC(2026, 10, 24, 23)],
    ['week', Date.UTC(2026, 10, 22, 23)],
  ] as const)('%s are those of the whole history, for the fleet and each chamber', async (name, from) => {
    const expected = windowNumbers(allFacts(), { from, to: NOW }, plant.calendar);
    const [fleet, ...chambers] = await answers.numbers(scope(name));
    expect(fleet).toEqual(expected.fleet);
    expect(chambers).toEqual(expected.chambers);
    expect(numbersShape.parse(fleet)).toEqual(fleet);
  });

  it('of any window in the past too, and of one chamber alone', async () => {
    const [from, to] = [NOW - 9 * DAY - 12_345, NOW - 8 * DAY];
    const expected = windowNumbers(allFacts(), { from, to }, plant.calendar).chambers[3];
    const [one, ...more] = await answers.numbers(own(from, to, 'PC-04'));
    // Alarms that came long before the window and stood into it are known only while they still stand.
    expect({ ...one, alarms: null }).toEqual({ ...expected, alarms: null });
    expect(one?.alarms.activations).toBe(expected?.alarms.activations);
    expect(more).toEqual([]);
  });

  it('do not reach into the future', async () => {
    const [fleet] = await answers.numbers(own(NOW - HOUR, NOW + DAY));
    expect([fleet?.to, fleet?.time.unobserved]).toEqual([
      NOW,
      windowNumbers(allFacts(), { from: NOW - HOUR, to: NOW }, plant.calendar).fleet.time.unobserved,
    ]);
    await expect(answers.numbers(own(NOW + 1, NOW + 2))).rejects.toThrow('in the future');
  });

  it('count the time after the last word as unobserved once the hole is too long to bridge', async () => {
    const silent = { ...(states.get('PC-01') as ChamberState), now: NOW - 60_000 };
    states.set('PC-01', silent);
    const intervals = await answers.intervals(scope('now', 'PC-01'));
    expect(intervals.at(-1)).toMatchObject({ state: 'unobserved', from: NOW - 60_000, to: NOW });
    const heard = await answers.intervals(scope('now', 'PC-02'));
    expect(heard.at(-1)?.state).toBe(allFacts()[1]?.states.at(-1)?.state);
  });

  it('a state that began long before the window still holds in it', async () => {
    const memory = memoryStore();
    const long = {
      kind: 'equipment-state',
      chamber: 'PC-01',
      at: NOW - 40 * DAY,
      state: 'scheduled-downtime',
      reason: 'rebuild',
      source: 'tag',
      run: null,
    } as const;
    await memory.append({ events: [long], snapshots: new Map() });
    const books = openAnswers({
      plant,
      store: memory,
      clock,
      state: (id) => states.get(id) as ChamberState,
      fleet: () => exampleFleet(),
      servers: () => [],
      health: () => ({ ready: true, problems: [] }),
      readTrace: () => Promise.reject(new Error('not asked')),
    });
    expect((await books.numbers(scope('now', 'PC-01')))[0]?.time['scheduled-downtime']).toBe(HOUR);
  });

  it('in no shift, the shift is told as absent', async () => {
    clock.at = Date.UTC(2026, 10, 28, 20);
    await expect(answers.numbers(scope('shift'))).rejects.toThrow('No shift is on now');
  });
});

describe('tables', () => {
  it('equipment time covers the window without holes, chamber by chamber', async () => {
    const intervals = await answers.intervals(scope('today'));
    for (const id of plant.ids) {
      const one = intervals.filter((i) => i.chamber === id);
      expect(one[0]?.from).toBe(Date.UTC(2026, 10, 24, 23));
      expect(one.at(-1)?.to).toBe(NOW);
      one.slice(1).forEach((next, n) => expect(next.from).toBe(one[n]?.to));
      one.forEach((i) => expect(interval.parse(i)).toEqual(i));
    }
  });

  it('runs come newest first and can be asked for one by one', async () => {
    const rows = await answers.runs({ ...scope('week'), limit: 10_000 });
    const inHistory = HISTORY.filter((event) => event.kind === 'run-ended' && event.at >= Date.UTC(2026, 10, 22, 23));
    expect(rows).toHaveLength(inHistory.length);
    expect(rows.map((row) => row.endedAt)).toEqual(rows.map((row) => row.endedAt).sort((a, b) => b - a));
    for (const row of rows.slice(0, 20)) expect(await answers.run(row.run)).toEqual(runRow.parse(row));
    expect(await answers.runs({ ...scope('week'), limit: 3 })).toEqual(rows.slice(0, 3));
  });

  it('an unknown run, a wrong id and a foreign chamber are told apart', async () => {
    await expect(answers.run('PC-01/2026-11-25T00:00:00.123Z')).rejects.toMatchObject({ code: 'not-found' });
    await expect(answers.run('PC-01')).rejects.toMatchObject({ code: 'invalid' });
    await expect(answers.run('__proto__/2026-11-25T00:00:00Z')).rejects.toMatchObject({ code: 'not-found' });
    await expect(answers.numbers(scope('now', 'constructor'))).rejects.toMatchObject({ code: 'not-found' });
  });

  it('the journal ends each alarm with its return to normal, also when that came after the window', async () => {
    const alarm = (at: number, change: AlarmEvent['change'], code = 'RF_FAULT'): AlarmEvent => ({
      kind: 'alarm',
      chamber: 'PC-01',
      at,
      code,
      text: 'x',
      priority: 'high',
      notice: false,
      change,
      counted: true,
      suppressed: false,
    });
    const T = NOW - 20 * DAY;
    const memory = memoryStore();
    await memory.append({
      events: [
        alarm(T, 'activated'),
        alarm(T + 5, 'activated', 'OTHER'),
        alarm(T + 9 * DAY, 'cleared'),
        alarm(T + 9 * DAY + 1, 'activated'),
        alarm(T + 9 * DAY + 2, 'cleared'),
      ],
      snapshots: new Map(),
    });
    const journal = openAnswers({
      plant,
      store: memory,
      clock,
      state: (id) => states.get(id) as ChamberState,
      fleet: () => exampleFleet(),
      servers: () => [],
      health: () => ({ ready: true, problems: [] }),
      readTrace: () => Promise.reject(new Error('not asked')),
    });
    const rows = await journal.alarms({ ...own(T, T + 10), limit: 10 });
    expect(rows.map((row) => [row.code, row.at, alarmRow.parse(row).clearedAt])).toEqual([
      ['OTHER', T + 5, null],
      ['RF_FAULT', T, T + 9 * DAY],
    ]);
  });

  it('events follow a sequence number', async () => {
    const first = await answers.events({ after: 0, limit: 10 });
    const next = await answers.events({ after: first.at(-1)?.seq ?? 0, limit: 10 });
    expect([...first, ...next].map((event) => event.seq)).toEqual(Array.from({ length: 20 }, (_, n) => n + 1));
  });

  it('a trace is thinned to what a screen can show, and asks for what the chamber has', async () => {
    const all = await answers.trace({ chamber: 'PC-01', signals: null, from: NOW - HOUR, to: NOW, maxPoints: 100 });
    expect(all.signals.map((s) => s.signal)).toEqual(
      expect.arrayContaining(['chamber.pressure', 'gas.1.flow', 'gas.1.flowSetPoint', 'rf.forward']),
    );
    expect(all.signals.map((s) => s.signal)).not.toContain('chamber.doorClosed');
    for (const { at, value } of all.signals) {
      expect(at.length).toBeLessThanOrEqual(100);
      // The double tells one value a second from an hour before the window on: the last of them holds through it.
      expect([value[0], value.at(-1)]).toEqual([3599, 3599]);
    }
    await expect(answers.trace({ chamber: 'PC-01', signals: ['no.such'], from: 0, to: 1, maxPoints: 100 })).rejects.toThrow(
      '"no.such" is no signal',
    );
  });
});

describe('weeks', () => {
  it('the list goes from the running week back to the first with facts', async () => {
    const weeks = await answers.weeks();
    expect(weeks.map((line) => line.week)).toEqual(['2026-W48', '2026-W47', '2026-W46', '2026-W45', '2026-W44']);
    expect(weeks.map((line) => line.complete)).toEqual([false, true, true, true, true]);
  });

  it.each(['2026-W48', '2026-W47', '2026-W45'])('the page of %s is that of the whole history', async (week) => {
    const page = await answers.week(week);
    const expected = weekPage({ week, facts: allFacts(), calendar: plant.calendar, now: NOW });
    const noStanding = (p: typeof page | null) =>
      p && JSON.parse(JSON.stringify(p, (key, value: unknown) => (key === 'standingMs' || key === 'worst' ? undefined : value)));
    expect(noStanding(page)).toEqual(noStanding(expected));
    expect(weekShape.safeParse(page).error).toBeUndefined();
  });

  it('a finished week is read once', async () => {
    await answers.week('2026-W46');
    const before = reads.length;
    clock.steady += 3_600_000;
    await answers.week('2026-W46');
    expect(reads.length).toBe(before);
  });

  it('the running week is computed once for many screens, and again some seconds later', async () => {
    const pages = await Promise.all([answers.week('2026-W48'), answers.week('2026-W48')]);
    expect(pages[0]).toBe(pages[1]);
    clock.steady += 6_000;
    clock.at += 6_000;
    expect((await answers.week('2026-W48')).generatedAt).toBe(NOW + 6_000);
  });

  it('a late fact changes the finished week it falls into, and the weeks that stand beside it', async () => {
    const [before, beside] = [await answers.week('2026-W46'), await answers.week('2026-W48')];
    const at = Date.UTC(2026, 10, 14, 10);
    const late = await store.append({
      events: [
        {
          kind: 'run-ended',
          chamber: 'PC-01',
          at,
          run: 'PC-01/late',
          startedAt: at - 600_000,
          outcome: 'completed',
          recipe: 'ACT-AR-07',
          load: null,
          engineering: false,
          doorClosedAt: null,
          phases: [],
          observedMs: 600_000,
        },
      ],
      snapshots: new Map(),
    });
    answers.note(late);
    expect((await answers.week('2026-W46')).fleet.loads.completed).toBe(before.fleet.loads.completed + 1);
    const line = (page: typeof beside) => page.previous.find((one) => one.week === '2026-W46')?.loads.completed ?? 0;
    expect(line(await answers.week('2026-W48'))).toBe(line(beside) + 1);
  });

  it('a week to come and a week that is none are told apart', async () => {
    await expect(answers.week('2026-W49')).rejects.toMatchObject({ code: 'not-found' });
    await expect(answers.week('2025-W53')).rejects.toMatchObject({ code: 'invalid' });
  });
});

describe('alerts', () => {
  it('come with their deliveries, and are acknowledged once', async () => {
    const [alert, delivery] = [exampleAlert(), exampleDelivery()];
    await store.append({ events: [], snapshots: new Map(), alerts: [alert], deliveries: [delivery] });
    expect(await answers.alerts({ state: 'open', limit: 10 })).toEqual([{ ...alert, deliveries: [delivery] }]);
    expect(await answers.alerts({ state: 'closed', limit: 10 })).toEqual([]);
    expect((await answers.acknowledge(alert.id, 'process engineer')).acknowledgedAt).toBe(NOW);
    expect((await answers.alert(alert.id)).acknowledgedBy).toBe('process engineer');
    await expect(answers.acknowledge(alert.id, 'another')).rejects.toMatchObject({ code: 'conflict' });
    await expect(answers.alert('none')).rejects.toMatchObject({ code: 'not-found' });
  });
});
