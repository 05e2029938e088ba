/** One suite for every store: the same questions get the same answers from memory and from SQLite. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, describe, expect, test } from 'vitest';
import { memoryStore } from '../../gateway/store/memory.ts';
import { openSqlite } from '../../gateway/store/sqlite.ts';
import type { AlertFilter, Commit, DeliveryFilter, Store } from '../../gateway/store/store.ts';
import type { NewAct } from '../../src/alert-act.ts';
import type { NewMute } from '../../src/alert-mute.ts';
import type { Alert, Delivery, WeekLetter } from '../../src/contract.ts';
import type { Suppression } from '../../src/equipment.ts';
import type { ChamberEvent } from '../../src/event.ts';

const phase = (chamber: string, at: number, name: 'pump-down' | 'plasma' | 'vent' = 'plasma'): ChamberEvent => ({
  chamber,
  at,
  kind: 'phase',
  phase: name,
  step: null,
  stepCount: null,
  source: 'tag',
  run: null,
});
const state = (chamber: string, at: number): ChamberEvent => ({
  chamber,
  at,
  kind: 'equipment-state',
  state: 'standby',
  reason: 'idle',
  source: 'tag',
  run: null,
});
const alertOf = (id: string, startedAt: number, change: Partial<Alert> = {}): Alert => ({
  id,
  kind: 'burst',
  chamber: 'PC-01',
  position: null,
  severity: 'medium',
  state: 'open',
  startedAt,
  updatedAt: startedAt,
  closedAt: null,
  acknowledgedAt: null,
  acknowledgedBy: null,
  takenAt: null,
  takenBy: null,
  headline: 'PC-01: 11 alarms',
  rule: 'flood',
  cure: null,
  together: [],
  shares: null,
  partOf: null,
  alarms: { count: 11, rawCount: 14, peak10Min: 12, usual: null, firstOut: null, top: [] },
  facts: [],
  ...change,
});
const deliveryOf = (id: string, alert: string, change: Partial<Delivery> = {}): Delivery => ({
  id,
  alert,
  route: 'hook',
  stage: 'opened',
  state: 'waiting',
  attempts: 0,
  nextAt: 100,
  deliveredAt: null,
  lastError: null,
  ...change,
});
/** Somebody acknowledges. */
const seen = (alert: string, who: string, at: number): NewAct => ({ alert, who, at, deed: 'acknowledged', text: '' });
const commit = (events: ChamberEvent[], rest: Partial<Commit> = {}): Commit => ({ events, snapshots: new Map(), ...rest });

const folders: string[] = [];
const opened: Store[] = [];
const STORES = {
  memory: () => Promise.resolve(memoryStore()),
  sqlite: () => {
    const folder = mkdtempSync(join(tmpdir(), 'glow store '));
    folders.push(folder);
    return openSqlite(folder);
  },
};

afterEach(async () => {
  await Promise.all(opened.splice(0).map((store) => store.close()));
  for (const folder of folders.splice(0)) rmSync(folder, { recursive: true });
});

