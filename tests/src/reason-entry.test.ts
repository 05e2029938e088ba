import { describe, expect, test } from 'vitest';
import { reasonEvent } from '../../src/event.ts';
import { entryOf, firstClick, type ReasonDraft } from '../../src/reason-entry.ts';
import { DEFAULT_REASONS, reasonOf } from '../../src/reason-list.ts';

const NOW = Date.UTC(2026, 10, 25, 12);
const HOUR = 3_600_000;
const DAY = 24 * HOUR;

const draft = (change: Partial<ReasonDraft> = {}): ReasonDraft => ({
  chamber: 'PC-01',
  from: NOW - 2 * HOUR,
  to: NOW - HOUR,
  state: 'unscheduled-downtime',
  reason: 'vacuum pump',
  note: '',
  by: 'A. Person',
  ...change,
});
const entered = (change: Partial<ReasonDraft> = {}) => entryOf(draft(change), { entry: 'e1', now: NOW, reasons: DEFAULT_REASONS });

describe('what a person may enter', () => {
  test('[RT3] an entry carries what its reason stands for, and what was worked on unless the person says otherwise', () => {
    expect(reasonEvent.parse(entered())).toEqual({
      kind: 'reason',
      chamber: 'PC-01',
      at: NOW - 2 * HOUR,
      to: NOW - HOUR,
      entry: 'e1',
      state: 'unscheduled-downtime',
      reason: 'vacuum pump',
      note: '',
      by: 'A. Person',
      enteredAt: NOW,
      downtime: 'repair',
      workedOn: ['pump'],
    });
    expect(entered({ workedOn: ['seal', 'seal'] }).workedOn).toEqual(['seal']);
    expect(entered({ workedOn: [] }).workedOn).toEqual([]);
  });

  test('[RT3] a reason the site does not have for that state is refused with those it has', () => {
    expect(() => entered({ state: 'standby', reason: 'vacuum pump' })).toThrow(
      'The site has no such reason for that state; it has no operator, no product, no support tool, waiting for laboratory.',
    );
    expect(() => entryOf(draft(), { entry: 'e', now: NOW, reasons: [] })).toThrow('The site has no reasons for that state.');
  });

  test.each([
    ['[RT1] a begin in the future', { from: NOW + 1, to: null }, 'begins in the future'],
    ['[RT1] an end in the future', { to: NOW + 1 }, 'ends in the future'],
    ['[RT2] an end at the begin', { to: NOW - 2 * HOUR }, 'ends before it begins'],
    ['[RT2] an end before the begin', { to: NOW - 3 * HOUR }, 'ends before it begins'],
    ['[RT2] less than a second', { to: NOW - 2 * HOUR + 999 }, 'shorter than a second'],
    ['[RT2] more than 60 days', { from: NOW - 61 * DAY, to: NOW - DAY + 1 }, 'longer than 60 days'],
    ['[RT2] no end and a begin more than 60 days ago', { from: NOW - 60 * DAY - 1, to: null }, 'more than 60 days ago'],
  ] as const)('%s is refused with its cure', (_, change, sentence) => {
    expect(() => entered(change)).toThrow(sentence);
  });

  test('[RT1] [RT2] the bounds themselves are taken', () => {
    expect(entered({ from: NOW, to: null }).to).toBeNull();
    expect(entered({ to: NOW }).to).toBe(NOW);
    expect(entered({ from: NOW - 60 * DAY, to: NOW }).at).toBe(NOW - 60 * DAY);
    expect(entered({ from: NOW - 60 * DAY, to: null }).to).toBeNull();
  });

  test('[RT4] the same words within ten seconds of real time are the second click of the first', () => {
    const first = entered();
    const click = (change: Partial<ReasonDraft>, afterMs: number, speed = 1) =>
      firstClick(draft(change), [first], { now: NOW + afterMs, speed })?.entry ?? null;
    expect(click({}, 10_000)).toBe('e1');
    expect(click({}, 10_001)).toBeNull();
    expect(click({}, 50_000, 60)).toBe('e1');
    for (const other of [
      { chamber: 'PC-02' },
      { from: NOW },
      { to: null },
      { state: 'standby' as const },
      { reason: 'repair' },
      { note: 'x' },
      { by: 'B' },
    ])
      expect(click(other, 0)).toBeNull();
    expect(firstClick(draft(), [], { now: NOW, speed: 1 })).toBeUndefined();
  });
});

describe('the list of reasons', () => {
  test('[RL1] a reason is found by state and words together, and none is there twice', () => {
    expect(reasonOf(DEFAULT_REASONS, 'unscheduled-downtime', 'cleared by operator')?.downtime).toBe('assist');
    expect(reasonOf(DEFAULT_REASONS, 'standby', 'cleared by operator')).toBeUndefined();
    const keys = DEFAULT_REASONS.map(({ state, reason }) => `${state}/${reason}`);
    expect(new Set(keys).size).toBe(keys.length);
    expect(DEFAULT_REASONS.filter(({ state, downtime }) => downtime !== null && !state.endsWith('downtime'))).toEqual([]);
  });
});
