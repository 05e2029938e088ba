import { describe, expect, test } from 'vitest';
import { tellPlan } from '../../src/alert-tell.ts';
import type { Calendar, ShiftRule } from '../../src/calendar.ts';
import { alertRules, tell } from '../../src/config-alerts.ts';

const routes = [{ name: 'hook' }, { name: 'mail' }];
const at = (name: string, from: string, to: string): ShiftRule => ({ name, days: ['mon', 'tue'], from, to });
const calendar = { shifts: [at('Early', '06:00', '14:00'), at('Late', '14:00', '22:00'), at('Night', '22:00', '06:00')] };
type Site = { readonly severity?: 'high' | 'medium' | 'low'; readonly calendar?: Pick<Calendar, 'shifts' | 'changes'> };
const planOf = (site: Site, all: object = {}, own: object = {}) =>
  tellPlan({ routes, tell: tell.parse(all), rules: alertRules.parse({ down: { tell: own } }), calendar, ...site }, 'down', site.severity);
const plan = (all: object, own: object = {}, kind = 'down', severity: 'high' | 'medium' = 'medium') =>
  tellPlan({ routes, tell: tell.parse(all), rules: alertRules.parse({ down: { tell: own } }), calendar }, kind, severity);

describe('who is told of a kind of alert', () => {
  test('[TD1] left alone: every route, always, five minutes together, no repeat, no escalation', () => {
    expect(plan({})).toEqual({ to: ['hook', 'mail'], shifts: 'always', otherwise: [], groupMin: 5, repeatMin: null, escalate: null });
  });

  test('[TD1] what the rule says, else what is said for all', () => {
    const all = { to: ['hook'], groupMin: 2, repeatMin: 240, escalate: { afterMin: 30, to: ['mail'] } };
    expect(plan(all)).toMatchObject(all);
    expect(plan(all, { to: ['mail'], repeatMin: 60 })).toMatchObject({ ...all, to: ['mail'], repeatMin: 60 });
    expect(plan(all, { to: [] }).to).toEqual([]);
    expect(plan(all, { to: ['mail'] }, 'drift').to).toEqual(['hook']);
    expect(plan(all, {}, 'a kind of a newer program').to).toEqual(['hook']);
  });

  test('[TD2] of high severity it is told again every half hour, unless the site says otherwise', () => {
    const high = (all: object, own: object = {}) => plan(all, own, 'down', 'high').repeatMin;
    expect(plan({}).repeatMin).toBeNull();
    expect(high({})).toBe(30);
    expect(high({ repeatMin: 240 })).toBe(240);
    expect(high({ repeatMin: 240 }, { repeatMin: 'never' })).toBeNull();
    expect(high({ groupMin: 60 })).toBe(120);
    expect(plan({}, {}, 'down', 'high').escalate).toBeNull();
  });

  test('[TD3] of low severity it waits for the shift that begins in the morning, unless the site says when', () => {
    expect(planOf({ severity: 'low' })).toMatchObject({ shifts: ['Early'], otherwise: [] });
    expect(planOf({ severity: 'medium' }).shifts).toBe('always');
    expect(planOf({ severity: 'high' }).shifts).toBe('always');
    expect(planOf({ severity: 'low' }, { shifts: 'always' }).shifts).toBe('always');
    expect(planOf({ severity: 'low' }, { shifts: ['Late'] }, { shifts: ['Night'] }).shifts).toEqual(['Night']);
  });

  test('[TD3] without a shift that begins in the morning it is told at any hour; a shift of a later date counts', () => {
    const night = { shifts: [at('Night', '22:00', '06:00')] };
    expect(planOf({ severity: 'low', calendar: { shifts: [] } }).shifts).toBe('always');
    expect(planOf({ severity: 'low', calendar: night }).shifts).toBe('always');
    const changes = [{ from: '2027-01-01', shifts: [at('Day', '07:00', '19:00')] }];
    expect(planOf({ severity: 'low', calendar: { ...night, changes } }).shifts).toEqual(['Day']);
  });

  test('[TD1] whom to tell outside the shifts goes with the shifts', () => {
    const night = { shifts: ['early'], otherwise: ['mail'] };
    expect(plan(night)).toMatchObject(night);
    expect(plan(night, { shifts: 'always' })).toMatchObject({ shifts: 'always', otherwise: [] });
    expect(plan(night, { otherwise: ['hook'] })).toMatchObject({ shifts: ['early'], otherwise: ['hook'] });
  });
});
