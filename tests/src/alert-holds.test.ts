import { describe, expect, test } from 'vitest';
import type { WatchRules } from '../../src/watch-rules.ts';
import { alarm, at, cleared, down, idle, ran, reason, rulesWith, silent, stateOf, tick, told } from './watch-fixture.ts';

const HOLDS = rulesWith({}, ['down', 'waiting', 'stale']);
const run = (inputs: Parameters<typeof ran>[0], rules: WatchRules = HOLDS) => ran(inputs, rules);
const waiting = (minutes: number) => stateOf(minutes, 'standby', 'waiting for unload');

describe('down', () => {
  test('[HD1] is told after half an hour, and over with the next other state', () => {
    const { all } = run([alarm(-0.5), down(0), tick(29.9), tick(31), idle(45)]);
    expect(all.map(({ state, startedAt, closedAt }) => [state, startedAt, closedAt])).toEqual([
      ['open', at(30), null],
      ['closed', at(30), at(45)],
    ]);
    expect(all[0]).toMatchObject({
      id: 'down/PC-01/2026-11-25T12:30:00.000Z',
      headline: 'PC-01: down for 30 min: tripped: RF generator fault.',
      facts: expect.arrayContaining([{ label: 'First alarm', value: 'text of RF_FAULT (RF_FAULT), 25 Nov 11:59' }]) as unknown,
    });
    expect(all[1]?.headline).toBe('PC-01: over. Down for 45 min: tripped: RF generator fault.');
  });

  test('[HD1] goes on through its sub-reasons; with maintenance at work it is told after four hours altogether', () => {
    expect(told(run([down(0), down(20, 'PC-01', 'repair: RF generator fault'), tick(239)]).last)).toEqual([]);
    const long = run([down(0), down(20, 'PC-01', 'repair: RF generator fault'), tick(241)]);
    expect(told(long.last)).toEqual([['down', 'PC-01', 240, null]]);
    expect(long.last[0]?.headline).toBe('PC-01: down for 4 h: repair: RF generator fault.');
  });

  test('[HD1] given back unrepaired, it has half an hour again', () => {
    const inputs = [down(0), down(20, 'PC-01', 'repair: x'), down(100, 'PC-01', 'tripped: x'), tick(129)];
    expect(told(run(inputs).last)).toEqual([]);
    expect(told(run([...inputs, tick(131)]).last)).toEqual([['down', 'PC-01', 130, null]]);
  });

  test('[HD1] time that nobody observed is not counted, and is not its end', () => {
    expect(told(run([down(0), silent(20), down(60), tick(69)]).last)).toEqual([]);
    expect(told(run([down(0), silent(20), down(60), tick(71)]).last)).toEqual([['down', 'PC-01', 70, null]]);
    expect(told(run([down(0), tick(31), silent(40), tick(50)]).last)).toEqual([['down', 'PC-01', 30, null]]);
    expect(told(run([down(0), tick(31), silent(40), idle(60)]).last)).toEqual([['down', 'PC-01', 30, 60]]);
  });

  test('[HD1] outside scheduled time its clock stands still', () => {
    const shifts = [{ name: 'Early', days: ['wed', 'thu'] as const, from: '06:00', to: '12:10' }];
    const rules = { ...HOLDS, calendar: { zone: 'UTC', shifts, holidays: [] } };
    const nextDay = 24 * 60 - 6 * 60 + 20;
    expect(told(run([down(0), tick(nextDay - 1)], rules).last)).toEqual([]);
    expect(told(run([down(0), tick(nextDay + 1)], rules).last)).toEqual([['down', 'PC-01', nextDay, null]]);
  });

  test('[HD3] a person’s reason keeps it from being told for as long as it lasts; taken back, its time begins anew', () => {
    expect(run([down(0), reason(5), tick(600)]).last).toEqual([]);
    expect(told(run([down(0), reason(5, { to: at(60) }), tick(89)]).last)).toEqual([]);
    expect(told(run([down(0), reason(5, { to: at(60) }), tick(91)]).last)).toEqual([['down', 'PC-01', 90, null]]);
    const back = [down(0), reason(5), tick(50), { kind: 'reason-withdrawn', chamber: 'PC-01', at: at(60), entry: 'e1', by: 'x' } as const];
    expect(told(run([...back, tick(89)]).last)).toEqual([]);
    expect(told(run([...back, tick(91)]).last)).toEqual([['down', 'PC-01', 90, null]]);
  });

  test('[HD3] an alert that is open says who told what; of another chamber or another time it does not', () => {
    const told1 = run([down(0), tick(31), reason(0, { enteredAt: at(40) })]).last[0];
    expect(told1?.facts.at(-1)).toEqual({ label: 'Told', value: 'pump exchange, by A. Brandt' });
    expect(told1?.state).toBe('open');
    expect(run([down(0), tick(31), reason(0, { chamber: 'PC-02' })]).last[0]?.facts.map(({ label }) => label)).not.toContain('Told');
    expect(run([down(0), reason(-60, { to: at(-1) }), tick(31)]).last).toHaveLength(1);
  });

  test('[HD4] within a common cause it is not told on its own; what is still down half an hour after its end is', () => {
    const rules = rulesWith({}, ['down', 'common-cause']);
    const chambers = ['PC-01', 'PC-02', 'PC-03'];
    const trips = chambers.flatMap((chamber, i) => [alarm(i / 10, 'WATER', { chamber }), down(i / 10, chamber)]);
    const repaired = ['PC-02', 'PC-03'].flatMap((chamber) => [cleared(40, 'WATER', chamber), idle(40, chamber)]);
    const inputs = [...trips, tick(35), ...repaired, tick(60)];
    expect(told(run(inputs, rules).last)).toEqual([['common-cause', null, 0.2, 50]]);
    expect(told(run([...inputs, tick(81)], rules).last)).toEqual([
      ['common-cause', null, 0.2, 50],
      ['down', 'PC-01', 80, null],
    ]);
  });

  test('a rule that is off tells nothing, a number of the site file counts', () => {
    expect(run([down(0), tick(600)], rulesWith({}, ['waiting'])).last).toEqual([]);
    const rules = {
      ...HOLDS,
      settings: { ...HOLDS.settings, down: { ...HOLDS.settings.down, longerThanMin: 5, severity: 'high' as const } },
    };
    expect(run([down(0), tick(6)], rules).last[0]).toMatchObject({ startedAt: at(5), severity: 'high' });
  });
});

