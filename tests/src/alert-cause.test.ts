import { describe, expect, test } from 'vitest';
import type { WatchInput } from '../../src/alert-watch.ts';
import { alarm, at, cleared, down, idle, ran, rulesWith, silent, stateOf, tick, told } from './watch-fixture.ts';

const chambers = ['PC-01', 'PC-02', 'PC-03', 'PC-04'];
const utilities = [
  { name: 'Loop South', kind: 'cooling-water', chambers: ['PC-01', 'PC-02', 'PC-03', 'PC-04'] },
  { name: 'House power', kind: 'power', chambers: [...chambers, 'PC-05'] },
] as const;
const RULES = rulesWith({ chambers: [...chambers, 'PC-05'], utilities }, ['common-cause']);
const run = (inputs: readonly WatchInput[], rules = RULES) => ran(inputs, rules);
const water = (minutes: number, chamber: string): WatchInput => alarm(minutes, 'WATER_LOW', { chamber, text: 'Cooling water flow low' });
const three = [water(0, 'PC-01'), water(0.1, 'PC-02'), water(0.2, 'PC-03')];

describe('a common cause', () => {
  test('[CM1] is the same alarm on three chambers within a minute', () => {
    expect(told(run(three).last)).toEqual([['common-cause', null, 0.2, null]]);
    expect(run(three.slice(0, 2)).all).toEqual([]);
    expect(run([water(0, 'PC-01'), water(0.6, 'PC-02'), water(1.1, 'PC-03')]).all).toEqual([]);
    expect(run([water(0, 'PC-01'), water(0.1, 'PC-01'), water(0.2, 'PC-02')]).all).toEqual([]);
    expect(run([water(0.2, 'PC-03'), water(0, 'PC-01'), water(0.1, 'PC-02')]).last[0]?.startedAt).toBe(at(0.2));
  });

  test('[CM1] three chambers that trip within a minute, by whatever alarm', () => {
    const trips = ['PC-01', 'PC-02', 'PC-03'].map((chamber, i) => down(i / 10, chamber, `tripped: alarm ${i}`));
    expect(run(trips).last[0]).toMatchObject({ rule: expect.stringContaining('3 chambers or more tripped within 60 s') as string });
    expect(run(trips.map((event) => ({ ...event, reason: 'repair: x' }))).all).toEqual([]);
  });

  test('[CM1] three chambers that begin a burst within ten minutes', () => {
    const burst = (minutes: number, chamber: string): WatchInput[] =>
      Array.from({ length: 11 }, (_, i) => alarm(minutes + i / 60, `${chamber}${i}`, { chamber }));
    const rules = rulesWith({ chambers, utilities }, ['common-cause', 'burst']);
    const of = (last: number) =>
      run([...burst(0, 'PC-01'), ...burst(4, 'PC-02'), ...burst(last, 'PC-03')], rules).last.filter(({ kind }) => kind === 'common-cause');
    expect(of(8)[0]).toMatchObject({
      headline: expect.stringContaining('an alarm burst at once') as string,
      together: ['PC-01', 'PC-02', 'PC-03'],
    });
    expect(of(11)).toEqual([]);
  });

  test('[CM1] notices and a chattering alarm are none', () => {
    expect(run(three.map((event) => ({ ...event, notice: true }) as WatchInput)).all).toEqual([]);
    const rules = rulesWith({ chambers, utilities }, ['common-cause', 'chattering']);
    const chatter = [-9.4, -9.2, -9].map((minutes) => water(minutes, 'PC-01'));
    expect(run([...chatter, ...three], rules).last.map(({ kind }) => kind)).toEqual(['chattering']);
  });

  test('[CM2] names what the chambers share and what came first', () => {
    const [cause] = run([alarm(-0.2, 'PUMP', { chamber: 'PC-02', text: 'Pump hot' }), ...three]).last;
    expect(cause).toMatchObject({
      id: 'common-cause/WATER_LOW/2026-11-25T12:00:12.000Z',
      severity: 'high',
      shares: 'cooling water (Loop South)',
      together: ['PC-01', 'PC-02', 'PC-03'],
      alarms: { count: 4, firstOut: { chamber: 'PC-02', code: 'PUMP' } },
      headline:
        '3 chambers (PC-01, PC-02, PC-03): Cooling water flow low at once. They share cooling water (Loop South). First: Pump hot at PC-02 (PUMP).',
    });
    expect(run(three, { ...RULES, utilities: [] }).last[0]).toMatchObject({
      shares: null,
      headline: expect.stringContaining('knows nothing') as string,
    });
  });

  test('[CM3] another chamber joins with the same alarm later, with any alarm in the first minute where it hangs on the same supply', () => {
    const members = (more: WatchInput): unknown => run([...three, more]).last[0]?.together;
    expect(members(water(9, 'PC-04'))).toEqual(chambers);
    expect(members(water(11, 'PC-04'))).toEqual(['PC-01', 'PC-02', 'PC-03']);
    expect(members(alarm(1, 'RF', { chamber: 'PC-04' }))).toEqual(chambers);
    expect(members(alarm(2, 'RF', { chamber: 'PC-04' }))).toEqual(['PC-01', 'PC-02', 'PC-03']);
    expect(members(alarm(1, 'RF', { chamber: 'PC-05' }))).toEqual(['PC-01', 'PC-02', 'PC-03']);
    expect(run([...three, alarm(3, 'RF')]).last[0]?.alarms).toMatchObject({
      count: 4,
      top: expect.arrayContaining([expect.objectContaining({ code: 'RF' })]) as unknown,
    });
  });

  test('[CM3] of alarms that as many chambers raised the one that names a supply tells', () => {
    const both = ['PC-01', 'PC-02', 'PC-03'].flatMap((chamber, i) => [
      alarm(i / 10, 'PUMP', { chamber, text: 'Pump tripped' }),
      alarm(i / 10, 'DIP', { chamber, text: 'Supply dip detected' }),
    ]);
    expect(run(both).last[0]).toMatchObject({
      shares: 'power (House power)',
      headline: expect.stringContaining('Supply dip detected at once') as string,
    });
  });

  test('[CM4] it is over ten minutes after its last shared word, once the alarm stands on one chamber at most', () => {
    expect(run([...three, tick(60)]).last[0]?.state).toBe('open');
    const off = ['PC-01', 'PC-02'].map((chamber) => cleared(20, 'WATER_LOW', chamber));
    expect(told(run([...three, ...off, alarm(25, 'RF'), tick(60)]).last)).toEqual([['common-cause', null, 0.2, 30]]);
    expect(run([...three, ...off, tick(29)]).last[0]?.state).toBe('open');
    expect(told(run([...three, silent(5), silent(6, 'PC-02'), tick(60)]).last)).toEqual([['common-cause', null, 0.2, 16]]);
    const over = run([...three, ...off, tick(60)]).last[0];
    expect(over?.headline).toBe('Over: 3 chambers (PC-01, PC-02, PC-03): Cooling water flow low, for 20 min, 3 alarms.');
  });

  test('[CM4] chambers that tripped together are over when they run again', () => {
    const trips = ['PC-01', 'PC-02', 'PC-03'].map((chamber, i) => down(i / 10, chamber));
    expect(run([...trips, tick(60)]).last[0]?.state).toBe('open');
    const back = [idle(20), stateOf(25, 'productive', 'run', 'PC-02')];
    expect(told(run([...trips, ...back, tick(60)]).last)).toEqual([['common-cause', null, 0.2, 35]]);
  });
});
