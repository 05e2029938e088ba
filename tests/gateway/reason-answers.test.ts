/** Entering, correcting and taking back through the real pipeline, store and answers: what is told counts at once, and undo leaves no trace in numbers. */
import { readFileSync } from 'node:fs';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { openAnswers, type OpenAnswers } from '../../gateway/answers.ts';
import { parseSite } from '../../gateway/config.ts';
import { Pipeline, type Committed } from '../../gateway/pipeline.ts';
import { plantOf } from '../../gateway/plant.ts';
import { ReasonBook } from '../../gateway/reason-book.ts';
import { memoryStore } from '../../gateway/store/memory.ts';
import { openSqlite } from '../../gateway/store/sqlite.ts';
import type { Store } from '../../gateway/store/store.ts';
import { initialChamber } from '../../src/chamber.ts';
import { reasonRow, stopsPage } from '../../src/contract.ts';
import type { ChamberEvent } from '../../src/event.ts';
import type { ReasonDraft } from '../../src/reason-entry.ts';
import { exampleFleet } from './wire-examples.ts';

const FILE = 'gateway/simulator/quellmoor.yaml';
const plant = plantOf(parseSite(FILE, readFileSync(FILE, 'utf8')));
const MIN = 60_000;
const HOUR = 60 * MIN;
const DAY = 24 * HOUR;
/** Wednesday 14:00 in Berlin. */
const NOW = Date.UTC(2026, 10, 25, 13);
const at = (hours: number): number => NOW + hours * HOUR;

const state = (hours: number, name: string, reason = name, chamber = 'PC-01'): ChamberEvent =>
  ({ kind: 'equipment-state', chamber, at: at(hours), state: name, reason, source: 'signal', run: null }) as ChamberEvent;

/** Down from -5 to -3, from -2 on; last week down for ten hours. */
const HISTORY: readonly ChamberEvent[] = [
  state(-200, 'standby', 'idle'),
  state(-170, 'unscheduled-downtime', 'tripped: pump'),
  state(-160, 'standby', 'idle'),
  state(-5, 'unscheduled-downtime', 'tripped: RF_FAULT'),
  state(-3, 'standby', 'idle'),
  state(-2, 'unscheduled-downtime', 'tripped: RF_FAULT'),
  state(-400, 'standby', 'idle', 'PC-02'),
];

type Rig = {
  store: Store;
  answers: OpenAnswers;
  book: ReasonBook;
  told: Committed[];
  clock: { at: number; steady: number };
  stop(): Promise<void>;
};

async function rig(store: Store): Promise<Rig> {
  const clock = { at: NOW, steady: 0, now: () => clock.at, steadyMs: () => clock.steady, speed: 1 };
  const told: Committed[] = [];
  const onFatal = (error: unknown): void => expect.unreachable(String(error));
  const book = new ReasonBook({ store, onFatal });
  const pipeline = new Pipeline({
    store,
    core: {
      chambers: plant.ids,
      initialChamber: (id) => ({
        ...initialChamber(plant.chamber(id).rules),
        now: NOW,
        presence: { word: 'heard', silent: false, heardAt: NOW } as never,
      }),
      observe: (_, state) => ({ state, events: [] }),
      order: (readings) => readings,
      initialWatch: () => ({}),
      restoredWatch: () => ({}),
      watch: (watch) => ({ state: watch, alerts: [] }),
    },
    planned: () => [],
    clock,
    onCommitted: (news) => {
      told.push(news);
      book.note(news.stored);
      answers.note(news.stored);
    },
    onOrdered: () => undefined,
    onFatal,
  });
  const answers: OpenAnswers = openAnswers({
    plant,
    store,
    clock,
    reasons: book,
    record: (deed) => pipeline.record(deed),
    state: (id) => pipeline.chamber(id),
    earlierShifts: () => [],
    fleet: () => exampleFleet(),
    servers: () => [],
    health: () => ({ ready: true, problems: [] }),
    readTrace: () => Promise.reject(new Error('no traces here')),
    acknowledge: () => expect.unreachable('nothing is acknowledged here'),
  });
  await pipeline.start();
  await book.start();
  return { store, answers, book, told, clock, stop: () => pipeline.stop() };
}

const draft = (change: Partial<ReasonDraft> = {}): ReasonDraft => ({
  chamber: 'PC-01',
  from: at(-5),
  to: at(-3),
  state: 'scheduled-downtime',
  reason: 'preventive maintenance',
  note: '',
  by: 'A. Person',
  ...change,
});
const window = { window: { from: at(-8), to: NOW }, chamber: 'PC-01' };

