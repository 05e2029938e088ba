import { describe, expect, test } from 'vitest';
import { chatterIndex, chattersSlowly, fleetingCount, medianActiveMs } from '../../src/alarm-chatter.ts';
import { activeSpans, type ActiveSpan } from '../../src/alarm-spans.ts';
import type { AlarmFact } from '../../src/facts.ts';

const S = 1000;
const train = (count: number, every: number, active: number): ActiveSpan[] =>
  Array.from({ length: count }, (_, i) => ({ from: i * every * S, to: (i * every + active) * S, isKnown: true, acknowledged: false }));

describe('chattering and fleeting', () => {
  test.each([
    ['0 10 20 40 100 s', [0, 10, 20, 40, 100], 0.0666667, true],
    ['every 20 s', [0, 20, 40, 60, 80], 0.05, true],
    ['every second', [0, 1, 2, 3, 4], 1, true],
    ['0 5 10 3600 s', [0, 5, 10, 3600], 0.1334262, false],
  ] as const)(
    '[AK2] [AK3] A3: the chattering index of %s (Kondaveeti and others 2013, definition from memory)',
    (_, times, index, byIndex) => {
      const found = chatterIndex(times.map((time) => time * S));
      expect(found.index).toBeCloseTo(index, 7);
      expect(found.byIndex).toBe(byIndex);
    },
  );

  test('[AK2] two in the same second are a run of one second; one activation has no run', () => {
    expect(chatterIndex([0, 10]).index).toBe(1);
    expect(chatterIndex([0])).toEqual({ index: null, byIndex: false });
  });

  test('[AK3] every 21 s is just not enough', () => {
    expect(chatterIndex([0, 21, 42, 63, 84].map((s) => s * S)).byIndex).toBe(false);
  });

  test('[AK1] a door switch once in two minutes for three seconds chatters slowly though it never comes three times in a minute', () => {
    expect(chattersSlowly(train(10, 120, 3))).toBe(true);
    expect(chattersSlowly(train(9, 120, 3))).toBe(false);
    expect(chattersSlowly(train(10, 120, 10))).toBe(false);
    expect(chattersSlowly(train(20, 400, 3))).toBe(false);
  });

  test('[AK1] what was not seen to clear says nothing of how long it was active', () => {
    const unknown = train(10, 120, 3).map((span) => ({ ...span, isKnown: false }));
    expect([medianActiveMs(unknown), chattersSlowly(unknown)]).toEqual([null, false]);
  });

  test('[AK4] eight seconds, nobody, not again: fleeting; ten seconds, acknowledged, unseen or repeated within a minute is not', () => {
    const [one] = train(1, 1, 8) as [ActiveSpan];
    expect(fleetingCount([one])).toBe(1);
    expect(fleetingCount(train(1, 1, 10))).toBe(0);
    expect(fleetingCount([{ ...one, acknowledged: true }])).toBe(0);
    expect(fleetingCount([{ ...one, isKnown: false }])).toBe(0);
    expect(fleetingCount(train(3, 60, 8))).toBe(0);
    expect(fleetingCount(train(3, 61, 8))).toBe(3);
  });
});

let seq = 0;
const fact = (second: number, change: AlarmFact['change'] = 'activated', part: Partial<AlarmFact> = {}): AlarmFact => ({
  ...{ kind: 'alarm', chamber: 'PC-01', at: second * S, code: 'X', text: 'x', priority: 'low', notice: false, change, counted: true },
  suppressed: false,
  ...part,
  seq: ++seq,
});
const spansOf = (facts: AlarmFact[], unseen: { from: number; to: number }[] = []): unknown[] =>
  activeSpans(facts, { from: 0, to: 100 * S }, unseen).map(({ from, to, isKnown, acknowledged }) => [
    from / S,
    to / S,
    isKnown,
    acknowledged,
  ]);

describe('active spans', () => {
  test('[AP1] from activation to clearing, also beyond the window, with whether it was acknowledged before', () => {
    expect(spansOf([fact(5), fact(8, 'cleared'), fact(20), fact(22, 'acknowledged'), fact(130, 'cleared')])).toEqual([
      [5, 8, true, false],
      [20, 130, true, true],
    ]);
    expect(spansOf([fact(5, 'activated', { counted: false }), fact(8, 'cleared'), fact(9, 'activated', { suppressed: true })])).toEqual([]);
  });

  test('[AP2] with a hole, another activation or nothing before the clearing, the end is not known', () => {
    const hole = [{ from: 6 * S, to: 7 * S }];
    expect(spansOf([fact(5), fact(8, 'cleared')], hole)).toEqual([[5, 6, false, false]]);
    expect(spansOf([fact(5), fact(9), fact(12, 'cleared')])).toEqual([
      [5, 9, false, false],
      [9, 12, true, false],
    ]);
    expect(spansOf([fact(90)])).toEqual([[90, 100, false, false]]);
  });
});
