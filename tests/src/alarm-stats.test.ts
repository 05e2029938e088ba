import { describe, expect, test } from 'vitest';
import { alarmNumbers, alarmRate, chatterHits, floods, peakCount } from '../../src/alarm-stats.ts';
import type { AlarmEvent, StoredEvent } from '../../src/event.ts';
import type { EquipmentState } from '../../src/equipment.ts';
import { fleetFacts } from '../../src/facts.ts';
import { stateIntervals } from '../../src/interval.ts';
import type { AlarmNumbers } from '../../src/numbers.ts';

const S = 1000;
const DAY = 86_400 * S;
const seconds = (...times: number[]): number[] => times.map((time) => time * S);
/** Eleven activations half a minute apart, then two more. */
const A1 = seconds(0, 30, 60, 90, 120, 150, 180, 210, 240, 270, 300, 500, 700);

let seq = 0;
const alarm = (at: number, part: Partial<AlarmEvent> = {}): StoredEvent => ({
  kind: 'alarm',
  chamber: 'PC-01',
  at,
  code: 'RF_FAULT',
  text: 'RF generator fault',
  priority: 'high',
  notice: false,
  change: 'activated',
  counted: true,
  suppressed: false,
  ...part,
  seq: ++seq,
});

const state = (at: number, name: EquipmentState, chamber = 'PC-01'): StoredEvent => ({
  kind: 'equipment-state',
  chamber,
  at,
  state: name,
  reason: name,
  source: 'signal',
  run: null,
  seq: ++seq,
});
/** Both chambers stand by, heard all the time, unless told otherwise. */
const numbers = (
  events: StoredEvent[],
  window = { from: 0, to: 3600 * S },
  heard: Record<string, number> = {},
  chambers = ['PC-01'],
): AlarmNumbers => {
  const all = [...chambers.map((chamber) => state(-2 * DAY, 'standby', chamber)), ...events];
  const heardUntil = Object.fromEntries(chambers.map((chamber) => [chamber, heard[chamber] ?? window.to]));
  const facts = fleetFacts({ chambers, events: all, heardUntil });
  return alarmNumbers(
    facts.map((one) => ({ facts: one, intervals: stateIntervals(one, window, []) })),
    window,
  );
};

