import { describe, expect, test } from 'vitest';
import { alarmCounts } from '../../src/alarm-counts.ts';
import type { AlarmSubject } from '../../src/alarm-stats.ts';
import type { StoredEvent } from '../../src/event.ts';
import { fleetFacts } from '../../src/facts.ts';
import { stateIntervals } from '../../src/interval.ts';

const [MIN, HOUR, DAY] = [60_000, 3_600_000, 86_400_000];

function subjects(
  minutes: readonly number[],
  window: { from: number; to: number },
  holes: readonly [number, number][] = [],
): AlarmSubject[] {
  let seq = 0;
  const state = (at: number, name: 'standby' | 'unobserved'): StoredEvent => ({
    ...{ kind: 'equipment-state', chamber: 'PC-01', at, state: name, reason: name, source: 'signal', run: null },
    seq: ++seq,
  });
  const alarms = minutes.map((minute): StoredEvent => ({
    ...{ kind: 'alarm', chamber: 'PC-01', at: minute * MIN, code: 'RF_FAULT', text: 'RF generator fault', priority: 'high', notice: false },
    ...{ change: 'activated', counted: true, suppressed: false },
    seq: ++seq,
  }));
  const events = [
    state(-DAY, 'standby'),
    ...holes.flatMap(([from, to]) => [state(from * MIN, 'unobserved'), state(to * MIN, 'standby')]),
    ...alarms,
  ];
  return fleetFacts({ chambers: ['PC-01'], events, heardUntil: { 'PC-01': window.to } }).map((facts) => ({
    facts,
    intervals: stateIntervals(facts, window, []),
  }));
}

describe('alarms per period', () => {
  test('[AR1] ten minutes up to two days, aligned to UTC, each alarm in its period, and all of them', () => {
    const window = { from: 5 * MIN, to: 65 * MIN };
    const found = alarmCounts(subjects([2, 5, 9, 10, 19.9, 64, 65], window), window);
    expect(found).toEqual({ from: 0, periodMs: 10 * MIN, counts: [2, 2, 0, 0, 0, 0, 1] });
  });

  test('[AR1] an hour beyond two days', () => {
    const window = { from: 0, to: 2 * DAY + 1 };
    expect(alarmCounts(subjects([61], window), { from: 0, to: 2 * DAY })).toMatchObject({ periodMs: 10 * MIN });
    const found = alarmCounts(subjects([61], window), window);
    expect([found.periodMs, found.counts.length, found.counts[0], found.counts[1]]).toEqual([HOUR, 49, 0, 1]);
  });

  test('[AR2] a period in which nobody observed anything has no count; one observed in part has', () => {
    const window = { from: 0, to: 60 * MIN };
    expect(alarmCounts(subjects([1], window, [[15, 45]]), window).counts).toEqual([1, 0, null, null, 0, 0]);
  });
});
