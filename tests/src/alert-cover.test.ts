import { expect, test } from 'vitest';
import type { WatchInput } from '../../src/alert-watch.ts';
import type { Alert, AlertKind } from '../../src/contract.ts';
import type { WatchRules } from '../../src/watch-rules.ts';
import { alarm, cleared, ran, rulesWith, silent, tick } from './watch-fixture.ts';

const parts = (inputs: readonly WatchInput[], kinds: readonly AlertKind[], baselines: WatchRules['baselines'] = new Map()) => {
  const { last } = ran(inputs, rulesWith({ baselines }, kinds));
  const short = (alert: Alert | undefined): string | null => (alert === undefined ? null : `${alert.kind} ${alert.chamber ?? ''}`.trim());
  return Object.fromEntries<string | null>(
    last.map((alert) => [short(alert) as string, short(last.find(({ id }) => id === alert.partOf))]),
  );
};
const part = { per10Min: 0.2, threshold: 4, observedHours: 500, activations: 600, expectedFalsePerMonth: 0.04, dispersion: 1, leftOut: 0 };
/** A chamber whose own history makes four alarms a burst. */
const FOUR = new Map([['PC-01', { chamber: 'PC-01', observedDays: 42, classes: { running: part, 'not-running': part } }]]);
const many = (minutes: number, chamber: string, count = 11): WatchInput[] =>
  Array.from({ length: count }, (_, i) => alarm(minutes + i / 60, `${chamber}${i}`, { chamber }));

test('[AV1] a common cause covers the bursts, the flood and the silence of its chambers, whichever came first', () => {
  const struck = ['PC-01', 'PC-02', 'PC-03'].map((chamber, i) => alarm(1 + i / 60, 'WATER', { chamber }));
  const kinds = ['common-cause', 'burst', 'flood', 'no-data'] as const;
  expect(parts([...many(0, 'PC-01'), ...struck, silent(2, 'PC-02'), tick(8)], kinds)).toEqual({
    'burst PC-01': 'common-cause',
    flood: 'common-cause',
    'common-cause': null,
    'no-data PC-02': 'common-cause',
  });
  expect(parts([...struck, ...many(2, 'PC-03')], kinds)['burst PC-03']).toBe('common-cause');
  const apart = [...struck, ...['PC-01', 'PC-02', 'PC-03'].map((chamber) => cleared(2, 'WATER', chamber)), ...many(30, 'PC-03')];
  expect(parts(apart, kinds)['burst PC-03']).toBeNull();
});

test('[AV2] a flood of one chamber’s alarms is part of its burst; bursts within a flood of several are part of that', () => {
  expect(parts(many(0, 'PC-01'), ['burst', 'flood'])).toEqual({ 'burst PC-01': null, flood: 'burst PC-01' });
  const two = [...many(0, 'PC-01', 8), ...many(0.2, 'PC-02', 11), ...many(0.5, 'PC-01', 11)];
  expect(parts(two, ['burst', 'flood'])).toEqual({ flood: null, 'burst PC-02': 'flood', 'burst PC-01': 'flood' });
});

test('[AV3] a burst of which half is one chattering alarm is part of that alarm’s alert', () => {
  const slow = Array.from({ length: 30 }, (_, i) => [alarm(i * 1.1, 'DOOR'), cleared(i * 1.1 + 0.05, 'DOOR')]).flat();
  const others = (codes: readonly string[]): WatchInput[] => codes.map((code, i) => alarm(20 + i / 60, code));
  expect(parts([...slow.slice(0, 38), ...others(['X', 'Y'])], ['burst', 'chattering'], FOUR)).toEqual({
    'chattering PC-01': null,
    'burst PC-01': 'chattering PC-01',
  });
  const quiet = slow.slice(0, 20);
  expect(parts([...quiet, ...others(['X', 'Y', 'Z', 'V'])], ['burst', 'chattering'], FOUR)['burst PC-01']).toBeNull();
});

test('[AV4] nothing is part of what is itself a part', () => {
  const { last } = ran([...many(0, 'PC-01', 8), ...many(0.2, 'PC-02', 11), ...many(0.5, 'PC-01', 11)], rulesWith({}, ['burst', 'flood']));
  const wide = new Set(last.filter(({ partOf }) => partOf === null).map(({ id }) => id));
  for (const { partOf } of last) if (partOf !== null) expect(wide).toContain(partOf);
});
