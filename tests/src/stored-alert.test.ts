import { expect, test } from 'vitest';
import { initialWatch, watch, type WatchState } from '../../src/alert-watch.ts';
import { alert as alertShape } from '../../src/contract.ts';
import { restoredAlert, restoredWatch } from '../../src/stored-alert.ts';
import { rulesWith } from './watch-fixture.ts';

const START = Date.UTC(2026, 10, 25, 12);
/** As programs with only bursts and floods wrote it. */
const old = {
  id: 'burst/PC-01/2026-11-25T12:00:00.000Z',
  kind: 'burst',
  chamber: 'PC-01',
  position: null,
  state: 'open',
  startedAt: START,
  updatedAt: START,
  closedAt: null,
  acknowledgedAt: null,
  acknowledgedBy: null,
  count: 11,
  rawCount: 14,
  peak10Min: 11,
  usual: null,
  rule: 'more than 10',
  firstOut: { chamber: 'PC-01', code: 'C1', text: 'one', at: START },
  top: [],
  together: ['PC-02'],
  headline: 'PC-01: 11 alarms',
};
const rules = rulesWith();

test('[SA1] an alert of the older shape is one of today’s: its counts under alarms, the rest null or empty', () => {
  const read = restoredAlert(old);
  expect(alertShape.parse(read)).toEqual(read);
  expect(read).toMatchObject({ severity: 'medium', takenBy: null, cure: null, shares: null, facts: [], together: ['PC-02'] });
  expect(read.alarms).toEqual({ count: 11, rawCount: 14, peak10Min: 11, usual: null, firstOut: old.firstOut, top: [] });
  expect(Object.keys(read)).not.toContain('count');
  expect(restoredAlert({ ...old, kind: 'flood' }).severity).toBe('high');
});

test('[SA2] an alert of today’s shape stays as it is, and what it lacks is null', () => {
  const read = restoredAlert(old);
  expect(restoredAlert(JSON.parse(JSON.stringify(read)))).toEqual(read);
  const { takenBy: _, facts: __, ...lacking } = read;
  expect(restoredAlert(lacking)).toEqual(read);
});

test('[SA3] a watch that stopped in an episode of the older shape goes on counting in it', () => {
  const recent = Array.from({ length: 11 }, (_, i) => ({
    at: START - (10 - i) * 1000,
    chamber: 'PC-01',
    code: `C${i}`,
    text: 't',
    raw: 1,
  }));
  const stored = {
    now: START,
    classes: {},
    subjects: { 'burst/PC-01': { recent, episode: { alert: old, threshold: 11, tally: [] } } },
    began: { 'PC-01': START },
  };
  const state: WatchState = restoredWatch(JSON.parse(JSON.stringify(stored)), initialWatch());
  const alarm = { kind: 'alarm', chamber: 'PC-01', at: START + 1000, code: 'NEW', text: 'new', priority: 'low' } as const;
  const step = watch(rules, state, { ...alarm, notice: false, change: 'activated', counted: true, suppressed: false });
  expect(step.alerts.find(({ kind }) => kind === 'burst')).toMatchObject({ id: old.id, alarms: { count: 12, rawCount: 15 } });
});

test('[SA3] what an older watch did not know begins as in a new one', () => {
  expect(restoredWatch({ now: 5 }, initialWatch())).toEqual({ ...initialWatch(), now: 5 });
});
