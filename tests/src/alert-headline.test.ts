import { describe, expect, test } from 'vitest';
import { alertHeadline } from '../../src/alert-headline.ts';
import type { Alert } from '../../src/contract.ts';

const MIN = 60_000;
const burst: Alert = {
  id: 'x',
  kind: 'burst',
  chamber: 'PC-07',
  position: null,
  state: 'open',
  startedAt: 4 * MIN,
  updatedAt: 4 * MIN,
  closedAt: null,
  acknowledgedAt: null,
  acknowledgedBy: null,
  count: 5,
  rawCount: 9,
  peak10Min: 5,
  usual: { per10Min: 0.23, threshold: 5, observedHours: 700, expectedFalsePerMonth: 0.04 },
  rule: 'r',
  firstOut: { chamber: 'PC-07', code: 'RF_FAULT', text: 'RF generator fault', at: 0 },
  top: [],
  together: [],
  headline: '',
};
const flood: Alert = {
  ...burst,
  kind: 'flood',
  chamber: null,
  position: 'Birch',
  usual: null,
  count: 14,
  updatedAt: 15 * MIN,
  together: ['PC-03', 'PC-05', 'PC-06', 'PC-08', 'PC-09'],
};

describe('alert headline', () => {
  test('[AH1] a burst: where, how many, what is usual, what came first, who else', () => {
    expect(alertHeadline(burst)).toBe(
      'PC-07: 5 alarms in 10 minutes, where 0.2 in 10 minutes are usual. First: RF generator fault (RF_FAULT).',
    );
    expect(alertHeadline({ ...burst, updatedAt: 24 * MIN, count: 31, together: ['PC-05', 'PC-06'], usual: null })).toBe(
      'PC-07: 31 alarms in 24 minutes. First: RF generator fault (RF_FAULT). Within the same minutes: PC-05, PC-06.',
    );
  });

  test('[AH1] a rare alarm is "fewer than 0.1", never "0.0"', () => {
    expect(alertHeadline({ ...burst, usual: { per10Min: 0.004, threshold: 3, observedHours: 1, expectedFalsePerMonth: 0 } })).toContain(
      'where fewer than 0.1 in 10 minutes are usual',
    );
  });

  test('[AH1] one that is over says so', () => {
    expect(alertHeadline({ ...burst, state: 'closed', updatedAt: 24 * MIN })).toBe(
      'PC-07: over. 5 alarms in 24 minutes. First: RF generator fault (RF_FAULT).',
    );
  });

  test('[AH1] a flood names the position, the chamber that was first, and at most four of its chambers by name', () => {
    expect(alertHeadline(flood)).toBe(
      'Birch: 14 alarms in 15 minutes. First: RF generator fault at PC-07 (RF_FAULT). From PC-03, PC-05, PC-06, PC-08 and 1 more.',
    );
  });
});
