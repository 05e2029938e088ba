/** The outbox as a whole: what leaves together, what is spared, what a person does about what was given up, and who is told again. */
import { afterEach, describe, expect, it } from 'vitest';
import { openDelivery, type Delivering } from '../../../gateway/alerts/deliver.ts';
import type { Outcome } from '../../../gateway/alerts/retry.ts';
import type { AlertRoute } from '../../../gateway/alerts/route.ts';
import { TellBook } from '../../../gateway/alerts/tell-book.ts';
import { messageOf, type Sending } from '../../../gateway/alerts/telling.ts';
import { webhookBody } from '../../../gateway/alerts/webhook.ts';
import { memoryStore } from '../../../gateway/store/memory.ts';
import type { Store } from '../../../gateway/store/store.ts';
import { newDelivery, type TellPlan } from '../../../src/alert-plan.ts';
import type { Alert, Delivery } from '../../../src/contract.ts';
import { exampleAlert, T0 } from '../wire-examples.ts';

const MINUTE = 60_000;
const opened: (() => unknown)[] = [];
afterEach(async () => {
  for (const close of opened.splice(0).reverse()) await close();
});

const tell: TellPlan = {
  to: ['hook'],
  shifts: 'always',
  otherwise: [],
  groupMin: 5,
  repeatMin: 60,
  escalate: { afterMin: 30, to: ['boss'] },
};
const calendar = { zone: 'Europe/Berlin', shifts: [], holidays: [] };
const place = { site: 'Quellmoor Works', hall: 'Hall 3', zone: 'Europe/Berlin', url: 'http://127.0.0.1:8080' };
const alertOf = (id: string, change: Partial<Alert> = {}): Alert =>
  exampleAlert({ id, kind: id.split('/')[0] as Alert['kind'], chamber: id.split('/')[1] ?? null, headline: `${id} came`, ...change });
const opening = (alert: string, route = 'hook'): Delivery => newDelivery({ alert, route, stage: 'opened', at: T0 });

type World = {
  readonly store: Store;
  readonly clock: { at: number };
  readonly sent: Sending[];
  readonly delivering: Delivering;
  answer: (sending: Sending) => Outcome;
  state(id: string): Promise<Delivery | undefined>;
};
const ids = ({ sent }: World): string[] => sent.map(({ delivery }) => delivery.id);

async function world(alerts: readonly Alert[], deliveries: readonly Delivery[], perHour = 30): Promise<World> {
  const store = memoryStore();
  await store.append({ events: [], snapshots: new Map(), alerts, deliveries });
  const clock = { at: T0 };
  const made: World = {
    ...{ store, clock, sent: [], answer: () => ({ type: 'delivered' }) },
    delivering: openDelivery({
      ...{ store, place, secrets: [], pollMs: 2, random: () => 0, log: () => undefined },
      setting: () => ({
        routes: ['hook', 'boss'].map((name): AlertRoute => ({ name, type: 'webhook', url: 'https://plant.invalid/x', perHour })),
        tellOf: () => tell,
      }),
      clock: { now: () => clock.at, steadyMs: () => performance.now(), speed: 1 },
      onFatal: (error) => expect.unreachable(String(error)),
      send: async (_route, sending) => {
        made.sent.push(sending);
        return made.answer(sending);
      },
    }),
    state: async (id) => (await store.deliveries({ ids: [id] }))[0],
  };
  opened.push(() => made.delivering.close());
  return made;
}

async function until(claim: () => boolean | Promise<boolean>): Promise<void> {
  while (!(await claim())) await new Promise((resolve) => setTimeout(resolve, 2));
}
/** Long enough for several looks at the outbox. */
const looks = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, 30));
const settled = (one: World, id: string, state: Delivery['state']) => until(async () => (await one.state(id))?.state === state);