describe.each(Object.entries(STORES))('the %s store', (_, open) => {
  const fresh = async (): Promise<Store> => {
    const store = await open();
    opened.push(store);
    return store;
  };

  test('gives new events ascending sequences and ignores those it knows', async () => {
    const store = await fresh();
    const first = await store.append(commit([phase('PC-01', 1000), phase('PC-02', 1000)]));
    const again = await store.append(commit([phase('PC-01', 1000), phase('PC-01', 2000), phase('PC-01', 2000)]));
    expect(first.map((e) => [e.seq, e.chamber, e.at])).toEqual([
      [1, 'PC-01', 1000],
      [2, 'PC-02', 1000],
    ]);
    expect(again.map((e) => [e.seq, e.chamber, e.at])).toEqual([[3, 'PC-01', 2000]]);
    expect(await store.events({})).toEqual([...first, ...again]);
  });

  test('answers events by chamber, kind, half-open time, sequence, order and limit', async () => {
    const store = await fresh();
    await store.append(commit([phase('PC-01', 3000), state('PC-01', 1000), phase('PC-02', 2000), phase('PC-01', 4000)]));
    const seqs = async (query: Parameters<Store['events']>[0]): Promise<number[]> => (await store.events(query)).map((e) => e.seq);
    expect(await seqs({ chambers: ['PC-01'] })).toEqual([1, 2, 4]);
    expect(await seqs({ chambers: [] })).toEqual([]);
    expect(await seqs({ kinds: ['phase'] })).toEqual([1, 3, 4]);
    expect(await seqs({ from: 1000, to: 3000 })).toEqual([2, 3]);
    expect(await seqs({ afterSeq: 2 })).toEqual([3, 4]);
    expect(await seqs({ upToSeq: 2 })).toEqual([1, 2]);
    expect(await seqs({ order: 'newest', limit: 2 })).toEqual([4, 1]);
    expect(await seqs({ chambers: ['PC-01', 'PC-02'], kinds: ['phase'], from: 2000, to: 4000, limit: 1 })).toEqual([1]);
  });

  test('knows what held before an instant, per chamber, strictly before', async () => {
    const store = await fresh();
    await store.append(commit([state('PC-01', 1000), state('PC-01', 2000), state('PC-02', 2000), phase('PC-02', 1500)]));
    const held = await store.lastBefore('equipment-state', 2000, ['PC-01', 'PC-02', 'PC-03']);
    expect(held.map((e) => [e.chamber, e.at])).toEqual([['PC-01', 1000]]);
    const early = await store.lastBefore('equipment-state', 9000, ['PC-01', 'PC-02'], 1);
    expect(early.map((e) => [e.chamber, e.at])).toEqual([['PC-01', 1000]]);
  });

  test('knows which alarms stood at an instant, by the last word on each', async () => {
    const store = await fresh();
    const alarm = (at: number, code: string, change: 'activated' | 'cleared' | 'acknowledged', chamber = 'PC-01'): ChamberEvent => ({
      ...{ kind: 'alarm', chamber, at, code, text: code, priority: 'high', notice: false, change, counted: true, suppressed: false },
    });
    const events = [
      alarm(1, 'OLD', 'activated'),
      alarm(10, 'RF', 'activated'),
      alarm(11, 'RF', 'activated'),
      alarm(12, 'RF', 'acknowledged'),
      alarm(10, 'DOOR', 'activated'),
      alarm(20, 'DOOR', 'cleared'),
      alarm(30, 'RF', 'cleared'),
      alarm(10, 'RF', 'activated', 'PC-02'),
    ];
    await store.append({ events, snapshots: new Map() });
    const codes = async (to: number, chambers = ['PC-01']) =>
      (await store.standing({ from: 5, to }, chambers)).map((e) => [e.chamber, e.kind === 'alarm' && e.code, e.at]);
    expect(await codes(15)).toEqual([
      ['PC-01', 'RF', 11],
      ['PC-01', 'DOOR', 10],
    ]);
    expect(await codes(30)).toEqual([['PC-01', 'RF', 11]]);
    expect(await codes(31, ['PC-01', 'PC-02'])).toEqual([['PC-02', 'RF', 10]]);
  });

  test('what was shelved, suppressed or out of service at a moment is found beside what stood', async () => {
    const store = await fresh();
    const word = (at: number, code: string, suppressedAs: readonly Suppression[]): ChamberEvent => ({
      ...{ kind: 'alarm', chamber: 'PC-01', at, code, text: code, priority: 'high', notice: false, counted: true },
      ...{ change: 'suppression', suppressed: suppressedAs.length > 0, suppressedAs: [...suppressedAs] },
    });
    const events = [
      word(10, 'RF', ['shelved']),
      word(12, 'OIL', ['out of service']),
      word(14, 'RF', ['shelved', 'by design']),
      word(20, 'RF', []),
    ];
    await store.append({ events, snapshots: new Map() });
    const held = async (to: number) =>
      (await store.standing({ from: 5, to }, ['PC-01'])).map((e) => e.kind === 'alarm' && `${e.code} ${e.suppressedAs?.join()} ${e.at}`);
    expect(await held(12)).toEqual(['RF shelved 10']);
    expect(await held(15)).toEqual(['OIL out of service 12', 'RF shelved,by design 14']);
    expect(await held(30)).toEqual(['OIL out of service 12']);
  });

  test('answers alerts by id and by time, newest first', async () => {
    const store = await fresh();
    await store.append({ events: [], snapshots: new Map(), alerts: [1, 2, 3, 4].map((n) => alertOf(`a${n}`, n * 100)) });
    const ids = async (filter: AlertFilter) => (await store.alerts(filter)).map((alert) => alert.id);
    expect(await ids({ ids: ['a2', 'a4', 'none'] })).toEqual(['a4', 'a2']);
    expect(await ids({ ids: [] })).toEqual([]);
    expect(await ids({ from: 200, to: 400 })).toEqual(['a3', 'a2']);
    expect(await ids({ to: 400, limit: 1 })).toEqual(['a3']);
  });

  test('keeps the newest snapshot of each name and its extent', async () => {
    const store = await fresh();
    expect(await store.extent()).toBeNull();
    await store.append(
      commit([phase('PC-01', 5000)], {
        snapshots: new Map([
          ['PC-01', '{"a":1}'],
          ['alert-watch', '[]'],
        ]),
      }),
    );
    await store.append(commit([phase('PC-01', 3000)], { snapshots: new Map([['PC-01', '{"a":2}']]) }));
    expect(await store.snapshots()).toEqual(
      new Map([
        ['PC-01', '{"a":2}'],
        ['alert-watch', '[]'],
      ]),
    );
    expect(await store.extent()).toEqual({ seq: 2, first: 3000, last: 5000 });
  });

  test('updates an alert without losing who acknowledged it', async () => {
    const store = await fresh();
    await store.append(commit([], { alerts: [alertOf('a', 100), alertOf('b', 200)] }));
    await store.actOnAlert(seen('a', 'shift supervisor', 150));
    await store.append(commit([], { alerts: [alertOf('a', 100, { state: 'closed', updatedAt: 400, closedAt: 400, headline: 'over' })] }));
    const [b, a] = await store.alerts({});
    expect(b).toMatchObject({ id: 'b', state: 'open', acknowledgedAt: null });
    expect(a).toMatchObject({ id: 'a', state: 'closed', headline: 'over', acknowledgedAt: 150, acknowledgedBy: 'shift supervisor' });
    expect((await store.alerts({ state: 'open' })).map((x) => x.id)).toEqual(['b']);
    expect((await store.alerts({ from: 300 })).map((x) => x.id)).toEqual(['a']);
    expect((await store.alerts({ limit: 1 })).map((x) => x.id)).toEqual(['b']);
  });

  test('refuses to acknowledge an unknown alert, or one twice, and goes on working', async () => {
    const store = await fresh();
    await store.append(commit([], { alerts: [alertOf('a', 100)] }));
    await expect(store.actOnAlert(seen('nope', 'x', 1))).rejects.toMatchObject({ code: 'not-found' });
    await store.actOnAlert(seen('a', 'x', 1));
    await expect(store.actOnAlert(seen('a', 'y', 2))).rejects.toMatchObject({
      code: 'conflict',
      message: 'x acknowledged this alert already.',
    });
    expect(await store.append(commit([phase('PC-01', 1)]))).toHaveLength(1);
  });

  test('writes down who did what with the facts it led to, and nothing of a deed that failed', async () => {
    const store = await fresh();
    const row = (at: number, subject: string) => ({ at, who: 'A. Person', deed: 'enter reason', subject });
    await store.append(commit([phase('PC-01', 1)], { alerts: [alertOf('a', 100)], audit: [row(1, 'x'), row(2, 'y')] }));
    await store.actOnAlert(seen('a', 'B. Person', 3));
    await expect(store.actOnAlert(seen('a', 'C. Person', 4))).rejects.toMatchObject({ code: 'conflict' });
    expect(await store.audit(9)).toEqual([{ at: 3, who: 'B. Person', deed: 'acknowledge alert', subject: 'a' }, row(2, 'y'), row(1, 'x')]);
    expect(await store.audit(1)).toHaveLength(1);
  });

  test('an alert is taken, commented and given back; each act stays with its audit row, and an update of the alert loses none of it', async () => {
    const store = await fresh();
    await store.append(commit([], { alerts: [alertOf('a', 100), alertOf('b', 100)] }));
    const act = (deed: NewAct['deed'], who: string, at: number, text = ''): NewAct => ({ alert: 'a', who, at, deed, text });
    expect(await store.actOnAlert(act('taken', 'A. Brandt', 110))).toMatchObject({ takenBy: 'A. Brandt', acknowledgedBy: 'A. Brandt' });
    await expect(store.actOnAlert(act('taken', 'B. Cole', 120))).rejects.toMatchObject({ code: 'conflict' });
    expect((await store.actOnAlert(act('taken', 'B. Cole', 130, 'A. Brandt'))).takenBy).toBe('B. Cole');
    await store.actOnAlert(act('commented', 'B. Cole', 140, 'hose kinked'));
    await store.append(commit([], { alerts: [alertOf('a', 100, { state: 'closed', updatedAt: 150 })] }));
    expect((await store.alerts({ ids: ['a'] }))[0]).toMatchObject({
      state: 'closed',
      takenBy: 'B. Cole',
      takenAt: 130,
      acknowledgedAt: 110,
    });
    expect(await store.actOnAlert(act('given back', 'C. Dahl', 160))).toMatchObject({ takenBy: null, takenAt: null, acknowledgedAt: 110 });
    const acts = await store.acts(['a', 'none']);
    expect(acts.map(({ deed, who, text, at }) => [deed, who, text, at])).toEqual([
      ['taken', 'A. Brandt', '', 110],
      ['taken', 'B. Cole', 'A. Brandt', 130],
      ['commented', 'B. Cole', 'hose kinked', 140],
      ['given back', 'C. Dahl', '', 160],
    ]);
    expect(new Set(acts.map(({ id }) => id)).size).toBe(4);
    expect(await store.acts(['b'])).toEqual([]);
    expect((await store.audit(9)).map(({ deed, who, subject }) => [deed, who, subject])).toEqual([
      ['give alert back', 'C. Dahl', 'a'],
      ['comment on alert', 'B. Cole', 'a'],
      ['take alert', 'B. Cole', 'a'],
      ['take alert', 'A. Brandt', 'a'],
    ]);
    await expect(store.actOnAlert({ ...act('commented', 'x', 1, 'y'), alert: 'none' })).rejects.toMatchObject({ code: 'not-found' });
  });

  test('a mute is on from its begin until its end, or until somebody ends it, and each is audited', async () => {
    const store = await fresh();
    await store.append(commit([], { alerts: [alertOf('a', 100)] }));
    const draft = (change: Partial<NewMute> = {}): NewMute => ({
      ...{
        kind: 'burst',
        chamber: 'PC-01',
        shared: null,
        from: 200,
        until: 300,
        who: 'A. Brandt',
        why: 'door switch is on order',
        alert: 'a',
      },
      ...change,
    });
    const first = await store.addMute(draft());
    const second = await store.addMute(draft({ kind: null, until: 400, alert: null }));
    expect(first).toEqual({ ...draft(), id: first.id, endedAt: null, endedBy: null });
    const on = async (at: number) => (await store.mutes(at)).map(({ id }) => id);
    expect([await on(199), await on(200), await on(299), await on(300), await on(400)]).toEqual([
      [],
      [first.id, second.id],
      [first.id, second.id],
      [second.id],
      [],
    ]);
    expect(await store.endMute(first.id, { at: 250, who: 'B. Cole' })).toEqual({ ...first, endedAt: 250, endedBy: 'B. Cole' });
    expect([await on(249), await on(250)]).toEqual([[first.id, second.id], [second.id]]);
    await expect(store.endMute(first.id, { at: 260, who: 'x' })).rejects.toMatchObject({ code: 'conflict' });
    await expect(store.endMute(second.id, { at: 400, who: 'x' })).rejects.toMatchObject({ code: 'conflict' });
    await expect(store.endMute(99, { at: 250, who: 'x' })).rejects.toMatchObject({ code: 'not-found' });
    await expect(store.addMute(draft({ alert: 'none' }))).rejects.toMatchObject({ code: 'not-found' });
    await store.endMute(second.id, { at: 260, who: 'B. Cole' });
    expect((await store.allMutes(9)).map(({ id }) => id)).toEqual([second.id, first.id]);
    expect((await store.acts(['a'])).map(({ deed, who, text }) => [deed, who, text])).toEqual([
      ['muted', 'A. Brandt', 'door switch is on order'],
      ['unmuted', 'B. Cole', ''],
    ]);
    expect((await store.audit(9)).map(({ deed, subject }) => [deed, subject])).toEqual([
      ['unmute alerts', 'PC-01'],
      ['unmute alert', 'a'],
      ['mute alerts', 'PC-01'],
      ['mute alert', 'a'],
    ]);
  });

  test('a mute keeps what it is shared of, and the audit names it', async () => {
    const store = await fresh();
    const shared = 'cooling water (CW-1)';
    const draft = {
      kind: 'common-cause',
      chamber: null,
      shared,
      from: 200,
      until: 300,
      who: 'A. Brandt',
      why: 'known',
      alert: null,
    } as const;
    const made = await store.addMute(draft);
    expect(made).toEqual({ ...draft, id: made.id, endedAt: null, endedBy: null });
    expect(await store.mutes(200)).toEqual([made]);
    expect((await store.audit(9)).map(({ subject }) => subject)).toEqual([`common-cause at ${shared}`]);
  });

  test('finds alerts by kind, chamber, severity, who took them, words and first alarm, page by page', async () => {
    const store = await fresh();
    const alarms = { count: 9, rawCount: 9, peak10Min: 9, usual: null, top: [] };
    const firstOut = { chamber: 'PC-02', code: 'WATER_LOW', text: 'Water', at: 1 };
    await store.append(
      commit([], {
        alerts: [
          alertOf('a', 100, { headline: 'PC-01: Cooling water' }),
          alertOf('b', 200, { kind: 'common-cause', chamber: null, together: ['PC-02', 'PC-03'], severity: 'high' }),
          alertOf('c', 200, { kind: 'flood', chamber: 'PC-02', alarms: { ...alarms, firstOut } }),
        ],
      }),
    );
    await store.actOnAlert({ alert: 'b', at: 210, who: 'A. Brandt', deed: 'taken', text: '' });
    await store.actOnAlert({ alert: 'c', at: 210, who: 'A. Brandt', deed: 'commented', text: 'PUMP of the cooling loop 100%' });
    const ids = async (filter: AlertFilter) => (await store.alerts(filter)).map(({ id }) => id);
    expect(await ids({})).toEqual(['c', 'b', 'a']);
    expect(await ids({ kinds: ['burst', 'flood'] })).toEqual(['c', 'a']);
    expect([await ids({ chamber: 'PC-02' }), await ids({ chamber: 'PC-03' })]).toEqual([['c', 'b'], ['b']]);
    expect(await ids({ severity: 'high' })).toEqual(['b']);
    expect(await ids({ takenBy: 'A. Brandt' })).toEqual(['b']);
    expect([
      await ids({ words: 'cooling' }),
      await ids({ words: 'pump' }),
      await ids({ words: '100%' }),
      await ids({ words: '%%' }),
    ]).toEqual([['c', 'a'], ['c'], ['c'], []]);
    expect(await ids({ firstOut: 'WATER_LOW' })).toEqual(['c']);
    expect(await ids({ limit: 2 })).toEqual(['c', 'b']);
    expect(await ids({ after: { startedAt: 200, id: 'c' } })).toEqual(['b', 'a']);
    expect(await ids({ after: { startedAt: 200, id: 'b' } })).toEqual(['a']);
  });

  test('a delivery is born once and then belongs to its sender', async () => {
    const store = await fresh();
    await store.append(commit([], { deliveries: [deliveryOf('d1', 'a'), deliveryOf('d2', 'b', { nextAt: 300 })] }));
    expect((await store.deliveries({ dueBefore: 200 })).map((d) => d.id)).toEqual(['d1']);
    await store.saveDeliveries([deliveryOf('d1', 'a', { state: 'delivered', nextAt: null, deliveredAt: 180, attempts: 1 })]);
    await store.append(commit([], { deliveries: [deliveryOf('d1', 'a')] }));
    expect(await store.deliveries({ alerts: ['a'] })).toEqual([
      deliveryOf('d1', 'a', { state: 'delivered', nextAt: null, deliveredAt: 180, attempts: 1 }),
    ]);
    expect((await store.deliveries({ dueBefore: 1000 })).map((d) => d.id)).toEqual(['d2']);
  });

  test('messages are found by name, route, state and time, and change together with the audit or not at all', async () => {
    const store = await fresh();
    const [a, b, c] = ['a', 'b', 'c'].map((id) => deliveryOf(id, id, { route: id === 'c' ? 'mail' : 'hook' })) as [
      Delivery,
      Delivery,
      Delivery,
    ];
    const sent: Delivery = { ...b, state: 'delivered', nextAt: null, deliveredAt: 500 };
    await store.saveDeliveries([a, sent, c], [{ at: 1, who: 'A. Beck', deed: 'resend message', subject: 'a' }]);
    const ids = async (filter: DeliveryFilter) => (await store.deliveries(filter)).map(({ id }) => id);
    expect(await ids({ ids: ['c', 'a', 'x'] })).toEqual(['a', 'c']);
    expect(await ids({ routes: ['hook'] })).toEqual(['a', 'b']);
    expect(await ids({ states: ['delivered', 'dead'] })).toEqual(['b']);
    expect([await ids({ deliveredFrom: 500 }), await ids({ deliveredFrom: 501 })]).toEqual([['b'], []]);
    expect(await ids({ newest: true, limit: 2 })).toEqual(['c', 'b']);
    expect(await store.lastDelivered()).toEqual(new Map([['hook', 500]]));
    expect(await store.audit(1)).toEqual([{ at: 1, who: 'A. Beck', deed: 'resend message', subject: 'a' }]);
    expect(await store.deliveries({ ids: ['b'] })).toEqual([sent]);
  });

  test('a letter is born once, belongs to its sender, and none that is unknown can be changed', async () => {
    const store = await fresh();
    const letter = (week: string, change: Partial<WeekLetter> = {}): WeekLetter => ({
      id: `week|${week}|managers`,
      week,
      route: 'managers',
      dueAt: 100,
      until: 900,
      state: 'waiting',
      attempts: 0,
      nextAt: 100,
      deliveredAt: null,
      lastError: null,
      figures: null,
      ...change,
    });
    await store.addLetters([letter('2026-W46'), letter('2026-W47')]);
    const sent = letter('2026-W46', { state: 'delivered', nextAt: null, deliveredAt: 120, figures: [{ name: 'loads', text: '12' }] });
    await store.saveLetter(sent);
    await store.addLetters([letter('2026-W46')]);
    await store.saveLetter(letter('2026-W40'));
    expect(await store.letters({})).toEqual([letter('2026-W47'), sent]);
    expect(await store.letters({ week: '2026-W46' })).toEqual([sent]);
    expect([await store.letters({ dueBefore: 100 }), await store.letters({ dueBefore: 101 })]).toEqual([[], [letter('2026-W47')]]);
  });

  test('answers overlapping traces oldest first, merges them and forgets the old', async () => {
    const store = await fresh();
    const minute = (n: number, chamber = 'PC-01') => ({ chamber, from: n * 60_000, to: (n + 1) * 60_000, packed: Uint8Array.of(n) });
    await store.appendTraces([minute(1), minute(0), minute(2), minute(0, 'PC-02')]);
    const packed = async (from: number, to: number): Promise<number[]> =>
      (await store.traces('PC-01', from, to)).map((s) => s.packed[0] as number);
    expect(await packed(60_000, 120_000)).toEqual([1]);
    expect(await packed(59_999, 120_001)).toEqual([0, 1, 2]);
    await store.replaceTraces({ chamber: 'PC-01', from: 0, to: 120_000, packed: Uint8Array.of(77) });
    expect(await packed(0, 300_000)).toEqual([77, 2]);
    await store.forgetTraces(120_000);
    expect(await packed(0, 300_000)).toEqual([2]);
    expect(await store.traces('PC-02', 0, 300_000)).toEqual([]);
  });

  test('forgets of the oldest traces no more than it may at once', async () => {
    const store = await fresh();
    const minute = (n: number, chamber = 'PC-01') => ({ chamber, from: n * 60_000, to: (n + 1) * 60_000, packed: Uint8Array.of(n) });
    await store.forgetTraces(600_000, 60_000);
    await store.appendTraces([minute(0), minute(1, 'PC-02'), minute(2), minute(3), minute(9)]);
    const left = async (): Promise<number[]> => {
      const both = await Promise.all(['PC-01', 'PC-02'].map((chamber) => store.traces(chamber, 0, 900_000)));
      return both.flat().map(({ packed }) => packed[0] as number);
    };
    await store.forgetTraces(600_000, 60_000);
    expect(await left()).toEqual([2, 3, 9]);
    await store.forgetTraces(180_000, 900_000);
    expect(await left()).toEqual([3, 9]);
  });

  test('many appends at once all get their own sequences', async () => {
    const store = await fresh();
    const answers = await Promise.all(Array.from({ length: 50 }, (_, i) => store.append(commit([phase('PC-01', i)]))));
    expect(answers.flat().map((e) => e.seq)).toEqual(Array.from({ length: 50 }, (_, i) => i + 1));
  });

  test('refuses every call once closed', async () => {
    const store = await fresh();
    await store.close();
    await expect(store.append(commit([phase('PC-01', 1)]))).rejects.toMatchObject({ code: 'unavailable' });
    await expect(store.events({})).rejects.toMatchObject({ code: 'unavailable' });
  });
});
