import { readFileSync } from 'node:fs';
import { beforeEach, describe, expect, it } from 'vitest';
import { openAnswers, type OpenAnswers } from '../../gateway/answers.ts';
import { parseSite } from '../../gateway/config.ts';
import { plantOf } from '../../gateway/plant.ts';
import { firstRows } from '../../gateway/portions.ts';
import { ReasonBook } from '../../gateway/reason-book.ts';
import { memoryStore } from '../../gateway/store/memory.ts';
import type { EventQuery, Store } from '../../gateway/store/store.ts';
import { initialChamber, type ChamberState } from '../../src/chamber.ts';
import { alarmRow, interval, foundRun } from '../../src/contract.ts';
import type { ChamberEvent, AlarmEvent, StoredEvent } from '../../src/event.ts';
import { fleetFacts } from '../../src/facts.ts';
import { weekPage as weekShape, windowNumbers as numbersShape } from '../../src/numbers.ts';
import { onlySeen } from '../../src/seen.ts';
import { weekPage } from '../../src/week.ts';
import { usualUtilization } from '../../src/week-headline.ts';
import { windowNumbers } from '../../src/window.ts';
import { randomHistory } from '../src/random-history.ts';
import { exampleAlert, exampleDelivery, exampleFleet, exampleServer } from './wire-examples.ts';

const FILE = 'gateway/simulator/quellmoor.yaml';
const plant = plantOf(parseSite(FILE, readFileSync(FILE, 'utf8')));
const HOUR = 3_600_000;
const DAY = 24 * HOUR;
/** Wednesday of ISO week 2026-W48, 08:00 in Berlin, in the early shift. */
const NOW = Date.UTC(2026, 10, 25, 7);
const ALARM: AlarmEvent = {
  kind: 'alarm',
  chamber: 'PC-01',
  at: NOW,
  code: 'RF_FAULT',
  text: 'x',
  priority: 'high',
  notice: false,
  change: 'activated',
  counted: true,
  suppressed: false,
};
const HISTORY = randomHistory({ from: NOW - 30 * DAY, to: NOW, seed: 5, alarmsPerHour: 1 });

let store: Store;
let answers: OpenAnswers;
let reads: EventQuery[];
let clock: { at: number; steady: number; now(): number; steadyMs(): number; speed: number };
let states: Map<string, ChamberState>;
let tracesRead: { from: number; to: number }[];

beforeEach(async () => {
  const memory = memoryStore();
  await memory.append({ events: HISTORY, snapshots: new Map() });
  reads = [];
  tracesRead = [];
  store = { ...memory, events: (query) => (reads.push(query), memory.events(query)) };
  clock = { at: NOW, steady: 0, now: () => clock.at, steadyMs: () => clock.steady, speed: 1 };
  states = new Map(plant.chambers.map(({ id, rules }) => [id, { ...initialChamber(rules), now: NOW - 1_500 }]));
  for (const [id, state] of states)
    states.set(id, { ...state, presence: { ...state.presence, word: 'heard', silent: false, heardAt: NOW - 1_500 } });
  answers = over(store);
});

/** One value a second: the seconds since the epoch. */
const readTrace = async ({ chamber, signals, from, to }: { chamber: string; signals: readonly string[]; from: number; to: number }) => {
  tracesRead.push({ from, to });
  const at = Array.from({ length: Math.ceil((to - from) / 1000) }, (_, n) => from + n * 1000);
  return { chamber, from, to, signals: signals.map((signal) => ({ signal, at, value: at.map((time) => time / 1000) })) };
};