describe('what leaves together', () => {
  it('more than three at once leave as one digest; each of them is delivered when it is, and names it', async () => {
    const names = ['burst/PC-01/a', 'down/PC-02/b', 'drift/PC-03/c', 'waiting/PC-04/d'];
    const all = await world(
      names.map((id) => alertOf(id, id.startsWith('down') ? { state: 'closed', closedAt: T0 } : {})),
      names.map((id) => opening(id)),
    );
    await settled(all, `${names[0]}|hook|opened`, 'delivered');
    expect(all.sent).toHaveLength(1);
    const [{ delivery }] = all.sent as [Sending];
    expect(delivery.stage).toMatch(/^digest-/);
    const parts = await all.store.deliveries({ ids: delivery.covers ?? [] });
    expect(parts.map(({ state, digest, attempts }) => [state, digest, attempts])).toEqual(Array(4).fill(['delivered', delivery.id, 0]));
    const { subject, lines } = messageOf(all.sent[0] as Sending);
    expect(subject).toBe('Alerts: 4 together: PC-01, PC-02, PC-03, PC-04');
    expect(lines[0]).toContain('4 alerts of Quellmoor Works, Hall 3, 3 of them still open');
    for (const name of names) expect(lines.join('\n')).toContain(`${name} came`);
    const body = JSON.parse(webhookBody(all.sent[0] as Sending));
    expect([body.alert, body.alerts.map(({ id }: { id: string }) => id).sort()]).toEqual([null, names.toSorted()]);
  });

  it('the second of a kind waits for the end of the grouping time, and then leaves alone or together', async () => {
    const names = ['burst/PC-01/a', 'burst/PC-02/b', 'burst/PC-03/c'];
    const all = await world(
      names.map((id) => alertOf(id)),
      [opening('burst/PC-01/a')],
    );
    await settled(all, 'burst/PC-01/a|hook|opened', 'delivered');
    await all.store.saveDeliveries(names.slice(1).map((id) => opening(id)));
    all.clock.at = T0 + 5 * MINUTE - 1;
    await looks();
    expect(all.sent).toHaveLength(1);
    all.clock.at = T0 + 5 * MINUTE;
    await settled(all, 'burst/PC-03/c|hook|opened', 'delivered');
    expect(all.sent.map(({ alerts }) => alerts.map(({ id }) => id).sort())).toEqual([
      ['burst/PC-01/a'],
      ['burst/PC-02/b', 'burst/PC-03/c'],
    ]);
  });

  it('over the number an hour: a digest every five minutes, nothing lost', async () => {
    const names = Array.from({ length: 12 }, (_, n) => `${['burst', 'down', 'drift'][n % 3]}/PC-${n}/x`);
    const all = await world(
      names.map((id) => alertOf(id)),
      [],
      2,
    );
    for (const [n, id] of names.entries()) {
      await all.store.saveDeliveries([{ ...opening(id), nextAt: all.clock.at }]);
      await looks();
      all.clock.at = T0 + (n + 1) * MINUTE;
    }
    all.clock.at += 10 * MINUTE;
    await until(async () => (await all.store.deliveries({ states: ['waiting', 'gathered'] })).length === 0);
    expect(all.sent.length).toBeLessThanOrEqual(2 + 5);
    expect(new Set(all.sent.flatMap(({ alerts }) => alerts.map(({ id }) => id)))).toEqual(new Set(names));
  });

  it('a digest that fails is sent again under its own key, and what came meanwhile is not in it', async () => {
    const names = ['a', 'b', 'c', 'd'].map((one, n) => `burst/PC-0${n}/${one}`);
    const all = await world(
      names.map((id) => alertOf(id)),
      [],
    );
    all.answer = () => ({ type: 'failed', reason: 'The webhook answered 500.', afterMs: null });
    await all.store.saveDeliveries(names.map((id) => opening(id)));
    await until(() => all.sent.length === 1);
    await all.store.append({ events: [], snapshots: new Map(), alerts: [alertOf('down/PC-09/z')] });
    await all.store.saveDeliveries([opening('down/PC-09/z')]);
    await looks();
    all.answer = () => ({ type: 'delivered' });
    all.clock.at = T0 + MINUTE;
    await settled(all, 'down/PC-09/z|hook|opened', 'delivered');
    expect(ids(all)).toEqual([ids(all)[0], ids(all)[0], 'down/PC-09/z|hook|opened']);
    expect((await all.state(names[3] + '|hook|opened'))?.state).toBe('delivered');
  });

  it('one message that its receiver cannot take holds up no other', async () => {
    const poison = 'burst/PC-01/a';
    const all = await world([alertOf(poison)], [opening(poison)]);
    all.answer = ({ delivery }) =>
      delivery.alert === poison ? { type: 'failed', reason: 'The webhook answered 500.', afterMs: null } : { type: 'delivered' };
    await until(() => all.sent.length === 1);
    const names = ['down/PC-02/b', 'drift/PC-03/c', 'stale/PC-04/d'];
    await all.store.append({ events: [], snapshots: new Map(), alerts: names.map((id) => alertOf(id)) });
    await all.store.saveDeliveries(names.map((id) => opening(id)));
    // Every pause is over just when the poison is due again.
    for (let n = 0; n < 8; n += 1) {
      all.clock.at += 6_000;
      await looks();
    }
    for (const id of names) expect((await all.state(`${id}|hook|opened`))?.state, id).toBe('delivered');
    expect((await all.state(`${poison}|hook|opened`))?.state).toBe('waiting');
  });

  it('an outage is found out by few: what waited leaves as one digest when the receiver is back', async () => {
    const names = Array.from({ length: 40 }, (_, n) => `burst/PC-${n}/x`);
    const all = await world(
      names.map((id) => alertOf(id)),
      [opening(names[0] as string)],
    );
    all.answer = () => ({ type: 'failed', reason: 'The webhook could not be reached.', afterMs: null });
    await until(() => all.sent.length === 1);
    await all.store.saveDeliveries(names.slice(1).map((id) => opening(id)));
    for (let n = 1; n <= 10; n += 1) {
      all.clock.at += 1_000;
      await looks();
    }
    expect(all.sent.length).toBeLessThan(6);
    all.answer = () => ({ type: 'delivered' });
    await until(async () => {
      all.clock.at += MINUTE;
      await looks();
      return (await all.store.deliveries({ states: ['waiting', 'gathered'] })).length === 0;
    });
    expect(all.sent.length).toBeLessThan(9);
    expect(new Set(all.sent.flatMap(({ alerts }) => alerts.map(({ id }) => id))).size).toBe(40);
  });
});

