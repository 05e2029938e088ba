import { describe, expect, test } from 'vitest';
import type { Mute } from '../../src/alert-mute.ts';
import { followUps, newDelivery, plannedDeliveries, sparedBecause, type PlanMoment, type TellPlan } from '../../src/alert-plan.ts';
import type { Calendar, ShiftRule } from '../../src/calendar.ts';
import type { Delivery } from '../../src/contract.ts';
import { exampleAlert, T0 } from '../gateway/wire-examples.ts';

const MINUTE = 60_000;
const EVERY_DAY = ['mon', 'tue', 'wed', 'thu', 'fri', 'sat', 'sun'] as const;
const shift = (name: string, from: string, to: string, days: ShiftRule['days'] = EVERY_DAY): ShiftRule => ({ name, days, from, to });
/** T0 is a Wednesday, 07:00 in Berlin. */
const calendar: Calendar = {
  zone: 'Europe/Berlin',
  shifts: [
    shift('early', '06:00', '14:00', ['mon', 'tue', 'wed', 'thu', 'fri']),
    shift('late', '14:00', '22:00'),
    shift('night', '22:00', '06:00'),
  ],
  holidays: [],
};
const tell = (change: Partial<TellPlan> = {}): TellPlan => ({
  ...{ to: ['mail', 'hook'], shifts: 'always', otherwise: [], groupMin: 5, repeatMin: null, escalate: null },
  ...change,
});
const moment = (change: Partial<PlanMoment> = {}): PlanMoment => ({ tell: tell(), mutes: [], calendar, now: T0, ...change });
const mute = (change: Partial<Mute> = {}): Mute => ({
  ...{
    id: 1,
    kind: 'burst',
    chamber: null,
    shared: null,
    from: T0 - MINUTE,
    until: T0 + 60 * MINUTE,
    who: 'M. Kern',
    why: 'work on the match',
  },
  ...{ alert: null, endedAt: null, endedBy: null },
  ...change,
});
const alert = exampleAlert();
const over = exampleAlert({ state: 'closed', closedAt: T0 });
const rows = (deliveries: readonly Delivery[]) => deliveries.map(({ route, stage, state, nextAt }) => [route, stage, state, nextAt]);
const opening = (change: Partial<Delivery> = {}): Delivery => ({
  ...newDelivery({ alert: alert.id, route: 'mail', stage: 'opened', at: T0 }),
  ...{ state: 'delivered', nextAt: null, attempts: 1, deliveredAt: T0 },
  ...change,
});

