import { describe, expect, test } from 'vitest';
import type { JournalRow } from '../../src/alarm-answer.ts';
import { alarmKey, firstOuts, isAskedFor, journalRowOf, type Next, nextBefore } from '../../src/alarm-journal.ts';
import type { Suppression } from '../../src/equipment.ts';
import type { AlarmFact } from '../../src/facts.ts';

const S = 1000;
let seq = 0;
const fact = (second: number, change: AlarmFact['change'] = 'activated', part: Partial<AlarmFact> = {}): AlarmFact => ({
  kind: 'alarm',
  chamber: 'PC-01',
  at: second * S,
  code: 'RF_FAULT',
  text: 'RF generator fault',
  priority: 'high',
  notice: false,
  change,
  counted: true,
  suppressed: false,
  ...part,
  seq: ++seq,
});

/** Newest first, as the journal is read. */
function rows(facts: readonly AlarmFact[], tells = true, latched = false): JournalRow[] {
  const nexts = new Map<string, Next>();
  const firsts = firstOuts(facts);
  return [...facts].reverse().flatMap((one) => {
    const next = nexts.get(alarmKey(one));
    nexts.set(alarmKey(one), nextBefore(one, next));
    return one.change === 'activated'
      ? [journalRowOf(one, next, { tells: { acknowledged: tells, confirmed: tells, latched }, firstOut: firsts.get(one.seq) ?? null })]
      : [];
  });
}
const told = (facts: readonly AlarmFact[], tells = true): unknown[] =>
  rows(facts, tells).map(({ state, acknowledgement, acknowledgeMs, standingMs }) => [state, acknowledgement, acknowledgeMs, standingMs]);