describe('waiting for unload', () => {
  test('[HD1] is told after its time and over when somebody opens it', () => {
    const { all } = run([waiting(0), tick(29), tick(31), stateOf(33, 'productive', 'load or unload')]);
    expect(told(all)).toEqual([
      ['waiting', 'PC-01', 30, null],
      ['waiting', 'PC-01', 30, 33],
    ]);
    expect(run([waiting(0), stateOf(29, 'productive', 'load or unload'), tick(60)]).all).toEqual([]);
    expect(run([stateOf(0, 'standby', 'parked under vacuum'), tick(600)]).all).toEqual([]);
  });

  test('[HD3] the reason told of a stop is none for a load that waits, one of standby is', () => {
    expect(run([waiting(0), reason(1), tick(31)]).last).toHaveLength(1);
    expect(run([waiting(0), reason(1, { state: 'standby', reason: 'no operator' }), tick(31)]).last).toEqual([]);
  });
});

describe('a stale alarm', () => {
  test('[HD2] is told after a day observed, and over when it clears', () => {
    const { all } = run([alarm(0), silent(60), idle(120), tick(24 * 60 + 59), tick(24 * 60 + 61), cleared(1600)]);
    expect(told(all)).toEqual([
      ['stale', 'PC-01', 1500, null],
      ['stale', 'PC-01', 1500, 1600],
    ]);
    expect(all[0]).toMatchObject({
      id: 'stale/PC-01 RF_FAULT/2026-11-26T13:00:00.000Z',
      headline: 'PC-01: text of RF_FAULT (RF_FAULT) has stood for 24 h.',
    });
  });

  test('[HD2] one found standing counts from when it was found; notices do not, nor what is shelved', () => {
    expect(run([alarm(0, 'X', { counted: false }), tick(1500)]).last).toHaveLength(1);
    expect(run([alarm(0, 'X', { notice: true }), tick(1500)]).last).toEqual([]);
    expect(run([alarm(0), alarm(60, 'RF_FAULT', { change: 'suppression', suppressed: true }), tick(1500)]).last).toEqual([]);
  });

  test('[HD2] shelving ends what was told, and what stands when it is over has its day again', () => {
    const shelved = (minutes: number, is: boolean) => alarm(minutes, 'RF_FAULT', { change: 'suppression', suppressed: is });
    const { all } = run([
      alarm(0),
      tick(1441),
      shelved(1500, true),
      tick(3000),
      shelved(3000, false),
      tick(4439),
      tick(4441),
      cleared(4500),
    ]);
    expect(told(all)).toEqual([
      ['stale', 'PC-01', 1440, null],
      ['stale', 'PC-01', 1440, 1500],
      ['stale', 'PC-01', 4440, null],
      ['stale', 'PC-01', 4440, 4500],
    ]);
    expect(all.at(-1)?.headline).toBe('PC-01: over. text of RF_FAULT (RF_FAULT) stood for 75 h.');
    const hidden = alarm(0, 'RF_FAULT', { suppressed: true });
    expect(told(run([hidden, silent(30), idle(60), tick(1600), shelved(1600, false), tick(3041)]).last)).toEqual([
      ['stale', 'PC-01', 3040, null],
    ]);
    expect(run([hidden, silent(30), idle(60), tick(1600), shelved(1600, false), cleared(1700), tick(3041)]).last).toEqual([]);
    expect(run([shelved(0, true), shelved(60, false), tick(1600)]).last).toEqual([]);
  });
});