describe('alarm statistics', () => {
  test('[AS2] A1: activations at 0, 30 .. 300, 500, 700 s make one flood, start 300 s, end 840 s, peak 12; .0892857 % of a week (ISA-18.2, known second-hand; own data)', () => {
    expect(floods(A1)).toEqual([{ from: 300 * S, to: 840 * S, peak: 12 }]);
    expect(peakCount(A1)).toEqual({ peak: 12, at: 500 * S });
    expect((100 * (840 - 300)) / (7 * 86_400)).toBeCloseTo(0.0892857, 7);
  });

  test('[AS2] ten are no flood, the eleventh makes one; at five it goes on, at four it is over', () => {
    expect(floods(A1.slice(0, 10))).toEqual([]);
    expect(floods(A1.slice(0, 11))).toEqual([{ from: 300 * S, to: 780 * S, peak: 11 }]);
    // An activation exactly ten minutes old has left the window: (t - 600, t].
    expect(floods(seconds(0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 600))).toEqual([]);
    expect(floods(seconds(0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 599))).toHaveLength(1);
  });

  test('[AS2] two activations exactly ten minutes apart are never in one trailing window', () => {
    expect([peakCount(seconds(0, 600)).peak, peakCount(seconds(0, 599)).peak, peakCount([]).at]).toEqual([1, 2, null]);
  });

  test('[AS2] two floods an hour apart are two episodes', () => {
    expect(floods([...A1, ...A1.map((at) => at + 3600 * S)]).map((flood) => flood.from / S)).toEqual([300, 3900]);
  });

  test('[AS3] A2: at 0 25 59 200 230 261 s there is one chatter hit, at 59 s (ISA-18.2, known second-hand; own data)', () => {
    expect(chatterHits(seconds(0, 25, 59, 200, 230, 261))).toEqual([59 * S]);
    expect(chatterHits(seconds(0, 25, 60))).toEqual([]);
  });

  test('A6: 150 and 300 a day are 6.25 and 12.5 an hour, 1.0417 and 2.0833 in ten minutes (ISA-18.2 targets, known second-hand)', () => {
    const [low, high] = [alarmRate(150, 86_400 * S), alarmRate(300, 86_400 * S)];
    expect([low.perHour, high.perHour]).toEqual([6.25, 12.5]);
    expect(low.per10Min).toBeCloseTo(1.0417, 4);
    expect(high.per10Min).toBeCloseTo(2.0833, 4);
  });

  test('[AS4] six alarms in one observed hour are one per ten minutes; with two chambers watched together it stays one', () => {
    const events = [1, 2, 3, 4, 5, 6].map((i) => alarm(i * 500 * S));
    expect(numbers(events).per10Min).toBe(1);
    expect(numbers(events, { from: 0, to: 3600 * S }, {}, ['PC-01', 'PC-02']).per10Min).toBe(1);
    expect(numbers([state(0, 'unobserved'), ...events]).per10Min).toBeNull();
  });

  test('[AS5] standing time is clipped to the window and to the last word, also of an alarm that stood before', () => {
    const window = { from: 100 * S, to: 200 * S };
    expect(numbers([alarm(0), alarm(130 * S, { change: 'cleared' })], window).worst).toMatchObject([
      { activations: 0, standingMs: 30 * S },
    ]);
    expect(numbers([alarm(150 * S)], window).worst).toMatchObject([{ activations: 1, standingMs: 50 * S }]);
    expect(numbers([alarm(150 * S)], window, { 'PC-01': 160 * S }).worst).toMatchObject([{ standingMs: 10 * S }]);
    expect(numbers([alarm(150 * S), alarm(170 * S, { change: 'cleared' })], window, { 'PC-01': 160 * S }).worst).toMatchObject([
      { standingMs: 10 * S },
    ]);
    expect(numbers([alarm(150 * S), alarm(155 * S), alarm(170 * S, { change: 'cleared' })], window).worst).toMatchObject([
      { activations: 2, standingMs: 20 * S },
    ]);
  });

  test('[AS1] the worst come first with their share of all, ten at most, across chambers', () => {
    const events = [1, 2, 3].map((i) => alarm(i * 100 * S)).concat(alarm(400 * S, { code: 'DOOR', chamber: 'PC-02' }));
    const { worst } = numbers(events, { from: 0, to: 3600 * S }, {}, ['PC-01', 'PC-02']);
    expect(worst.map(({ chamber, code, activations, share }) => [chamber, code, activations, share])).toEqual([
      ['PC-01', 'RF_FAULT', 3, 0.75],
      ['PC-02', 'DOOR', 1, 0.25],
    ]);
    const many = Array.from({ length: 15 }, (_, i) => alarm(i * 100 * S, { code: `C${i}` }));
    expect(numbers(many).worst).toHaveLength(10);
  });

  test('[AS5] nothing is known to stand while nobody saw: unobserved time is no standing time', () => {
    const unseen = [state(100 * S, 'unobserved'), state(1900 * S, 'standby')];
    expect(numbers([alarm(0), ...unseen, alarm(2000 * S, { change: 'cleared' })]).worst).toMatchObject([{ standingMs: 200 * S }]);
    expect(numbers([alarm(200 * S), ...unseen]).worst).toMatchObject([{ activations: 1, standingMs: 1700 * S }]);
    const other = [state(0, 'unobserved', 'PC-02'), alarm(0)];
    expect(numbers(other, { from: 0, to: 60 * S }, {}, ['PC-01', 'PC-02']).worst).toMatchObject([{ standingMs: 60 * S }]);
  });

  test('[AS6] twelve alarms across a border of windows are a peak of twelve and one flood, in the window where it starts', () => {
    const events = Array.from({ length: 12 }, (_, i) => alarm((3600 - 250 + i * 30) * S));
    const [before, after] = [numbers(events, { from: 0, to: 3600 * S }), numbers(events, { from: 3600 * S, to: 7200 * S })];
    expect([before.activations, after.activations]).toEqual([9, 3]);
    expect([before.peak10Min, after.peak10Min, after.peakAt]).toEqual([9, 12, (3600 + 80) * S]);
    expect(before.floods).toEqual([]);
    expect(after.floods).toEqual([{ from: (3600 + 50) * S, to: (3350 + 7 * 30 + 600) * S, peak: 12 }]);
  });

  test('[AS6] a flood that goes on into the next window is shown clipped in the first and is none of the second, however long it lasts', () => {
    const long = Array.from({ length: 200 }, (_, i) => alarm(i * 30 * S));
    const [one, two] = [numbers(long, { from: 0, to: 3600 * S }), numbers(long, { from: 3600 * S, to: 7200 * S })];
    expect(one.floods).toEqual([{ from: 300 * S, to: 3600 * S, peak: 20 }]);
    expect([two.floods, two.peak10Min]).toEqual([[], 20]);
  });
});