describe('what need not leave', () => {
  it('a muted alert, a repeat of what somebody acknowledged, an end whose beginning was not told: spared, with the reason', async () => {
    const [muted, known, over] = [
      alertOf('burst/PC-01/a'),
      alertOf('down/PC-02/b'),
      alertOf('drift/PC-03/c', { state: 'closed', closedAt: T0 }),
    ];
    const all = await world([muted, known, over], []);
    await all.store.addMute({
      kind: 'burst',
      chamber: null,
      shared: null,
      from: T0,
      until: T0 + MINUTE,
      who: 'M. Kern',
      why: 'work',
      alert: null,
    });
    await all.store.actOnAlert({ alert: known.id, at: T0, who: 'A. Beck', deed: 'acknowledged', text: '' });
    const rows = [
      opening(muted.id),
      newDelivery({ alert: known.id, route: 'hook', stage: 'repeated-1', at: T0 }),
      newDelivery({ alert: over.id, route: 'hook', stage: 'closed', at: T0 }),
    ];
    await all.store.saveDeliveries(rows);
    for (const { id } of rows) await settled(all, id, 'spared');
    expect((await all.store.deliveries({ states: ['spared'] })).map(({ lastError }) => lastError)).toEqual([
      'Muted by M. Kern.',
      'A. Beck acknowledged it before this was due.',
      'Its beginning was not told by this route.',
    ]);
    expect(all.sent).toEqual([]);
  });
});

