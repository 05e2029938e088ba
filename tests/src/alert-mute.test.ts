import { expect, test } from 'vitest';
import {
  checkedMute,
  covers,
  endedMute,
  isMuteOn,
  LONGEST_MUTE_MS,
  muteOf,
  sharedOf,
  type Mute,
  type NewMute,
} from '../../src/alert-mute.ts';
import type { Alert } from '../../src/contract.ts';

const MIN = 60_000;
const draft = (change: Partial<NewMute> = {}): NewMute => ({
  ...{ kind: 'burst', chamber: 'PC-01', shared: null, from: 0, until: 60 * MIN, who: 'A. Brandt', why: 'part is on order', alert: null },
  ...change,
});
const made = (change: Partial<Mute> = {}): Mute => ({ ...draft(), id: 1, endedAt: null, endedBy: null, ...change });
type Muted = Pick<Alert, 'kind' | 'chamber' | 'position' | 'shares'>;
const alert = (kind: Alert['kind'], chamber: string | null): Muted => ({ kind, chamber, position: null, shares: null });

test('[MU1] a mute names a kind, a chamber or both, never everything', () => {
  expect(checkedMute(draft({ kind: null }))).toEqual(draft({ kind: null }));
  expect(checkedMute(draft({ chamber: null }))).toEqual(draft({ chamber: null }));
  expect(() => checkedMute(draft({ kind: null, chamber: null }))).toThrow('everything cannot be muted');
});

test('[MU2] it ends in the future, at least a minute and at most 30 days ahead', () => {
  expect(() => checkedMute(draft({ until: 0 }))).toThrow('ends in the past');
  expect(() => checkedMute(draft({ until: MIN - 1 }))).toThrow('shorter than a minute');
  expect(checkedMute(draft({ until: LONGEST_MUTE_MS })).until).toBe(30 * 24 * 60 * MIN);
  expect(() => checkedMute(draft({ until: LONGEST_MUTE_MS + 1 }))).toThrow('longer than 30 days');
});

test('[MU3] it holds from its begin until its end, or until somebody ends it, once', () => {
  const one = made({ from: 10, until: 100 });
  expect([9, 10, 99, 100].map((now) => isMuteOn(one, now))).toEqual([false, true, true, false]);
  const over = endedMute(one, { at: 50, who: 'B. Cole' });
  expect([49, 50].map((now) => isMuteOn(over, now))).toEqual([true, false]);
  expect(() => endedMute(over, { at: 60, who: 'C. Dahl' })).toThrow('B. Cole ended this mute already.');
  expect(() => endedMute(one, { at: 100, who: 'C. Dahl' })).toThrow('run out');
});

test('[MU4] it covers alerts of its kind and chamber, and a mute of a chamber none of several chambers', () => {
  const [both, kind, chamber] = [made(), made({ chamber: null }), made({ kind: null })];
  const covered = (one: Muted) => [both, kind, chamber].map((m) => covers(m, one));
  expect(covered(alert('burst', 'PC-01'))).toEqual([true, true, true]);
  expect(covered(alert('burst', 'PC-02'))).toEqual([false, true, false]);
  expect(covered(alert('down', 'PC-01'))).toEqual([false, false, true]);
  expect(covered(alert('burst', null))).toEqual([false, true, false]);
});

test('[MU5] of several the one that holds longest is told', () => {
  const on = [
    made({ id: 1, until: 50 }),
    made({ id: 2, until: 90 }),
    made({ id: 3, until: 70 }),
    made({ id: 4, until: 99, chamber: 'PC-09' }),
  ];
  expect(muteOf(alert('burst', 'PC-01'), on)?.id).toBe(2);
  expect(muteOf(alert('down', 'PC-01'), on)).toBeNull();
});

test('[MU6] a mute of what is shared covers its kind there and nowhere else, and none that came to share something else', () => {
  const water = made({ kind: 'common-cause', chamber: null, shared: 'cooling water (CW-1)' });
  const cause = (shares: string | null): Muted => ({ ...alert('common-cause', null), shares });
  expect(['cooling water (CW-1)', 'power (P-2)', null].map((shares) => covers(water, cause(shares)))).toEqual([true, false, false]);
  expect(covers(water, { ...cause('cooling water (CW-1)'), kind: 'no-data' })).toBe(false);
  const flood = made({ kind: 'flood', chamber: null, shared: 'east' });
  expect(['east', 'west'].map((position) => covers(flood, { ...alert('flood', null), position }))).toEqual([true, false]);
  expect(sharedOf({ ...alert('burst', 'PC-01'), shares: 'x' })).toBeNull();
});

test('[MU6] an older mute names nothing shared, and covers its kind wherever', () => {
  const older = made({ kind: 'common-cause', chamber: null });
  expect(covers(older, { ...alert('common-cause', null), shares: 'power (P-2)' })).toBe(true);
  expect(() => checkedMute(draft({ kind: null, chamber: 'PC-01', shared: 'east' }))).toThrow('names the kind');
  expect(() => checkedMute(draft({ shared: 'east' }))).toThrow('no chamber');
});