describe.each(['memory', 'sqlite'] as const)('reasons over the %s store', (kind) => {
  let folder: string;
  let one: Rig;

  beforeEach(async () => {
    folder = mkdtempSync(join(tmpdir(), 'glowfleet-reason-'));
    const store = kind === 'memory' ? memoryStore() : await openSqlite(folder);
    await store.append({ events: HISTORY, snapshots: new Map() });
    one = await rig(store);
  });
  afterEach(async () => {
    await one.stop();
    await one.store.close();
    rmSync(folder, { recursive: true });
  });

  const hours = async (): Promise<Record<string, number>> => {
    const [numbers] = await one.answers.numbers(window);
    return Object.fromEntries(Object.entries(numbers?.time ?? {}).map(([name, ms]) => [name, ms / HOUR]));
  };

  it('what was entered counts at once, is told with its chamber, and stands in the audit', async () => {
    const before = await hours();
    expect(before).toMatchObject({ 'unscheduled-downtime': 4, 'scheduled-downtime': 0 });
    const row = await one.answers.enterReason(draft());
    expect(reasonRow.parse(row)).toEqual(row);
    expect(row).toMatchObject({ from: at(-5), to: at(-3), until: at(-3), by: 'A. Person', enteredAt: NOW, withdrawnAt: null });
    expect(await hours()).toEqual({ ...before, 'unscheduled-downtime': 2, 'scheduled-downtime': 2 });
    expect(one.told.at(-1)).toMatchObject({ chambers: ['PC-01'], stored: [{ kind: 'reason', entry: row.entry }] });
    expect(await one.store.audit(9)).toEqual([{ at: NOW, who: 'A. Person', deed: 'enter reason', subject: row.entry }]);
    const [, told] = (await one.answers.intervals(window)).filter(({ from }) => from >= at(-8) && from < at(-3));
    expect(told).toMatchObject({
      entry: row.entry,
      source: 'person',
      observed: { state: 'unscheduled-downtime', reason: 'tripped: RF_FAULT' },
    });
  });

  /** All but the list of what persons did, which tells of the taking back too. */
  const numbersOfWeek = async (week: string): Promise<unknown> => {
    const { changes: _, ...page } = await one.answers.week(week);
    return page;
  };

  it('taking back leaves exactly the answers of before, and both stay in the books', async () => {
    const ask = async (): Promise<unknown> => [
      await one.answers.numbers(window),
      await one.answers.intervals(window),
      await one.answers.losses(window),
      await one.answers.stops(window),
      await numbersOfWeek('2026-W48'),
      await numbersOfWeek('2026-W47'),
    ];
    const before = await ask();
    const entered = await one.answers.enterReason(draft({ from: at(-169), to: at(-3) }));
    expect(await ask()).not.toEqual(before);
    const back = await one.answers.withdrawReason(entered.entry, 'B. Person');
    expect(back).toMatchObject({ withdrawnBy: 'B. Person', withdrawnAt: NOW });
    expect(await ask()).toEqual(before);
    expect(await one.answers.reasons(window)).toEqual([back]);
    expect((await one.store.audit(9)).map(({ who, deed }) => [who, deed])).toEqual([
      ['B. Person', 'withdraw reason'],
      ['A. Person', 'enter reason'],
    ]);
    await expect(one.answers.withdrawReason(entered.entry, 'C')).rejects.toMatchObject({ code: 'conflict' });
    await expect(one.answers.withdrawReason('nothing', 'C')).rejects.toMatchObject({ code: 'not-found' });
  });

  it('week pages follow at once, also of weeks that were thought finished', async () => {
    const lost = async (): Promise<number> => (await one.answers.week('2026-W47')).fleet.time['unscheduled-downtime'] / HOUR;
    const before = await lost();
    expect(before).toBeGreaterThan(0);
    await one.answers.enterReason(draft({ from: at(-170), to: at(-160) }));
    expect(await lost()).toBe(before - 10);
  });

  it('a double click enters once, even when both clicks are under way together', async () => {
    const [first, second] = await Promise.all([one.answers.enterReason(draft()), one.answers.enterReason(draft())]);
    expect(second).toEqual(first);
    expect(await one.answers.reasons(window)).toHaveLength(1);
    expect(await one.store.audit(9)).toHaveLength(1);
    await one.answers.withdrawReason(first.entry, 'A. Person');
    one.clock.at += 1;
    expect((await one.answers.enterReason(draft())).entry).not.toBe(first.entry);
  });

  it('without an end it ends with the state that held, also after a restart and in a window that begins later', async () => {
    const open = draft({ from: at(-2), to: null, state: 'unscheduled-downtime', reason: 'repair' });
    const row = await one.answers.enterReason(open);
    expect(row.until).toBeNull();
    expect(one.book.holding('PC-01', NOW)?.entry).toBe(row.entry);
    const commit = async (...events: ChamberEvent[]): Promise<void> => {
      const stored = await one.store.append({ events, snapshots: new Map() });
      one.book.note(stored);
      await one.book.settled();
    };
    await commit(state(1, 'unobserved', 'no data'), state(2, 'unscheduled-downtime', 'repair'));
    expect(one.book.row(row.entry)?.until).toBeNull();
    await commit(state(30, 'standby', 'idle'));
    expect(one.book.row(row.entry)?.until).toBe(at(30));
    expect(one.book.holding('PC-01', at(30))).toBeNull();
    const late = { from: at(72), to: at(73) };
    expect(one.book.within(late, ['PC-01'])).toEqual([]);
    // Late word of an earlier end heals it.
    await commit(state(20, 'standby', 'idle'));
    expect(one.book.row(row.entry)?.until).toBe(at(20));
    const again = new ReasonBook({ store: one.store, onFatal: (error) => expect.unreachable(String(error)) });
    await again.start();
    expect(again.row(row.entry)).toEqual(one.book.row(row.entry));
    expect(again.openEnds).toEqual(one.book.openEnds);
  });

  it('an open word from long ago holds in a window whose facts do not reach back to it', async () => {
    const word = {
      ...draft({ chamber: 'PC-03', state: 'unscheduled-downtime', reason: 'repair' }),
      note: '',
      by: 'A',
      downtime: 'repair',
      workedOn: [],
    };
    const events = [
      state(-600, 'unscheduled-downtime', 'tripped: RF_FAULT', 'PC-03'),
      { ...word, kind: 'reason', entry: 'old', at: at(-600), to: null, enteredAt: at(-590) },
      state(-72, 'unscheduled-downtime', 'repair', 'PC-03'),
    ] as ChamberEvent[];
    one.book.note(await one.store.append({ events, snapshots: new Map() }));
    const [interval] = await one.answers.intervals({ window: { from: at(-1), to: NOW }, chamber: 'PC-03' });
    expect(interval).toMatchObject({ entry: 'old', from: at(-1), to: NOW, observed: { reason: 'repair' } });
    expect(one.book.openEnds.get('old')).toBe(Infinity);
  });

  it('late word of a state heals every week it holds in, also those after it that were thought finished', async () => {
    const standbyHours = async (): Promise<number[]> => {
      const page = await one.answers.week('2026-W48');
      return page.previous.map(({ time }) => time.standby / HOUR);
    };
    const before = await standbyHours();
    // PC-02 stood idle since the week 45; now it is known to have been down from week 46 on.
    const stored = await one.store.append({ events: [state(-300, 'unscheduled-downtime', 'x', 'PC-02')], snapshots: new Map() });
    one.book.note(stored);
    one.answers.note(stored);
    one.clock.steady += 60_000;
    const after = await standbyHours();
    expect(after.at(-1)).toBeLessThan(before.at(-1)! - 50);
  });

  it('what still waits for a word is listed, whole and newest first, and leaves the list when told', async () => {
    const list = async (): Promise<unknown[]> => {
      const page = await one.answers.stops(window);
      expect(stopsPage.parse(page)).toEqual(page);
      return page.stops.map(({ from, to, isOn }) => [(from - NOW) / HOUR, (to - NOW) / HOUR, isOn]);
    };
    expect(await list()).toEqual([
      [-2, 0, true],
      [-5, -3, false],
    ]);
    expect(await one.answers.stops(window)).toMatchObject({ unexplainedMs: 4 * HOUR, unscheduledMs: 4 * HOUR, share: 1 });
    await one.answers.enterReason(draft({ state: 'unscheduled-downtime', reason: 'repair' }));
    expect(await list()).toEqual([[-2, 0, true]]);
    expect(await one.answers.stops(window)).toMatchObject({ unexplainedMs: 2 * HOUR, unscheduledMs: 4 * HOUR, share: 0.5 });
    // A stop that began before the window is listed from its begin.
    expect((await one.answers.stops({ window: { from: at(-1), to: NOW }, chamber: null })).stops[0]?.from).toBe(at(-2));
  });

  it('what is wrong is refused with its cure and enters nothing', async () => {
    await expect(one.answers.enterReason(draft({ chamber: 'PC-99' }))).rejects.toMatchObject({ code: 'not-found' });
    await expect(one.answers.enterReason(draft({ reason: 'bad luck' }))).rejects.toMatchObject({ code: 'invalid' });
    await expect(one.answers.enterReason(draft({ from: NOW + DAY, to: null }))).rejects.toMatchObject({ code: 'invalid' });
    expect(await one.store.audit(9)).toEqual([]);
    expect(await one.answers.reasons(window)).toEqual([]);
  });

  it('a stopped pipeline takes no word and says so', async () => {
    await one.stop();
    await expect(one.answers.enterReason(draft())).rejects.toMatchObject({ code: 'unavailable' });
  });
});