describe('what a person may do', () => {
  const dead = async (): Promise<World> => {
    const all = await world([alertOf('burst/PC-01/a')], []);
    all.answer = () => ({ type: 'refused', reason: 'The webhook answered 404.' });
    await all.store.saveDeliveries([opening('burst/PC-01/a')]);
    await settled(all, 'burst/PC-01/a|hook|opened', 'dead');
    return all;
  };
  const ID = 'burst/PC-01/a|hook|opened';

  it('send once more what was given up, under the same key, audited; and only that', async () => {
    const all = await dead();
    await until(() => all.delivering.states()[0]?.dead === 1);
    all.answer = () => ({ type: 'delivered' });
    all.clock.at = T0 + 48 * 60 * MINUTE;
    expect(await all.delivering.resend(ID, 'A. Beck')).toMatchObject({ id: ID, state: 'waiting' });
    await settled(all, ID, 'delivered');
    expect(ids(all)).toEqual([ID, ID]);
    expect(await all.store.audit(1)).toEqual([{ at: all.clock.at, who: 'A. Beck', deed: 'resend message', subject: ID }]);
    await expect(all.delivering.resend(ID, 'A. Beck')).rejects.toMatchObject({ code: 'conflict' });
    await expect(all.delivering.resend('nothing', 'A. Beck')).rejects.toMatchObject({ code: 'not-found' });
    await until(() => all.delivering.states()[0]?.dead === 0);
  });

  it('send again all that a route gave up, at once and each on record in its own name; nothing of another route', async () => {
    const names = ['a', 'b', 'c'].map((one, n) => `burst/PC-0${n}/${one}`);
    const all = await world(
      names.map((id) => alertOf(id)),
      [],
    );
    all.answer = () => ({ type: 'refused', reason: 'The webhook answered 404.' });
    const kept = newDelivery({ alert: names[0] as string, route: 'boss', stage: 'opened', at: T0 });
    for (const one of [...names.map((id) => opening(id)), kept]) {
      await all.store.saveDeliveries([one]);
      await settled(all, one.id, 'dead');
    }
    await until(() => all.delivering.states()[0]?.dead === 3);
    all.answer = () => ({ type: 'delivered' });
    expect(await all.delivering.resendAll('hook', 'A. Beck')).toBe(3);
    for (const id of names) await settled(all, `${id}|hook|opened`, 'delivered');
    const notes = (await all.store.audit(9)).map(({ who, deed, subject }) => [who, deed, subject]);
    expect(notes.toSorted()).toEqual(names.map((id) => ['A. Beck', 'resend message', `${id}|hook|opened`]));
    expect((await all.state(kept.id))?.state).toBe('dead');
    expect(await all.delivering.setAllAside('boss', 'A. Beck')).toBe(1);
    expect((await all.state(kept.id))?.state).toBe('spared');
    await expect(all.delivering.resendAll('hook', 'A. Beck')).rejects.toMatchObject({ code: 'conflict' });
  });

  it('sent again after days it has its time anew', async () => {
    const all = await dead();
    all.answer = () => ({ type: 'failed', reason: 'The webhook answered 503.', afterMs: null });
    all.clock.at = T0 + 48 * 60 * MINUTE;
    await all.delivering.resend(ID, 'A. Beck');
    await until(async () => (await all.state(ID))?.attempts === 2);
    expect((await all.state(ID))?.state).toBe('waiting');
  });

  it('set it aside: nobody is told of it any more, and who did so stays on record', async () => {
    const all = await dead();
    expect(await all.delivering.setAside(ID, 'A. Beck')).toMatchObject({
      state: 'spared',
      lastError: 'A. Beck set it aside. The webhook answered 404.',
    });
    expect(await all.store.audit(1)).toMatchObject([{ who: 'A. Beck', deed: 'set message aside', subject: ID }]);
    expect(all.delivering.states()[0]?.dead).toBe(0);
  });

  it('a digest that was given up is one thing: all in it go with it', async () => {
    const names = ['a', 'b', 'c', 'd'].map((one, n) => `burst/PC-0${n}/${one}`);
    const all = await world(
      names.map((id) => alertOf(id)),
      [],
    );
    all.answer = () => ({ type: 'refused', reason: 'no' });
    await all.store.saveDeliveries(names.map((id) => opening(id)));
    await settled(all, `${names[3]}|hook|opened`, 'dead');
    await until(() => all.delivering.states()[0]?.dead === 1);
    all.answer = () => ({ type: 'delivered' });
    await all.delivering.resend(ids(all)[0] as string, 'A. Beck');
    await settled(all, `${names[3]}|hook|opened`, 'delivered');
    expect(ids(all)).toEqual([ids(all)[0], ids(all)[0]]);
  });

  it('try a route: through the outbox, past whatever waits there, once; and the answer is what the receiver said', async () => {
    const all = await world([], []);
    expect(await all.delivering.test('hook', 'A. Beck')).toMatchObject({ stage: 'test', state: 'delivered', route: 'hook' });
    all.answer = () => ({ type: 'failed', reason: 'The webhook answered 500.', afterMs: null });
    expect(await all.delivering.test('hook', 'A. Beck')).toMatchObject({
      state: 'dead',
      attempts: 1,
      lastError: expect.stringContaining('answered 500'),
    });
    expect(messageOf(all.sent[0] as Sending).subject).toBe('Test: Quellmoor Works, Hall 3');
    expect((await all.store.audit(9)).map(({ deed, subject }) => [deed, subject])).toEqual([
      ['test route', 'hook'],
      ['test route', 'hook'],
    ]);
    await expect(all.delivering.test('nowhere', 'A. Beck')).rejects.toThrow('There is no route nowhere. The site file has hook, boss.');
    // A test that failed is no message that anybody missed.
    expect(all.delivering.states().map(({ dead: given, waiting }) => [given, waiting])).toEqual([
      [0, 0],
      [0, 0],
    ]);
  });
});

