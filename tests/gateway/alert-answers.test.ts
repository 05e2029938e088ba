/** Acts, the live board and the evidence of alerts, from committed facts. */
import { readFileSync } from 'node:fs';
import { beforeEach, describe, expect, it } from 'vitest';
import { openAnswers, type OpenAnswers } from '../../gateway/answers.ts';
import { parseSite } from '../../gateway/config.ts';
import { plantOf } from '../../gateway/plant.ts';
import { ReasonBook } from '../../gateway/reason-book.ts';
import { memoryStore } from '../../gateway/store/memory.ts';
import type { Store } from '../../gateway/store/store.ts';
import { initialChamber } from '../../src/chamber.ts';
import { alertEvidence, inboxAlert } from '../../src/alert-inbox.ts';
import { alertNews, type Alert } from '../../src/contract.ts';
import type { ChamberEvent } from '../../src/event.ts';
import { exampleAlert, exampleAlertAlarms, exampleDelivery, exampleFleet } from './wire-examples.ts';

const FILE = 'gateway/simulator/quellmoor.yaml';
const plant = plantOf(parseSite(FILE, readFileSync(FILE, 'utf8')));
const MIN = 60_000;
const HOUR = 60 * MIN;
const NOW = Date.UTC(2026, 10, 25, 13);

let store: Store;
let answers: OpenAnswers;
let book: ReasonBook;
let clock: { at: number; now(): number; steadyMs(): number; speed: number };

const first = (code: string, at: number, chamber = 'PC-06') => exampleAlertAlarms({ firstOut: { chamber, code, text: code, at } });
const alertOf = (id: string, startedAt: number, change: Partial<Alert> = {}): Alert =>
  exampleAlert({ id, startedAt, updatedAt: startedAt, together: [], alarms: first('RF_REFL_HIGH', startedAt), ...change });
const commit = (alerts: readonly Alert[], events: readonly ChamberEvent[] = []) => store.append({ events, snapshots: new Map(), alerts });

beforeEach(async () => {
  store = memoryStore();
  clock = { at: NOW, now: () => clock.at, steadyMs: () => 0, speed: 1 };
  book = new ReasonBook({ store, onFatal: (error) => expect.unreachable(String(error)) });
  answers = openAnswers({
    plant,
    store,
    clock,
    reasons: book,
    record: () => expect.unreachable('no reason is entered here'),
    state: (id) => ({ ...initialChamber(plant.chamber(id).rules), now: clock.at }),
    earlierShifts: () => [],
    fleet: () => exampleFleet(),
    servers: () => [],
    health: () => ({ ready: true, problems: [] }),
    readTrace: () => Promise.reject(new Error('no traces here')),
    acknowledge: () => expect.unreachable('nothing is acknowledged here'),
  });
});

