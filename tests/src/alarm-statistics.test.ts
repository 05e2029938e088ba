import { describe, expect, test } from 'vitest';
import type { AlarmLoad } from '../../src/alarm-answer.ts';
import { alarmStatistics, bunching } from '../../src/alarm-statistics.ts';
import { alarmTargets } from '../../src/alarm-targets.ts';
import type { AlarmSubject } from '../../src/alarm-stats.ts';
import type { EquipmentState } from '../../src/equipment.ts';
import type { AlarmEvent, StoredEvent } from '../../src/event.ts';
import { fleetFacts } from '../../src/facts.ts';
import { stateIntervals } from '../../src/interval.ts';

const S = 1000;
const MIN = 60 * S;
const HOUR = 3600 * S;
const DAY = 24 * HOUR;
const WINDOW = { from: 0, to: 7 * DAY };
const A1_S = [0, 30, 60, 90, 120, 150, 180, 210, 240, 270, 300, 500, 700];

let seq = 0;
const alarm = (at: number, part: Partial<AlarmEvent> = {}): StoredEvent => ({
  ...{ kind: 'alarm', chamber: 'PC-01', at, code: 'RF_FAULT', text: 'RF generator fault', priority: 'high', notice: false },
  ...{ change: 'activated', counted: true, suppressed: false },
  ...part,
  seq: ++seq,
});
const state = (at: number, name: EquipmentState, chamber = 'PC-01'): StoredEvent => ({
  ...{ kind: 'equipment-state', chamber, at, state: name, reason: name, source: 'signal', run: null },
  seq: ++seq,
});

function subjectsOf(events: readonly StoredEvent[], chambers: readonly string[], window = WINDOW): AlarmSubject[] {
  const all = [...chambers.map((chamber) => state(-2 * DAY, 'standby', chamber)), ...events];
  const heardUntil = Object.fromEntries(chambers.map((chamber) => [chamber, window.to]));
  return fleetFacts({ chambers, events: all, heardUntil }).map((facts) => ({ facts, intervals: stateIntervals(facts, window, []) }));
}
const loadOf = (events: readonly StoredEvent[], chambers = ['PC-01'], window = WINDOW): AlarmLoad =>
  alarmStatistics(subjectsOf(events, chambers, window), [], window).positions[0] as AlarmLoad;
const valueOf = (load: AlarmLoad, name: string): number | null | undefined => load.lines.find((line) => line.name === name)?.value;

