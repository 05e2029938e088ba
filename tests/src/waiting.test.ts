import { describe, expect, test } from 'vitest';
import { addWaiting, waitForUnloadMs, waitingParts, waitSpread } from '../../src/waiting.ts';
import { MIN, run, stretches } from './stretches.ts';

const WAIT = (minutes: number) => [minutes, 'standby', 'waiting for unload'] as const;
const NEXT = [10, 'productive', 'load or unload'] as const;
const person = { source: 'person', entry: 'e1' } as const;

describe('waiting', () => {
  test('[WT1] standby splits by reason, and the parts sum to it; idling nobody explained has no known cause', () => {
    const intervals = stretches([
      WAIT(5),
      NEXT,
      [40, 'standby', 'idle'],
      [600, 'nonscheduled', 'no shift planned'],
      [20, 'standby', 'idle'],
      NEXT,
      [30, 'standby', 'no operator', person],
      [15, 'standby', 'no product', person],
      [12, 'standby', 'waiting for laboratory', person],
      [3, 'standby', 'door open'],
    ]);
    const parts = waitingParts(intervals);
    expect(parts.map(({ kind, reason, waitMs, occurrences }) => [kind, reason, waitMs / MIN, occurrences])).toEqual([
      ['cause unknown', 'idle', 60, 1],
      ['for operator', 'no operator', 30, 1],
      ['no work', 'no product', 15, 1],
      ['other', 'waiting for laboratory', 12, 1],
      ['for unload', 'waiting for unload', 5, 1],
      ['for load', 'door open', 3, 1],
    ]);
    const standby = intervals.filter(({ state }) => state === 'standby').reduce((sum, { from, to }) => sum + to - from, 0);
    expect(parts.reduce((sum, { waitMs }) => sum + waitMs, 0)).toBe(standby);
    expect(addWaiting([parts, parts])[0]).toMatchObject({ waitMs: 120 * MIN, occurrences: 2 });
  });

  test('[WT2] from the return to atmosphere to the door; opened at once is a wait of nothing', () => {
    const at = 100 * MIN;
    expect(waitForUnloadMs(run(at), stretches([WAIT(7), NEXT], at))).toBe(7 * MIN);
    expect(waitForUnloadMs(run(at), stretches([NEXT], at))).toBe(0);
  });

  test('[WT2] a wait cut by a hole or the weekend, or after which nothing is known, is left out', () => {
    const at = 100 * MIN;
    for (const after of [[5, 'unobserved', 'no data'] as const, [5, 'nonscheduled', 'no shift planned'] as const])
      expect(waitForUnloadMs(run(at), stretches([WAIT(7), after, NEXT], at))).toBeNull();
    expect(waitForUnloadMs(run(at), stretches([WAIT(7)], at))).toBeNull();
    expect(waitForUnloadMs(run(at), stretches([[9, 'unobserved', 'no data'], NEXT], at))).toBeNull();
    expect(waitForUnloadMs(run(at), [])).toBeNull();
  });

  test('[WT2] what a person told of the wait does not shorten it', () => {
    const at = 100 * MIN;
    const told = { ...person, observed: { state: 'standby', reason: 'waiting for unload' } } as const;
    expect(waitForUnloadMs(run(at), stretches([WAIT(3), [4, 'standby', 'no operator', told], NEXT], at))).toBe(7 * MIN);
  });

  test('[WT2] median, p95 and the sum of known waits (percentiles NIST 7.2.6.2), nothing of none', () => {
    expect(waitSpread([4, null, 2, 1, 3].map((m) => m && m * MIN))).toEqual({ n: 4, p50: 2.5 * MIN, p95: 4 * MIN, sumMs: 10 * MIN });
    expect(waitSpread([null])).toBeNull();
  });
});