describe('acts', () => {
  beforeEach(() => commit([alertOf('a', NOW - HOUR)]));

  it('answer with the alert, its deliveries and all that was done, once it is on disk', async () => {
    await store.append({ events: [], snapshots: new Map(), deliveries: [exampleDelivery({ alert: 'a' })] });
    await answers.take('a', 'A. Brandt');
    const row = await answers.comment('a', 'A. Brandt', 'match box warm');
    expect(inboxAlert.parse(row)).toMatchObject({ takenBy: 'A. Brandt', acknowledgedBy: 'A. Brandt', takenAt: NOW });
    expect(row.deliveries).toHaveLength(1);
    expect(row.acts.map(({ deed, text }) => [deed, text])).toEqual([
      ['taken', ''],
      ['commented', 'match box warm'],
    ]);
    expect((await store.audit(9)).map(({ deed }) => deed)).toEqual(['comment on alert', 'take alert']);
  });

  it('a double click comments once, however fast', async () => {
    await Promise.all([answers.comment('a', 'A. Brandt', 'x'), answers.comment('a', 'A. Brandt', 'x')]);
    clock.at += 10_000;
    expect((await answers.comment('a', 'A. Brandt', 'x')).acts).toHaveLength(2);
  });

  it('an alert that closes while it is muted is closed on every page', async () => {
    const alert = (await store.alerts({ ids: ['a'] }))[0] as Alert;
    answers.board.note([alert]);
    const mutes = store.mutes.bind(store);
    // Its end is committed and told while the mute is made; who reads the store a moment later may still read it as it was.
    store.mutes = async (at) => {
      answers.board.note([{ ...alert, state: 'closed', closedAt: NOW }]);
      return mutes(at);
    };
    await answers.mute({ kind: 'burst', chamber: 'PC-06', until: NOW + HOUR, why: 'on order', by: 'A. Brandt', alert: 'a' });
    expect(answers.board.news(null)).toMatchObject({ open: 0 });
  });

  it('of two who take it at once one is told who has it', async () => {
    const both = await Promise.allSettled([answers.take('a', 'A. Brandt'), answers.take('a', 'B. Cole')]);
    expect(both.map(({ status }) => status)).toEqual(['fulfilled', 'rejected']);
    expect((await answers.take('a', 'B. Cole', 'A. Brandt')).takenBy).toBe('B. Cole');
    expect((await answers.giveBack('a', 'C. Dahl')).takenBy).toBeNull();
  });

  it('a mute marks the alerts that it covers until it ends, and what is over is not marked', async () => {
    await commit([alertOf('b', NOW - HOUR, { state: 'closed', closedAt: NOW })]);
    const draft = { kind: 'burst' as const, chamber: 'PC-06', until: NOW + HOUR, why: 'on order', by: 'A. Brandt' };
    const made = await answers.mute({ ...draft, alert: 'a' });
    expect(made).toMatchObject({ who: 'A. Brandt', from: NOW, until: NOW + HOUR, alert: 'a' });
    expect((await answers.alert('a')).mute?.id).toBe(made.id);
    expect((await answers.alert('b')).mute).toBeNull();
    clock.at = NOW + HOUR;
    expect((await answers.alert('a')).mute).toBeNull();
    clock.at = NOW + MIN;
    await answers.unmute(made.id, 'B. Cole');
    expect((await answers.alert('a')).mute).toBeNull();
    expect((await answers.alert('a')).acts.map(({ deed }) => deed)).toEqual(['muted', 'unmuted']);
    expect((await answers.mutes(9))[0]).toMatchObject({ endedBy: 'B. Cole', endedAt: NOW + MIN });
  });

  it('a mute of what is shared marks the common cause of that utility, and not that of another', async () => {
    const cause = (id: string, shares: string) => alertOf(id, NOW - HOUR, { kind: 'common-cause', chamber: null, shares });
    await commit([cause('water', 'cooling water (CW-1)'), cause('power', 'power (P-2)')]);
    const draft = { kind: 'common-cause' as const, chamber: null, until: NOW + HOUR, why: 'pump swap', by: 'A. Brandt' };
    const made = await answers.mute({ ...draft, shared: 'cooling water (CW-1)', alert: 'water' });
    expect([(await answers.alert('water')).mute?.id, (await answers.alert('power')).mute]).toEqual([made.id, null]);
    const older = await answers.mute({ ...draft, until: NOW + 2 * HOUR });
    expect([(await answers.alert('water')).mute?.id, (await answers.alert('power')).mute?.id]).toEqual([older.id, older.id]);
  });

  it('what cannot be muted is refused in words', async () => {
    const draft = { kind: 'burst' as const, chamber: null, until: NOW + HOUR, why: 'x', by: 'y' };
    await expect(answers.mute({ ...draft, until: NOW })).rejects.toMatchObject({ code: 'invalid' });
    await expect(answers.mute({ ...draft, kind: null })).rejects.toMatchObject({ code: 'invalid' });
    await expect(answers.mute({ ...draft, chamber: 'PC-99' })).rejects.toMatchObject({ code: 'not-found' });
    await expect(answers.mute({ ...draft, alert: 'none' })).rejects.toMatchObject({ code: 'not-found' });
    expect(await answers.mutes(9)).toEqual([]);
  });

  it('the next page begins after an alert that is known', async () => {
    await commit([alertOf('b', NOW - HOUR), alertOf('c', NOW)]);
    expect((await answers.alerts({ after: 'c' })).map(({ id }) => id)).toEqual(['b', 'a']);
    await expect(answers.alerts({ after: 'none' })).rejects.toMatchObject({ code: 'not-found' });
  });
});