describe('alarm statistics of a window', () => {
  test('[AT1] [AN1] A1: one flood from 300 to 840 s with peak 12, .0892857 % of a week, told with what came first (ISA-18.2, known second-hand; own data)', () => {
    const load = loadOf(A1_S.map((s) => alarm(s * S, { code: s === 0 ? 'PUMP_FAULT' : 'RF_FAULT' })));
    expect(load.floods).toMatchObject([{ from: 300 * S, to: 840 * S, peak: 12, activations: 13, startedBefore: false, goesOn: false }]);
    expect(load.floods[0]?.first?.code).toBe('PUMP_FAULT');
    expect(load.floods[0]?.top.map(({ code, count }) => [code, count])).toEqual([
      ['RF_FAULT', 12],
      ['PUMP_FAULT', 1],
    ]);
    expect(100 * (valueOf(load, 'time in flood') as number)).toBeCloseTo(0.0892857, 7);
    expect(load.name).toBe('whole hall');
  });

  test('[AT3] A1: fixed bins hold 12 and 1, so one period of the 1008 of a week is above ten, while the trailing count peaks at 12', () => {
    const load = loadOf(A1_S.map((s) => alarm(s * S)));
    expect(valueOf(load, '10-minute periods above 10')).toBeCloseTo(1 / 1008, 12);
    expect(valueOf(load, 'most in any 10 min')).toBe(12);
    const shifted = loadOf(A1_S.map((s) => alarm((s + 450) * S)));
    expect([valueOf(shifted, '10-minute periods above 10'), valueOf(shifted, 'most in any 10 min')]).toEqual([0, 12]);
  });

  test('[AT3] thirty-one in a fixed hour are above 30, thirty are not', () => {
    const hour = (n: number): StoredEvent[] => Array.from({ length: n }, (_, i) => alarm(HOUR + i * MIN));
    expect(valueOf(loadOf(hour(31)), 'hours above 30')).toBeCloseTo(1 / 168, 12);
    expect(valueOf(loadOf(hour(30)), 'hours above 30')).toBe(0);
  });

  test('[AT2] A6: 150 a day are 6.25 an hour and 1.0417 in ten minutes, just at the target of a day; unobserved time is not divided by (ISA-18.2, known second-hand)', () => {
    const day = { from: 0, to: DAY };
    const events = Array.from({ length: 150 }, (_, i) => alarm(i * 5 * MIN));
    const load = loadOf(events, ['PC-01'], day);
    expect([valueOf(load, 'alarms per day'), valueOf(load, 'alarms per hour')]).toEqual([150, 6.25]);
    expect(valueOf(load, 'alarms per 10 min')).toBeCloseTo(1.0417, 4);
    expect(load.lines.map(({ verdict }) => verdict).slice(0, 3)).toEqual(['within target', 'above target', 'above target']);
    const half = loadOf([...events, state(12.5 * HOUR, 'unobserved')], ['PC-01'], day);
    expect(half.coverage).toBeCloseTo(12.5 / 24, 12);
    expect(valueOf(half, 'alarms per hour')).toBe(12);
    expect(loadOf([...events, state(0, 'unobserved')], ['PC-01'], day).lines.map(({ verdict }) => verdict)).toEqual(
      Array(13).fill('not known'),
    );
  });

  test('[AT5] shares of periods and of flood time are of the time in which any chamber of the position was observed', () => {
    const events = A1_S.map((s) => alarm(s * S));
    const dark = state(DAY, 'unobserved', 'PC-02');
    const load = loadOf([...events, dark], ['PC-01', 'PC-02']);
    expect(valueOf(load, '10-minute periods above 10')).toBeCloseTo(1 / 1008, 12);
    expect(valueOf(load, 'alarms per day')).toBeCloseTo(13 / 4, 12);
    const both = loadOf([...events, dark, state(2 * DAY, 'unobserved')], ['PC-01', 'PC-02']);
    expect(valueOf(both, '10-minute periods above 10')).toBeCloseTo(1 / 288, 12);
    const few = Array.from({ length: 40 }, (_, i) => alarm(i * S));
    const short = loadOf(few, ['PC-01'], { from: 0, to: 5 * MIN });
    expect([valueOf(short, '10-minute periods above 10'), valueOf(short, 'hours above 30')]).toEqual([1, 1]);
  });

  test('[AT4] stale is what stood for more than a day of observed time; a day of it unseen is none', () => {
    const stood = [alarm(HOUR, { code: 'OIL' }), alarm(26 * HOUR, { code: 'OIL', change: 'cleared' })];
    expect(loadOf(stood).stale).toMatchObject([{ code: 'OIL', since: HOUR, observedMs: 25 * HOUR, stands: false }]);
    const unseen = [state(2 * HOUR, 'unobserved'), state(4 * HOUR, 'standby')];
    expect(loadOf([...stood, ...unseen]).stale).toEqual([]);
    expect(loadOf([alarm(HOUR)]).stale).toMatchObject([{ stands: true }]);
  });

  test('[AN2] the mix of priorities is of what counts, beside 80, 15 and 5 % (ISA-18.2, known second-hand)', () => {
    const events = (['high', 'low', 'low', 'medium'] as const).map((priority, i) => alarm(i * HOUR, { priority, code: `C${i}` }));
    const { mix } = loadOf([...events, alarm(DAY, { notice: true, priority: 'low' })]);
    expect(mix).toEqual([
      { priority: 'high', activations: 1, share: 0.25, target: 0.05 },
      { priority: 'medium', activations: 1, share: 0.25, target: 0.15 },
      { priority: 'low', activations: 2, share: 0.5, target: 0.8 },
    ]);
    expect(loadOf([]).mix[0]?.share).toBeNull();
  });

  test('[AN3] one in each period is not bunched; the same many in a few periods are, and make periods above ten likely', () => {
    const even = Array.from({ length: 1008 }, (_, i) => i * 10 * MIN);
    expect(bunching(even, 1008).dispersion).toBeCloseTo(0, 12);
    // A7: mean 1 a period, eleven or more by chance alone, by hand: sum of e^-1/n! from 11 on.
    expect(bunching(even, 1008).aboveTenAlone).toBeCloseTo(1.00478e-8, 12);
    const heaped = Array.from({ length: 1008 }, (_, i) => Math.floor(i / 12) * 120 * MIN + (i % 12) * S);
    const found = bunching(heaped, 1008);
    // 84 periods of 12, 924 of none: variance (84*144 - 1008) / 1007.
    expect(found.dispersion).toBeCloseTo((84 * 144 - 1008) / 1007, 10);
    expect(found.aboveTenBunched).toBeGreaterThan(0.01);
    expect(bunching([], 100).dispersion).toBeNull();
    // Five alarms in five fixed periods, of which only four and a half were observed.
    expect(bunching(even.slice(0, 5), 4.5).dispersion).toBe(0);
  });

  test('[AN4] notices, suppressed alarms and those found standing are told beside the rates and are in none', () => {
    const load = loadOf([
      alarm(HOUR),
      alarm(2 * HOUR, { notice: true }),
      alarm(3 * HOUR, { suppressed: true }),
      alarm(4 * HOUR, { counted: false }),
      alarm(5 * HOUR, { counted: false }),
    ]);
    expect([load.activations, load.notices, load.suppressed, load.foundStanding]).toEqual([1, 1, 1, 2]);
    expect(valueOf(load, 'alarms per day')).toBeCloseTo(1 / 7, 12);
  });

  test('[AN1] a flood across the begin of the window is cut to it and says that it had started before', () => {
    const events = Array.from({ length: 40 }, (_, i) => alarm((i - 20) * 30 * S));
    expect(loadOf(events).floods).toMatchObject([{ from: 0, startedBefore: true, goesOn: false, peak: 20 }]);
  });

  test('[AT1] each position has its own lines; the page of a week shows the same numbers', () => {
    const subjects = subjectsOf([alarm(HOUR), alarm(2 * HOUR, { chamber: 'PC-02' })], ['PC-01', 'PC-02']);
    const positions = [
      { name: 'north', chambers: ['PC-01'] },
      { name: 'both', chambers: ['PC-01', 'PC-02'] },
    ];
    const found = alarmStatistics(subjects, positions, WINDOW);
    expect(found.positions.map(({ name, activations }) => [name, activations])).toEqual([
      ['north', 1],
      ['both', 2],
    ]);
    expect(found.chambers.map(({ name }) => name)).toEqual(['PC-01', 'PC-02']);
    expect(alarmTargets(subjects, positions, WINDOW)).toEqual(found.positions.flatMap(({ lines }) => lines.slice(0, 9)));
  });

  test('a hunting match is the worst: it chatters by every rule but the slow one, has its bout, and an off-delay would quiet it', () => {
    const hunting = Array.from({ length: 60 }, (_, i) => [
      alarm(DAY + i * 15 * S, { code: 'RF_REFL_HIGH', priority: 'medium' }),
      alarm(DAY + (i * 15 + 12) * S, { code: 'RF_REFL_HIGH', priority: 'medium', change: 'cleared' }),
    ]).flat();
    const [worst] = loadOf([...hunting, alarm(3 * DAY), alarm(5 * DAY)]).worst;
    expect(worst).toMatchObject({ code: 'RF_REFL_HIGH', activations: 60, medianActiveMs: 12 * S, fleeting: 0 });
    expect(worst?.chatter).toMatchObject({ hits: 58, slow: false, byIndex: true });
    expect(worst?.advice?.offDelay).toMatchObject({ ms: 5 * S, removed: 59, delayed: 0 });
  });
});