describe('who is told again', () => {
  const book = (all: World): TellBook => {
    const made = new TellBook({
      store: all.store,
      setting: () => ({ tellOf: () => tell, calendar }),
      clock: { now: () => all.clock.at, steadyMs: () => 0, speed: 1 },
      onPlanned: () => all.delivering.wake(),
      onFatal: (error) => expect.unreachable(String(error)),
      lookMs: 2,
    });
    opened.push(() => made.stop());
    return made;
  };

  it('others after half an hour, the first after an hour, nobody once it is acknowledged, and both hear of the end', async () => {
    const alert = alertOf('burst/PC-01/a');
    const all = await world([], []);
    const teller = book(all);
    await teller.start();
    await all.store.append({ events: [], snapshots: new Map(), alerts: [alert], deliveries: teller.planned([alert], T0) });
    await settled(all, `${alert.id}|hook|opened`, 'delivered');
    all.clock.at = T0 + 30 * MINUTE;
    await settled(all, `${alert.id}|boss|escalated`, 'delivered');
    expect(messageOf(all.sent[1] as Sending).subject).toMatch(/^Nobody acknowledged: .*PC-01/);
    all.clock.at = T0 + 60 * MINUTE;
    await settled(all, `${alert.id}|hook|repeated-1`, 'delivered');
    expect(messageOf(all.sent[2] as Sending).subject).toMatch(/^Still open: .*PC-01/);
    await all.store.actOnAlert({ alert: alert.id, at: all.clock.at, who: 'A. Beck', deed: 'acknowledged', text: '' });
    all.clock.at = T0 + 180 * MINUTE;
    await looks();
    expect(all.sent).toHaveLength(3);
    const over: Alert = { ...alert, state: 'closed', closedAt: all.clock.at, updatedAt: all.clock.at };
    await all.store.append({ events: [], snapshots: new Map(), alerts: [over], deliveries: teller.planned([over], all.clock.at) });
    for (const route of ['hook', 'boss']) await settled(all, `${alert.id}|${route}|closed`, 'delivered');
  });

  it('what was muted, when the mute is ended before its time', async () => {
    const alert = alertOf('burst/PC-01/a');
    const all = await world([], []);
    const mute = await all.store.addMute({
      kind: null,
      chamber: 'PC-01',
      shared: null,
      from: T0,
      until: T0 + 600 * MINUTE,
      who: 'M. Kern',
      why: 'work',
      alert: null,
    });
    const teller = book(all);
    await teller.start();
    await all.store.append({ events: [], snapshots: new Map(), alerts: [alert], deliveries: teller.planned([alert], T0) });
    expect(await all.state(`${alert.id}|hook|opened`)).toMatchObject({ state: 'spared', lastError: 'Muted by M. Kern.' });
    await looks();
    expect(all.sent).toEqual([]);
    await all.store.endMute(mute.id, { at: T0, who: 'M. Kern' });
    all.clock.at = T0 + 1;
    await settled(all, `${alert.id}|hook|opened`, 'delivered');
    expect(ids(all)).toEqual([`${alert.id}|hook|opened`]);
  });
});