describe('the board', () => {
  it('tells whoever comes all that is open, and then what changed, in whose hands too', async () => {
    await commit([alertOf('a', NOW - HOUR), alertOf('b', NOW), alertOf('old', NOW - HOUR, { state: 'closed' })]);
    await store.actOnAlert({ alert: 'b', at: NOW, who: 'C. Dahl', deed: 'acknowledged', text: '' });
    const { board } = answers;
    await board.start();
    const whole = alertNews.parse(board.news(null));
    expect(whole).toMatchObject({ isWhole: true, open: 2 });
    expect(whole.changed.map(({ id, acknowledgedBy }) => [id, acknowledgedBy])).toEqual([
      ['b', 'C. Dahl'],
      ['a', null],
    ]);
    expect(board.news(whole.rev).changed).toEqual([]);
    await answers.take('a', 'A. Brandt');
    const taken = board.news(whole.rev);
    expect([taken.isWhole, taken.changed.map(({ id, takenBy }) => [id, takenBy])]).toEqual([false, [['a', 'A. Brandt']]]);
    // The rule that updates it does not know who took it.
    board.note([alertOf('a', NOW - HOUR, { state: 'closed', closedAt: NOW })]);
    expect(board.news(taken.rev).changed).toMatchObject([{ id: 'a', state: 'closed', takenBy: 'A. Brandt' }]);
    expect(board.news(null)).toMatchObject({ isWhole: true, open: 1 });
    expect(board.news(board.rev + 1).isWhole).toBe(true);
  });

  it('tells of a mute and of its end, with the time at which it runs out', async () => {
    await commit([alertOf('a', NOW - HOUR), alertOf('b', NOW, { chamber: 'PC-01' })]);
    const { board } = answers;
    await board.start();
    const muted = () => board.news(null).changed.map(({ id, mutedUntil }) => [id, mutedUntil]);
    const made = await answers.mute({ kind: null, chamber: 'PC-06', until: NOW + HOUR, why: 'x', by: 'y' });
    expect(muted()).toEqual(
      expect.arrayContaining([
        ['a', NOW + HOUR],
        ['b', null],
      ]),
    );
    await answers.unmute(made.id, 'y');
    expect(muted()).toEqual(
      expect.arrayContaining([
        ['a', null],
        ['b', null],
      ]),
    );
  });

  it('forgets closed alerts in time, and who missed that gets the whole', async () => {
    const { board } = answers;
    board.note([alertOf('a', 0, { state: 'closed' })]);
    const seen = board.rev;
    for (let i = 0; i < 1_200; i++) board.note([alertOf('b', 0)]);
    expect(board.news(seen - 1).isWhole).toBe(true);
    expect(board.news(seen).isWhole).toBe(false);
    expect(board.news(board.rev - 1).changed.map(({ id }) => id)).toEqual(['b']);
  });
});