describe('who is told of an alert', () => {
  test('[PL1] each route once, under a name that is the same however often it is planned', () => {
    const first = plannedDeliveries(alert, moment());
    expect(first.map(({ id }) => id)).toEqual([`${alert.id}|mail|opened`, `${alert.id}|hook|opened`]);
    expect(rows(first)).toEqual([
      ['mail', 'opened', 'waiting', T0],
      ['hook', 'opened', 'waiting', T0],
    ]);
    const later = plannedDeliveries({ ...alert, updatedAt: T0 + MINUTE }, moment({ now: T0 + MINUTE }));
    expect(later.map(({ id }) => id)).toEqual(first.map(({ id }) => id));
    expect(plannedDeliveries(over, moment()).map(({ stage }) => stage)).toEqual(['closed', 'closed']);
    expect(plannedDeliveries(alert, moment({ tell: tell({ to: [] }) }))).toEqual([]);
  });

  test('[PL8] that a route failed is not told by that route, at no stage', () => {
    const failed = exampleAlert({
      ...{ id: 'gateway/messages hook/2026-11-25T06:00:00.000Z', kind: 'gateway', chamber: null },
      alarms: null,
    });
    expect(rows(plannedDeliveries(failed, moment()))).toEqual([['mail', 'opened', 'waiting', T0]]);
    const dead = { ...newDelivery({ alert: failed.id, route: 'hook', stage: 'opened', at: T0 }), state: 'dead' as const };
    const told = { ...opening(), ...{ alert: failed.id, id: `${failed.id}|mail|opened` } };
    const later = moment({ tell: tell({ repeatMin: 30, escalate: { afterMin: 30, to: ['hook', 'boss'] } }), now: T0 + 31 * MINUTE });
    expect(followUps(failed, [told, dead], later).map(({ route, stage }) => [route, stage])).toEqual([
      ['mail', 'repeated-1'],
      ['boss', 'escalated'],
    ]);
  });

  test('[PL2] inside its shifts at once, outside them when the next begins, on the next day that has it', () => {
    const early = tell({ to: ['mail'], shifts: ['early'] });
    const dueAt = (now: string) =>
      new Date(plannedDeliveries(alert, moment({ tell: early, now: Date.parse(now) }))[0]?.nextAt ?? 0).toISOString();
    expect(dueAt('2026-11-25T12:59:59.999Z')).toBe('2026-11-25T12:59:59.999Z');
    expect(dueAt('2026-11-25T13:00:00.000Z')).toBe('2026-11-26T05:00:00.000Z');
    expect(dueAt('2026-11-27T13:00:00.000Z')).toBe('2026-11-30T05:00:00.000Z');
  });

  test('[PL2] outside its shifts others are told where others are named', () => {
    const plan = tell({ to: ['mail'], shifts: ['early'], otherwise: ['pager'] });
    const night = Date.parse('2026-11-25T23:00:00Z');
    expect(rows(plannedDeliveries(alert, moment({ tell: plan, now: night })))).toEqual([['pager', 'opened', 'waiting', night]]);
    expect(rows(plannedDeliveries(alert, moment({ tell: plan })))).toEqual([['mail', 'opened', 'waiting', T0]]);
    // Whoever heard of the beginning hears of the end.
    const end = plannedDeliveries(over, moment({ tell: plan, now: night })).map(({ route }) => route);
    expect(end).toEqual(['mail', 'pager']);
  });

  test('[PL2] where no such shift begins within two weeks it is told at once', () => {
    const never = tell({ to: ['mail'], shifts: ['festival'] });
    expect(plannedDeliveries(alert, moment({ tell: never }))[0]?.nextAt).toBe(T0);
  });

  test('[PL3] nobody while it is muted, and the outbox says by whom', () => {
    const muted = plannedDeliveries(alert, moment({ mutes: [mute()] }));
    expect(muted.map(({ state, nextAt, lastError }) => [state, nextAt, lastError])).toEqual(
      Array(2).fill(['spared', null, 'Muted by M. Kern.']),
    );
    const others = [
      mute({ kind: 'flood' }),
      mute({ chamber: 'PC-01' }),
      mute({ until: T0 }),
      mute({ endedAt: T0 - 1 }),
      mute({ from: T0 + 1 }),
    ];
    for (const one of others) expect(plannedDeliveries(alert, moment({ mutes: [one] }))[0]?.state).toBe('waiting');
  });

  test('[PL3] when the mute is over, those who were not told, unless somebody knows or it is over', () => {
    const spared = plannedDeliveries(alert, moment({ mutes: [mute()] }));
    const after = moment({ mutes: [mute()], now: T0 + 60 * MINUTE });
    expect(rows(followUps(alert, spared, after))).toEqual([
      ['mail', 'opened', 'waiting', after.now],
      ['hook', 'opened', 'waiting', after.now],
    ]);
    expect(followUps(alert, spared, moment({ mutes: [mute()], now: after.now - 1 }))).toEqual([]);
    expect(followUps({ ...alert, acknowledgedBy: 'A. Beck' }, spared, after)).toEqual([]);
    expect(followUps(over, spared, after)).toEqual([]);
  });

  test('[PL4] nobody of an alert that a wider one tells', () => {
    const part = exampleAlert({ partOf: 'common-cause/x/y' });
    expect(plannedDeliveries(part, moment())).toEqual([]);
    expect(followUps(part, [opening()], moment({ tell: tell({ repeatMin: 1 }), now: T0 + 60 * MINUTE }))).toEqual([]);
    const waiting = newDelivery({ alert: part.id, route: 'mail', stage: 'opened', at: T0 });
    expect(sparedBecause(waiting, part, { mutes: [], now: T0, deliveries: [waiting] })).toBe('A wider alert tells it as well.');
  });
});