const over = (books: Store): OpenAnswers =>
  openAnswers({
    plant,
    store: books,
    clock,
    reasons: new ReasonBook({ store: books, onFatal: (error) => expect.unreachable(String(error)) }),
    record: () => expect.unreachable('nothing is entered here'),
    state: (id) => states.get(id) as ChamberState,
    earlierShifts: () => [],
    fleet: () => exampleFleet(),
    servers: () => [exampleServer()],
    health: () => ({ ready: true, problems: [] }),
    readTrace,
    acknowledge: () => expect.unreachable('nothing is acknowledged here'),
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
    expect(fleet).toEqual(onlySeen(expected.fleet));
    // One of the chambers was heard in none of the last hour: its counts are missing.
    expect(chambers).toEqual(expected.chambers.map(onlySeen));
    expect(numbersShape.parse(fleet)).toEqual(fleet);
  });

  it('of any window in the past too, and of one chamber alone', async () => {
    const [from, to] = [NOW - 9 * DAY - 12_345, NOW - 8 * DAY];
    const expected = windowNumbers(allFacts(), { from, to }, plant.calendar).chambers[3];
    const [one, ...more] = await answers.numbers(own(from, to, 'PC-04'));
    expect(one).toEqual(expected);
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

  it.each([
    [1, 12_000, 'known'],
    [1, 14_000, 'unobserved'],
    [60, 3 * 60_000, 'known'],
    [60, 4 * 60_000, 'unobserved'],
    [60, 10 * 60_000, 'unobserved'],
  ])(
    'at speed %i a chamber silent for %i ms is %s: the way of values takes real time, a silence plant time',
    async (speed, silentMs, word) => {
      clock.speed = speed;
      states.set('PC-01', { ...(states.get('PC-01') as ChamberState), now: NOW - silentMs });
      const last = (await answers.intervals(scope('now', 'PC-01'))).at(-1);
      expect(last?.state === 'unobserved' ? 'unobserved' : 'known').toBe(word);
    },
  );

  it('an alarm that stood for weeks before the window and cleared since is known to have stood in it', async () => {
    const memory = memoryStore();
    const alarm = (at: number, change: 'activated' | 'cleared'): AlarmEvent => ({ ...ALARM, at, change });
    const state = { kind: 'equipment-state', chamber: 'PC-01', at: NOW - 40 * DAY, state: 'standby', reason: 'idle' } as const;
    const facts = [{ ...state, source: 'tag', run: null } as const, alarm(NOW - 30 * DAY, 'activated'), alarm(NOW - HOUR, 'cleared')];
    await memory.append({ events: facts, snapshots: new Map() });
    const [one] = await over(memory).numbers(own(NOW - 5 * DAY, NOW - 4 * DAY, 'PC-01'));
    expect(one?.alarms.worst).toMatchObject([{ code: 'RF_FAULT', activations: 0, standingMs: DAY }]);
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
    expect((await over(memory).numbers(scope('now', 'PC-01')))[0]?.time['scheduled-downtime']).toBe(HOUR);
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
    for (const row of rows.slice(0, 20)) expect(await answers.run(row.run)).toEqual(foundRun.parse(row));
    expect(await answers.runs({ ...scope('week'), limit: 3 })).toEqual(rows.slice(0, 3));
  });

  it('an unknown run, a wrong id and a foreign chamber are told apart', async () => {
    await expect(answers.run('PC-01/2026-11-25T00:00:00.123Z')).rejects.toMatchObject({ code: 'not-found' });
    await expect(answers.run('PC-01')).rejects.toMatchObject({ code: 'invalid' });
    await expect(answers.run('__proto__/2026-11-25T00:00:00Z')).rejects.toMatchObject({ code: 'not-found' });
    await expect(answers.numbers(scope('now', 'constructor'))).rejects.toMatchObject({ code: 'not-found' });
  });

  it('the journal ends each alarm with its return to normal, also when that came after the window', async () => {
    const alarm = (at: number, change: AlarmEvent['change'], code = 'RF_FAULT'): AlarmEvent => ({ ...ALARM, at, code, change });
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
    const journal = over(memory);
    const rows = await journal.alarms({ ...own(T, T + 10), limit: 10 });
    expect(rows.map((row) => [row.code, row.at, alarmRow.parse(row).clearedAt])).toEqual([
      ['OTHER', T + 5, null],
      ['RF_FAULT', T, T + 9 * DAY],
    ]);
  });

  it('the journal tells acknowledgements and the first-out, is searched, and goes on page by page without losing or repeating a row', async () => {
    const alarm = (at: number, change: AlarmEvent['change'], code = 'RF_FAULT'): AlarmEvent => ({ ...ALARM, at, code, change });
    const T = NOW - 20 * DAY;
    const memory = memoryStore();
    const events = [
      ...[alarm(T, 'activated', 'PUMP'), alarm(T + 4_000, 'activated'), alarm(T + 5_000, 'cleared'), alarm(T + 9_000, 'acknowledged')],
      ...[alarm(T + DAY, 'activated'), alarm(T + DAY, 'activated', 'OTHER'), alarm(T + DAY, 'activated', 'THIRD')],
    ];
    await memory.append({ events, snapshots: new Map() });
    const journal = over(memory);
    const asked = { window: { from: T, to: T + 2 * DAY }, chamber: 'PC-01' };
    const all = await journal.alarms({ ...asked, limit: 10 });
    expect(all.map(({ code, acknowledgement, acknowledgeMs }) => [code, acknowledgement, acknowledgeMs]).slice(3)).toEqual([
      ['RF_FAULT', 'acknowledged', 5_000],
      ['PUMP', 'not told', null],
    ]);
    expect(all.slice(3).map(({ firstOut }) => firstOut?.code)).toEqual(['PUMP', 'PUMP']);
    const found = [];
    for (let after: { at: number; seq: number } | undefined; found.length < 10;) {
      const [row] = await journal.alarms({ ...asked, after, limit: 1 });
      if (row === undefined) break;
      found.push(row);
      after = { at: row.at, seq: row.seq };
    }
    expect(found).toEqual(all);
    expect((await journal.alarms({ ...asked, words: 'pump', limit: 10 })).map(({ code }) => code)).toEqual(['PUMP']);
    const desk = { window: asked.window, chamber: null, limit: 10 };
    expect(await journal.alarms({ ...desk, position: 'Surface desk' })).toEqual(all);
    expect(await journal.alarms({ ...desk, position: 'Drill desk' })).toEqual([]);
    await expect(journal.alarms({ ...desk, position: 'Bar' })).rejects.toMatchObject({ code: 'not-found' });
    const statistics = await journal.alarmStatistics({ ...asked, chamber: null });
    expect(statistics.positions[0]?.activations).toBe(5);
  });

  it('all runs and all alarms come newest first, whatever the limit of a list', { timeout: 120_000 }, async () => {
    const whole = { window: { from: NOW - 30 * DAY, to: NOW }, chamber: null };
    const runs = await firstRows(answers.allRuns(whole), Infinity);
    const alarms = await firstRows(answers.allAlarms(whole), Infinity);
    expect(runs.map(({ run }) => run)).toEqual(await answers.runs({ ...whole, limit: 1e6 }));
    const activated = HISTORY.filter((event) => event.kind === 'alarm' && event.change === 'activated');
    expect(alarms.map((row) => row.at)).toEqual(activated.map((event) => event.at).sort((a, b) => b - a));
    expect(alarms.filter((row) => row.clearedAt !== null && row.clearedAt < row.at)).toEqual([]);
  });

  it('a journal of a few rows reads a few days, however long its window', async () => {
    await answers.alarms({ window: { from: NOW - 30 * DAY, to: NOW }, chamber: null, limit: 5 });
    expect(Math.min(...reads.map(({ from, to }) => ((to ?? Infinity) <= NOW ? (from ?? 0) : Infinity)))).toBeGreaterThanOrEqual(NOW - DAY);
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
      expect([value[0], value.at(-1)]).toEqual([(NOW - HOUR) / 1000, NOW / 1000 - 1]);
    }
    await expect(answers.trace({ chamber: 'PC-01', signals: ['no.such'], from: 0, to: 1, maxPoints: 100 })).rejects.toThrow(
      '"no.such" is no signal',
    );
  });
});