describe('evidence', () => {
  const alarm = (minutes: number, code: string, change: 'activated' | 'cleared' = 'activated', chamber = 'PC-06'): ChamberEvent => ({
    ...{ kind: 'alarm', chamber, at: NOW + minutes * MIN, code, text: `${code} text`, priority: 'medium', notice: false },
    ...{ change, counted: true, suppressed: false },
  });
  const state = (minutes: number, name: string, reason: string): ChamberEvent =>
    ({
      kind: 'equipment-state',
      chamber: 'PC-06',
      at: NOW + minutes * MIN,
      state: name,
      reason,
      source: 'signal',
      run: null,
    }) as ChamberEvent;
  const run = (minutes: number, recipe: string, outcome: 'completed' | 'aborted' = 'completed'): ChamberEvent => ({
    ...{ kind: 'run-ended', chamber: 'PC-06', at: NOW + minutes * MIN, run: `PC-06/${minutes}`, startedAt: NOW + (minutes - 20) * MIN },
    ...{ outcome, recipe, load: null, engineering: false, doorClosedAt: null, phases: [], observedMs: 0 },
  });

  it('holds the alarms in their order with the first marked, and of a chamber elsewhere none', async () => {
    const now = alertOf('now', NOW - 20 * MIN, { alarms: first('RF_REFL_HIGH', NOW - 19 * MIN) });
    const others = [alarm(-18, 'DOOR', 'activated', 'PC-01'), alarm(-40, 'LONG_AGO')];
    await commit([now], [...others, alarm(-19, 'RF_REFL_HIGH'), alarm(-17, 'NO_IGNITION'), alarm(-16, 'RF_REFL_HIGH', 'cleared')]);
    const found = alertEvidence.parse(await answers.evidence('now'));
    expect(found).toMatchObject({ from: NOW - 30 * MIN, to: NOW, chamber: 'PC-06', moreAlarms: 0 });
    expect(found.alarms.map(({ code, isFirst, clearedAt }) => [code, isFirst, clearedAt])).toEqual([
      ['RF_REFL_HIGH', true, NOW - 16 * MIN],
      ['NO_IGNITION', false, null],
    ]);
  });

  it('of an alert about several chambers holds theirs and no others', async () => {
    const wide = alertOf('now', NOW - 20 * MIN, { kind: 'common-cause', chamber: null, together: ['PC-05', 'PC-06'], alarms: null });
    const facts = ['PC-05', 'PC-06', 'PC-07'].map((chamber, i) => alarm(-19 + i, 'WATER_FLOW_LOW', 'activated', chamber));
    await commit([wide], facts);
    const found = await answers.evidence('now');
    expect(found.alarms.map(({ chamber }) => chamber)).toEqual(['PC-05', 'PC-06']);
    expect(found.chamber).toBe('PC-05');
  });

  it('holds what was noted at episodes like it before, what followed, and what was lost', async () => {
    const before = alertOf('before', NOW - 300 * MIN, { state: 'closed', closedAt: NOW - 290 * MIN });
    const facts = [state(-600, 'standby', 'idle'), state(-280, 'unscheduled-downtime', 'tripped: RF'), state(-200, 'standby', 'idle')];
    const told: ChamberEvent = {
      ...{ kind: 'reason', chamber: 'PC-06', at: NOW - 280 * MIN, entry: 'e', to: NOW - 200 * MIN, state: 'unscheduled-downtime' },
      ...{ reason: 'RF match', note: 'capacitor', by: 'B. Cole', enteredAt: NOW - 100 * MIN, downtime: 'repair', workedOn: [] },
    };
    const taken = { ...told, entry: 'f', reason: 'taken back' } as ChamberEvent;
    const back: ChamberEvent = { kind: 'reason-withdrawn', chamber: 'PC-06', at: NOW - 90 * MIN, entry: 'f', by: 'B. Cole' };
    book.note(
      await commit([before, alertOf('now', NOW - 20 * MIN)], [...facts, told, taken, back, run(-285, 'A', 'aborted'), run(-100, 'A')]),
    );
    await answers.comment('before', 'A. Brandt', 'hose kinked');
    const { similar } = alertEvidence.parse(await answers.evidence('now'));
    expect(similar).toHaveLength(1);
    expect(similar[0]).toMatchObject({
      ...{ id: 'before', likeness: 'same first alarm here', lostRuns: 1 },
      followed: { from: NOW - 280 * MIN, to: NOW - 200 * MIN },
      told: [{ reason: 'RF match', note: 'capacitor', by: 'B. Cole' }],
      comments: [{ who: 'A. Brandt', text: 'hose kinked' }],
    });
  });

  it('holds what changed in the week before: maintenance and another recipe', async () => {
    const work: ChamberEvent = {
      ...{ kind: 'reason', chamber: 'PC-06', at: NOW - 900 * MIN, entry: 'e', to: NOW - 800 * MIN, state: 'scheduled-downtime' },
      ...{ reason: 'maintenance', note: '', by: 'B. Cole', enteredAt: NOW - 100 * MIN, downtime: null, workedOn: ['pump'] },
    };
    book.note(
      await commit(
        [alertOf('now', NOW - 20 * MIN)],
        [work, run(-10_500, 'A'), run(-700, 'A'), run(-600, 'B'), run(-500, 'A'), run(-10, 'C')],
      ),
    );
    const { before } = await answers.evidence('now');
    expect(before.map(({ what, text }) => [what, text])).toEqual([
      ['recipe', 'B, not run here in the week before'],
      ['maintenance', 'maintenance on pump (B. Cole)'],
    ]);
  });

  it('of a drift holds no alarms and no half hour, but what changed before', async () => {
    await commit([alertOf('now', NOW - 20 * MIN, { kind: 'drift', alarms: null })], [alarm(-19, 'WATER_FLOW_LOW'), run(-600, 'B')]);
    const found = await answers.evidence('now');
    expect(found).toMatchObject({ chamber: null, alarms: [] });
    expect(found.before).toHaveLength(1);
  });

  it('of an alert about no chamber is without signals, and still tells of those before', async () => {
    const gateway = (id: string, startedAt: number, change: Partial<Alert> = {}) =>
      alertOf(id, startedAt, { kind: 'certificate', chamber: null, alarms: null, ...change });
    await commit([gateway('was', NOW - 300 * MIN, { state: 'closed', closedAt: NOW - 200 * MIN }), gateway('now', NOW - MIN)]);
    const found = await answers.evidence('now');
    expect(found).toMatchObject({ chamber: null, alarms: [], before: [] });
    expect(found.similar.map(({ id }) => id)).toEqual(['was']);
    await expect(answers.evidence('none')).rejects.toMatchObject({ code: 'not-found' });
  });
});
