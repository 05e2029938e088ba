import { describe, expect, test } from 'vitest';
import type { AlarmAlert } from '../../src/alert-episode.ts';
import { alertHeadline } from '../../src/alert-headline.ts';

const MIN = 60_000;
const burst: AlarmAlert = {
  id: 'x',
  kind: 'burst',
  chamber: 'PC-07',
  position: null,
  severity: 'medium',
  state: 'open',
  startedAt: 4 * MIN,
  updatedAt: 4 * MIN,
  closedAt: null,
  acknowledgedAt: null,
  acknowledgedBy: null,
  takenAt: null,
  takenBy: null,
  headline: '',
  rule: 'r',
  cure: null,
  together: [],
  shares: null,
  partOf: null,
  alarms: {
    count: 5,
    rawCount: 9,
    peak10Min: 5,
    usual: { per10Min: 0.23, threshold: 5, observedHours: 700, expectedFalsePerMonth: 0.04 },
    firstOut: { chamber: 'PC-07', code: 'RF_FAULT', text: 'RF generator fault', at: 0 },
    top: [],
  },
  facts: [],
};
const flood: AlarmAlert = {
  ...burst,
  kind: 'flood',
  chamber: null,
  position: 'Birch',
  updatedAt: 15 * MIN,
  alarms: { ...burst.alarms, usual: null, count: 14 },
  together: ['PC-03', 'PC-05', 'PC-06', 'PC-08', 'PC-09'],
};

describe('alert headline', () => {
  test('[AH1] a burst: where, how many, what is usual, what came first, who else', () => {
    expect(alertHeadline(burst)).toBe(
      'PC-07: 5 alarms in 10 minutes, where 0.2 in 10 minutes are usual. First: RF generator fault (RF_FAULT).',
    );
    expect(
      alertHeadline({ ...burst, updatedAt: 24 * MIN, together: ['PC-05', 'PC-06'], alarms: { ...burst.alarms, count: 31, usual: null } }),
    ).toBe('PC-07: 31 alarms in 24 minutes. First: RF generator fault (RF_FAULT). Within the same minutes: PC-05, PC-06.');
  });

  test('[AH1] a rare alarm is "fewer than 0.1", never "0.0"', () => {
    const usual = { per10Min: 0.004, threshold: 3, observedHours: 1, expectedFalsePerMonth: 0 };
    expect(alertHeadline({ ...burst, alarms: { ...burst.alarms, usual } })).toContain('where fewer than 0.1 in 10 minutes are usual');
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