describe('a trace of days', () => {
  const asked = { chamber: 'PC-01', signals: ['chamber.pressure'], from: NOW - 2 * DAY, to: NOW, maxPoints: 200 };

  it('is read in pieces of an hour at most, and keeps its ends and extremes', async () => {
    const [line] = (await answers.trace(asked)).signals;
    expect(Math.max(...tracesRead.map(({ from, to }) => to - from))).toBeLessThanOrEqual(HOUR);
    expect(line?.at.length).toBeLessThanOrEqual(200);
    expect([line?.value[0], line?.value.at(-1)]).toEqual([asked.from / 1000, NOW / 1000 - 1]);
  });

  it('waits for the one asked before it', async () => {
    const earlier = { ...asked, from: asked.from - 3 * DAY, to: asked.to - 3 * DAY };
    await Promise.all([answers.trace(asked), answers.trace(earlier)]);
    const isOfFirst = tracesRead.map(({ from }) => from >= asked.from - HOUR);
    expect(isOfFirst).toEqual([...Array<boolean>(49).fill(true), ...Array<boolean>(49).fill(false)]);
  });

  it('has an end: eight days at most', async () => {
    await expect(answers.trace({ ...asked, from: NOW - 9 * DAY })).rejects.toThrow('at most 8 days');
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
    const expected = weekPage({ week, facts: allFacts(), calendar: plant.calendar, positions: plant.positions, now: NOW });
    expect(page).toEqual(expected);
    expect(weekShape.safeParse(page).error).toBeUndefined();
  });

  it('every number of a page opens, of the fleet and of one chamber, and says the same', async () => {
    const page = await answers.week('2026-W47');
    const ask = (number: string, chamber: string | null) =>
      answers.explain({ number, chamber, span: { week: '2026-W47' }, asOf: null, offset: 0, limit: 5 });
    for (const numbers of [page.fleet, ...page.chambers.slice(0, 2)]) {
      expect((await ask('operational-utilization', numbers.chamber)).value).toBe(numbers.operationalUtilization.value);
      expect((await ask('oee/e79', numbers.chamber)).value).toBe(numbers.oee[0]?.value);
      expect((await ask('loads/completed', numbers.chamber)).value).toBe(numbers.loads.completed);
    }
    for (const { name, position, value } of page.alarmTargets)
      expect([name, (await ask(`alarm-target/${name}/${position}`, null)).value]).toEqual([name, value]);
    for (const { name, value } of page.fleet.iso22400) expect([name, (await ask(`iso22400/${name}`, null)).value]).toEqual([name, value]);
    const usual = usualUtilization(page.previous);
    const told = usual && (await ask('usual/operational-utilization', null));
    expect([told?.value, told?.madeOfTotal]).toEqual([usual?.median, usual?.weeks]);
    const largest = page.losses[0];
    expect((await ask(`loss/${largest?.state}/${largest?.cause}`, null)).value).toBe(largest?.lostMs);
    await expect(ask('efficiency', null)).rejects.toThrow('no such number');
    await expect(
      answers.explain({ number: 'coverage', chamber: null, span: { week: '2030-W01' }, asOf: null, offset: 0, limit: 5 }),
    ).rejects.toThrow('has not begun');
  });

  it('a number opens as it stood before a gap was healed, and as it stands now', async () => {
    // A day in the middle of the history is lost and then read back: the facts of both moments stay.
    const [from, to] = [NOW - 6 * DAY, NOW - 5 * DAY];
    const state = (at: number, word: 'standby' | 'unobserved', reason: string): ChamberEvent => ({
      ...{ kind: 'equipment-state', chamber: 'PC-01', at, state: word, reason, source: 'gap', run: null },
    });
    const memory = memoryStore();
    const before = await memory.append({
      events: [state(from - DAY, 'standby', 'idle'), state(from, 'unobserved', 'no data')],
      snapshots: new Map(),
    });
    await memory.append({ events: [state(to, 'standby', 'idle')], snapshots: new Map() });
    const lost = before.length + 1;
    await memory.append({ events: [state(from, 'standby', 'idle')], snapshots: new Map() });
    const opened = over(memory);
    const ask = (number: string, asOf: number | null) =>
      opened.explain({ number, chamber: 'PC-01', span: { from: from - DAY, to: to + DAY }, asOf, offset: 0, limit: 50 });
    expect([(await ask('time/unobserved', lost)).value, (await ask('coverage', lost)).value]).toEqual([2 * DAY, 1 / 3]);
    expect([(await ask('time/unobserved', null)).value, (await ask('coverage', null)).value]).toEqual([0, 1]);
    // By then nothing was heard of the day after either.
    expect((await ask('time/unobserved', lost)).madeOf.map((e) => e.to - e.from)).toEqual([DAY, DAY]);
  });

  it('a word taken back proves nobody heard the chamber then', async () => {
    const from = NOW - 6 * DAY;
    const idle: ChamberEvent = {
      ...{ kind: 'equipment-state', chamber: 'PC-01', at: from, state: 'standby', reason: 'idle', source: 'gap', run: null },
    };
    const memory = memoryStore();
    await memory.append({ events: [idle], snapshots: new Map() });
    const [word] = await memory.append({
      events: [{ kind: 'reason-withdrawn', chamber: 'PC-01', at: from + DAY, entry: 'PC-01/none', by: 'A. Weber' }],
      snapshots: new Map(),
    });
    await memory.append({ events: [{ ...idle, at: from + DAY, reason: 'load or unload' }], snapshots: new Map() });
    const ask = { number: 'time/unobserved', chamber: 'PC-01', span: { from, to: from + DAY }, offset: 0, limit: 5 };
    expect((await over(memory).explain({ ...ask, asOf: word?.seq ?? 0 })).value).toBe(DAY);
    expect((await over(memory).explain({ ...ask, asOf: null })).value).toBe(0);
  });

  it('a chamber asked for alone has the numbers that it has in the fleet', async () => {
    const window = { from: NOW - 3 * DAY, to: NOW };
    const [, ...chambers] = await answers.numbers({ window, chamber: null });
    expect((await answers.numbers({ window, chamber: 'PC-02' }))[0]).toEqual(chambers.find(({ chamber }) => chamber === 'PC-02'));
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
    expect((await answers.week('2026-W46')).fleet.loads.completed).toBe((before.fleet.loads.completed ?? 0) + 1);
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
    expect(await answers.alerts({ state: 'open', limit: 10 })).toEqual([{ ...alert, deliveries: [delivery], acts: [], mute: null }]);
    expect(await answers.alerts({ state: 'closed', limit: 10 })).toEqual([]);
    expect(await answers.alerts({ to: alert.startedAt })).toEqual([]);
    expect(await answers.alerts({ from: alert.updatedAt })).toHaveLength(1);
    expect((await answers.acknowledge(alert.id, 'process engineer')).acknowledgedAt).toBe(NOW);
    expect((await answers.alert(alert.id)).acknowledgedBy).toBe('process engineer');
    await expect(answers.acknowledge(alert.id, 'another')).rejects.toMatchObject({ code: 'conflict' });
    await expect(answers.alert('none')).rejects.toMatchObject({ code: 'not-found' });
  });
});