describe('alarm journal', () => {
  test('[AJ1] the four states of ISA-18.2 (letters from memory, names known second-hand): standing and returned, each with and without acknowledgement', () => {
    expect(told([fact(0)])).toEqual([['B', 'awaited', null, null]]);
    expect(told([fact(0), fact(7, 'acknowledged')])).toEqual([['C', 'acknowledged', 7 * S, null]]);
    expect(told([fact(0), fact(7, 'acknowledged'), fact(9, 'cleared')])).toEqual([['A', 'acknowledged', 7 * S, 9 * S]]);
    expect(told([fact(0), fact(9, 'cleared')])).toEqual([['D', 'awaited', null, 9 * S]]);
    expect(told([fact(0), fact(9, 'cleared'), fact(20, 'acknowledged')])).toEqual([['A', 'acknowledged', 20 * S, 9 * S]]);
  });

  test('[AJ1] [AJ3] a returned alarm that comes again leaves D: the earlier activation is over and was never acknowledged', () => {
    expect(told([fact(0), fact(9, 'cleared'), fact(30), fact(33, 'acknowledged')])).toEqual([
      ['C', 'acknowledged', 3 * S, null],
      ['A', 'never', null, 9 * S],
    ]);
  });

  test('[AJ10] latched: returned to normal but waiting for a reset is E unacknowledged or F acknowledged (letters from memory), and its standing is over', () => {
    const cleared = fact(9, 'cleared', { latched: true });
    const states = (facts: readonly AlarmFact[], latched = true) =>
      rows(facts, true, latched).map(({ state, standingMs, resetAt }) => [state, standingMs, resetAt]);
    expect(states([fact(0)])).toEqual([['B', null, null]]);
    expect(states([fact(0), cleared])).toEqual([['E', 9 * S, null]]);
    expect(states([fact(0), cleared, fact(12, 'acknowledged')])).toEqual([['F', 9 * S, null]]);
    expect(states([fact(0), fact(7, 'acknowledged'), cleared])).toEqual([['F', 9 * S, null]]);
    expect(states([fact(0), fact(7, 'acknowledged'), cleared, fact(30, 'reset')], false)).toEqual([['A', 9 * S, 30 * S]]);
    expect(states([fact(0), cleared, fact(30, 'reset')], false)).toEqual([['D', 9 * S, 30 * S]]);
    expect(states([fact(0), fact(9, 'cleared'), fact(12, 'latched')])).toEqual([['E', 9 * S, null]]);
  });

  test('[AJ10] one that comes again is no longer latched as before; only the last activation is, and only while the machine says so', () => {
    const twice = [fact(0), fact(9, 'cleared', { latched: true }), fact(20), fact(29, 'cleared', { latched: true })];
    expect(rows(twice, true, true).map(({ state }) => state)).toEqual(['E', 'A']);
    expect(rows(twice, true, false).map(({ state }) => state)).toEqual(['D', 'A']);
    const acked = [fact(0), fact(5, 'acknowledged'), fact(9, 'cleared', { latched: true }), fact(20), fact(40, 'reset')];
    expect(rows(acked).map(({ resetAt }) => resetAt)).toEqual([40 * S, null]);
  });

  test('[AJ10] where no acknowledgement is told a latched one is neither E nor F, and what is shelved shows as shelved', () => {
    const facts = [fact(0), fact(9, 'cleared', { latched: true })];
    expect(rows(facts, false, true)[0]?.state).toBe('E/F');
    const shelved = fact(10, 'suppression', { suppressed: true, suppressedAs: ['shelved'] });
    const [row] = rows([...facts, shelved], true, true) as [JournalRow];
    expect(row.state).toBe('G');
    const [latched] = rows(facts, true, true) as [JournalRow];
    expect([isAskedFor(latched, { show: 'latched' }), isAskedFor(latched, { show: 'standing' })]).toEqual([true, false]);
  });

  test('[AJ2] where no acknowledgement is told there is none, no time and no zero', () => {
    expect(told([fact(0)], false)).toEqual([['B/C', 'not told', null, null]]);
    expect(told([fact(0), fact(9, 'cleared')], false)).toEqual([['A', 'not told', null, 9 * S]]);
  });

  test('[AJ3] another alarm, and another chamber, keep their acknowledgements to themselves', () => {
    const other = fact(5, 'acknowledged', { code: 'DOOR' });
    const elsewhere = fact(6, 'acknowledged', { chamber: 'PC-02' });
    expect(told([fact(0), other, elsewhere])).toEqual([['B', 'awaited', null, null]]);
  });

  test('[AJ4] pump, pressure, RF within seconds: the pump is first-out; an alarm two minutes later is alone', () => {
    const facts = [
      fact(0, 'activated', { code: 'PUMP' }),
      fact(4, 'activated', { code: 'PRESSURE' }),
      fact(9),
      fact(129, 'activated', { code: 'DOOR' }),
    ];
    const outs = rows(facts).map(({ code, firstOut }) => [code, firstOut?.code ?? null, firstOut?.isThis ?? null]);
    expect(outs).toEqual([
      ['DOOR', null, null],
      ['RF_FAULT', 'PUMP', false],
      ['PRESSURE', 'PUMP', false],
      ['PUMP', 'PUMP', true],
    ]);
  });

  test('[AJ4] a minute apart is no longer close', () => {
    const pair = (gap: number): unknown[] =>
      rows([fact(0, 'activated', { code: 'PUMP' }), fact(gap)]).map(({ firstOut }) => firstOut?.code ?? null);
    expect(pair(59)).toEqual(['PUMP', 'PUMP']);
    expect(pair(60)).toEqual([null, null]);
  });

  test('[AJ4] a chattering switch neither begins nor carries on an episode for hours, nor does what does not count', () => {
    const chatter = Array.from({ length: 30 }, (_, i) => fact(i * 20, 'activated', { code: 'SWITCH' }));
    const trip = fact(595);
    expect(firstOuts([...chatter, trip]).get(trip.seq)).toBeUndefined();
    const notice = fact(0, 'activated', { code: 'DONE', notice: true });
    const shelved = fact(1, 'activated', { code: 'OIL', suppressed: true });
    const found = fact(2, 'activated', { code: 'WATER', counted: false });
    const alone = fact(5);
    expect(firstOuts([notice, shelved, found, alone]).size).toBe(0);
  });

  test('[AJ4] an episode is followed back for an hour at most', () => {
    const facts = Array.from({ length: 100 }, (_, i) => fact(i * 50, 'activated', { code: `C${i}` }));
    const last = facts[99] as AlarmFact;
    expect(firstOuts(facts).get(last.seq)?.code).toBe('C27');
  });

  test('[AJ5] shelved and found standing are told apart from the states, and only what counts is counted', () => {
    const found = rows([
      fact(0, 'activated', { suppressed: true }),
      fact(70, 'activated', { counted: false }),
      fact(140),
      fact(210, 'activated', { notice: true }),
    ]);
    const of = (show: Parameters<typeof isAskedFor>[1]['show']): number[] =>
      found.filter((row) => isAskedFor(row, { show })).map(({ at }) => at / S);
    expect([of('all'), of('counted'), of('suppressed'), of('found standing'), of('notices')]).toEqual([
      [210, 140, 70, 0],
      [140],
      [0],
      [70],
      [210],
    ]);
  });

  test('[AJ5] while it is shelved, suppressed by design or out of service the letter says so, the strongest first', () => {
    const held = (...suppressedAs: readonly Suppression[]) =>
      fact(3, 'suppression', { suppressed: suppressedAs.length > 0, suppressedAs: [...suppressedAs] });
    const letter = (...facts: readonly AlarmFact[]) => rows([fact(0), ...facts])[0]?.state;
    expect([letter(held('shelved')), letter(held('by design', 'shelved')), letter(held('out of service', 'shelved'))]).toEqual([
      'G',
      'H',
      'I',
    ]);
    expect(letter(held('shelved'), fact(9, 'suppression', { suppressedAs: [] }))).toBe('B');
    expect(letter(held('not told which'))).toBe('B');
    expect(rows([fact(0, 'activated', { suppressed: true, suppressedAs: ['shelved'] })])[0]).toMatchObject({
      state: 'G',
      suppressedAs: ['shelved'],
    });
    expect(rows([fact(0), fact(2, 'cleared'), held('shelved'), fact(20)]).map(({ state }) => state)).toEqual(['B', 'A']);
  });

  test('[AJ5] a fact of an older program is suppressed by what it did not tell', () => {
    const [row] = rows([fact(0, 'activated', { suppressed: true })]);
    expect(row).toMatchObject({ suppressed: true, suppressedAs: ['not told which'], state: 'B' });
    expect([isAskedFor(row as JournalRow, { show: 'suppressed' }), isAskedFor(row as JournalRow, { show: 'shelved' })]).toEqual([
      true,
      false,
    ]);
  });

  test('[AJ7] confirmed is its own fact, and not told where the machine tells none', () => {
    const confirmed = rows([fact(0), fact(7, 'acknowledged'), fact(9, 'confirmed')]);
    expect(confirmed[0]).toMatchObject({ acknowledgement: 'acknowledged', confirmation: 'confirmed', confirmedAt: 9 * S });
    expect(rows([fact(0), fact(7, 'acknowledged')])[0]?.confirmation).toBe('awaited');
    expect(rows([fact(0)], false)[0]?.confirmation).toBe('not told');
    expect(rows([fact(0), fact(2, 'cleared'), fact(5)]).at(-1)?.confirmation).toBe('never');
  });

  test('[AJ8] a branch keeps an earlier activation waiting, and what is told of it goes to that activation', () => {
    const of = 0;
    const twice = [fact(0), fact(9, 'cleared'), fact(30), fact(31, 'branched', { of })];
    const states = (...more: readonly AlarmFact[]) => rows([...twice, ...more]).map((row) => [row.state, row.acknowledgement, row.branch]);
    expect(states()).toEqual([
      ['B', 'awaited', false],
      ['D', 'awaited', true],
    ]);
    expect(states(fact(40, 'acknowledged', { of }), fact(41, 'branch-ended', { of }))).toEqual([
      ['B', 'awaited', false],
      ['A', 'acknowledged', true],
    ]);
    expect(states(fact(41, 'branch-ended', { of }))[1]).toEqual(['A', 'never', true]);
    expect(
      rows([...twice, fact(40, 'acknowledged', { of }), fact(50), fact(51, 'cleared')]).map(({ acknowledgeMs }) => acknowledgeMs),
    ).toEqual([null, null, 40 * S]);
  });

  test('[AJ9] standing is what did not clear and no later activation followed; a notice does not stand', () => {
    const standing = (all: readonly JournalRow[]): boolean[] => all.map((row) => isAskedFor(row, { show: 'standing' }));
    expect(standing(rows([fact(0), fact(9, 'cleared'), fact(30)]))).toEqual([true, false]);
    expect(standing(rows([fact(0), fact(30), fact(31, 'acknowledged')]))).toEqual([true, false]);
    expect(standing(rows([fact(0), fact(9, 'cleared')]))).toEqual([false]);
    expect(standing(rows([{ ...fact(0), notice: true }]))).toEqual([false]);
    const [notice, row] = [...rows([{ ...fact(0), notice: true }]), ...rows([fact(0)])] as [JournalRow, JournalRow];
    expect([isAskedFor(notice, { show: 'alarms' }), isAskedFor(row, { show: 'alarms' })]).toEqual([false, true]);
  });

  test('[AJ6] each word must be found in chamber, code or text, in any letters; priority and state narrow further', () => {
    const [row] = rows([fact(0)]) as [JournalRow];
    const asked = (words: string): boolean => isAskedFor(row, { words });
    expect(['', 'generator', 'GENERATOR pc-01', 'rf_f'].map(asked)).toEqual([true, true, true, true]);
    expect(['generator pc-02', 'door'].map(asked)).toEqual([false, false]);
    expect([
      isAskedFor(row, { priority: 'high', state: 'B' }),
      isAskedFor(row, { priority: 'low' }),
      isAskedFor(row, { state: 'C' }),
    ]).toEqual([true, false, false]);
  });
});