describe('who is told again', () => {
  const again = tell({ to: ['mail'], repeatMin: 60 });
  const at = (minutes: number, change: Partial<PlanMoment> = {}) => moment({ tell: again, now: T0 + minutes * MINUTE, ...change });

  test('[PL5] every so many minutes after it was first due, by each route once', () => {
    expect(followUps(alert, [opening()], at(59.99))).toEqual([]);
    const first = followUps(alert, [opening()], at(60));
    expect(rows(first)).toEqual([['mail', 'repeated-1', 'waiting', T0 + 60 * MINUTE]]);
    const told = first.map((one): Delivery => ({ ...one, state: 'delivered' }));
    expect(followUps(alert, [opening(), ...told], at(119))).toEqual([]);
    expect(rows(followUps(alert, [opening(), ...told], at(120)))).toEqual([['mail', 'repeated-2', 'waiting', T0 + 120 * MINUTE]]);
  });

  test('[PL5] of many that were missed only the last', () => {
    expect(rows(followUps(alert, [opening()], at(610)))).toEqual([['mail', 'repeated-10', 'waiting', T0 + 610 * MINUTE]]);
  });

  test('[PL5] after its first day once a day, however long nobody acknowledges it', () => {
    let rows: readonly Delivery[] = [opening()];
    for (let minutes = 0; minutes <= 30 * 1440; minutes += 30) {
      const next = followUps(alert, rows, at(minutes, { tell: { ...again, repeatMin: 30 } }));
      rows = [...rows, ...next.map((one): Delivery => ({ ...one, state: 'delivered' }))];
    }
    const hours = rows.slice(1).map(({ dueAt }) => ((dueAt as number) - T0) / 60 / MINUTE);
    expect(hours.filter((one) => one <= 24)).toHaveLength(48);
    expect(hours.filter((one) => one > 24)).toEqual(Array.from({ length: 29 }, (_, i) => 48 + 24 * i));
    const twoDays = at(4 * 1440, { tell: { ...again, repeatMin: 2 * 1440 } });
    expect(followUps(alert, [opening()], twoDays).map(({ stage }) => stage)).toEqual(['repeated-2']);
  });

  test('[PL5] not while somebody knows, works on it, or it is still on its way; and at its hours', () => {
    for (const one of [{ acknowledgedBy: 'A. Beck' }, { takenBy: 'A. Beck' }])
      expect(followUps({ ...alert, ...one }, [opening()], at(60))).toEqual([]);
    expect(followUps(over, [opening()], at(60))).toEqual([]);
    expect(followUps(alert, [opening({ state: 'waiting' })], at(60))).toEqual([]);
    expect(followUps(alert, [opening({ state: 'gathered' })], at(60))).toEqual([]);
    const early = { ...again, shifts: ['early'] };
    expect(rows(followUps(alert, [opening()], at(600, { tell: early })))).toEqual([
      ['mail', 'repeated-10', 'waiting', Date.parse('2026-11-26T05:00Z')],
    ]);
  });

  test('[PL6] others, when nobody acknowledged it in time, once, whatever the shift and though the first route is down', () => {
    const plan = { ...again, repeatMin: null, shifts: ['early'], escalate: { afterMin: 30, to: ['boss'] } };
    expect(followUps(alert, [opening()], at(29, { tell: plan }))).toEqual([]);
    const escalated = followUps(alert, [opening({ state: 'waiting', deliveredAt: null })], at(30, { tell: plan }));
    expect(rows(escalated)).toEqual([['boss', 'escalated', 'waiting', T0 + 30 * MINUTE]]);
    expect(followUps(alert, [opening(), ...escalated], at(500, { tell: plan }))).toEqual([]);
    expect(followUps({ ...alert, takenBy: 'A. Beck' }, [opening()], at(30, { tell: plan }))).toEqual([]);
  });

  test('[PL6] counted from when it was due: what waits for the morning is not escalated in the night', () => {
    const plan = { ...again, escalate: { afterMin: 30, to: ['boss'] } };
    const waiting = opening({ state: 'waiting', dueAt: T0 + 300 * MINUTE });
    expect(followUps(alert, [waiting], at(329, { tell: plan }))).toEqual([]);
    expect(followUps(alert, [waiting], at(330, { tell: plan })).map(({ stage }) => stage)).toEqual(['escalated']);
  });

  test('[PL6] of the end as well', () => {
    const escalated = newDelivery({ alert: alert.id, route: 'boss', stage: 'escalated', at: T0 });
    const end = followUps(over, [opening(), escalated], at(60));
    expect(rows(end)).toEqual([['boss', 'closed', 'waiting', T0 + 60 * MINUTE]]);
    expect(followUps(over, [opening(), escalated, ...end], at(61))).toEqual([]);
  });
});

describe('what need not leave any more', () => {
  const waiting = (stage: string, change: Partial<Delivery> = {}): Delivery => ({
    ...newDelivery({ alert: alert.id, route: 'mail', stage, at: T0 }),
    ...change,
  });
  const about = (deliveries: readonly Delivery[] = [opening()], mutes: readonly Mute[] = []) => ({ mutes, now: T0, deliveries });
  const known = { ...alert, acknowledgedBy: 'A. Beck' };

  test('[PL7] a repeat or an escalation of what somebody acknowledged or took, or that is over', () => {
    for (const stage of ['repeated-1', 'escalated']) {
      expect(sparedBecause(waiting(stage), alert, about())).toBeNull();
      expect(sparedBecause(waiting(stage), known, about())).toBe('A. Beck acknowledged it before this was due.');
      expect(sparedBecause(waiting(stage), { ...alert, takenBy: 'A. Beck' }, about())).toBe('A. Beck took it before this was due.');
      expect(sparedBecause(waiting(stage), over, about())).toBe('It was over before this was due.');
    }
    expect(sparedBecause(waiting('opened'), known, about())).toBeNull();
    expect(sparedBecause(waiting('opened'), over, about())).toBeNull();
  });

  test('[PL7] an end whose beginning was not told by that route', () => {
    expect(sparedBecause(waiting('closed'), over, about())).toBeNull();
    expect(sparedBecause(waiting('closed'), over, about([opening({ route: 'hook' })]))).toMatch(/beginning was not told/);
    expect(sparedBecause(waiting('closed'), over, about([opening({ state: 'spared' })]))).toMatch(/beginning was not told/);
    expect(sparedBecause(waiting('closed'), over, about([waiting('escalated')]))).toBeNull();
  });

  test('[PL7] nothing that was tried before: its receiver may have heard half of it', () => {
    expect(sparedBecause(waiting('repeated-1', { attempts: 1 }), known, about())).toBeNull();
    expect(sparedBecause(waiting('opened', { attempts: 1 }), alert, about([], [mute()]))).toBeNull();
    expect(sparedBecause(waiting('opened'), alert, about([], [mute()]))).toBe('Muted by M. Kern.');
  });
});
