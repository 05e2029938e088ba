import { describe, expect, test } from 'vitest';
import { addWork, effectiveness, isoFigures, NO_WORK, nominalTimes, workOf } from '../../src/effectiveness.ts';
import type { StateTimes } from '../../src/numbers.ts';
import { HOUR_MS } from '../../src/zone.ts';
import { noHours } from './random-history.ts';
import { MIN, run, stretches } from './stretches.ts';

const H = HOUR_MS;
const hours = (part: Partial<StateTimes>): StateTimes =>
  Object.fromEntries(Object.entries({ ...noHours(), ...part }).map(([state, h]) => [state, h * H])) as StateTimes;
const U1 = hours({ productive: 96, standby: 24, engineering: 8, 'scheduled-downtime': 12, 'unscheduled-downtime': 8, nonscheduled: 20 });
/** 90 runs of one theoretical hour. */
const U4 = { ...NO_WORK, loads: 90, theoreticalMs: 90 * H };

describe('effectiveness', () => {
  test('[EF1] nominal is the process time that a tenth of the recipe’s loads beat (NIST type 6), of loads alone', () => {
    const lasting = (minutes: number, change = {}) => run(100 * H, { startedAt: 100 * H - minutes * MIN, ...change });
    const runs = [30, 31, 32, 33, 34, 35, 36, 37, 38].map((minutes) => lasting(minutes));
    const found = nominalTimes([
      ...runs,
      lasting(1, { outcome: 'aborted' }),
      lasting(2, { engineering: true }),
      lasting(50, { recipe: 'ETB-RF-43' }),
    ]);
    expect([...found].map(([recipe, { ms, loads }]) => [recipe, ms / MIN, loads])).toEqual([
      ['DSM-PI-25', 30, 9],
      ['ETB-RF-43', 50, 1],
    ]);
  });

  test('[EF2] U4 without its quality: AE .7619048 x OE .75 x RE .9375 = 90/168; of planned busy time 90/136 (E79 from memory, ISO seen)', () => {
    const [e79, iso] = effectiveness(U1, U4);
    expect(e79?.factors.map(({ value }) => value?.toFixed(7))).toEqual(['0.7619048', '0.7500000', '0.9375000']);
    expect([e79?.value, e79?.base, iso?.base]).toEqual([90 / 168, 'total time', 'planned busy time']);
    expect(iso?.value).toBeCloseTo(90 / 136, 12);
    for (const one of [e79, iso]) {
      expect(one?.factors.reduce((product, { value }) => product * (value ?? 0), 1)).toBeCloseTo(one?.value ?? 0, 12);
      expect([one?.quality, one?.name]).toEqual(['not known', 'OEE without quality']);
      expect(one?.rule).toContain('quality is not known');
    }
  });

  test('[EF3] four unobserved hours and a run of one hour half seen: between 90/168 and 95/168 of total time', () => {
    const [found] = effectiveness({ ...U1, standby: 20 * H, unobserved: 4 * H }, { ...U4, unsureMs: H });
    expect([found?.low, found?.value, found?.high]).toEqual([90 / 168, 90 / 164, 95 / 168]);
    expect(found?.coverage).toBeCloseTo(164 / 168, 12);
  });

  test('[EF3] under 80 % observed there is no value, the bounds stay', () => {
    const [found] = effectiveness(hours({ productive: 10, unobserved: 10 }), { ...U4, theoreticalMs: 8 * H });
    expect([found?.value, found?.low, found?.high]).toEqual([null, 0.4, 0.9]);
  });

  test('[EF4] figures with an input that nobody tells have no value and say which; the others have their formula', () => {
    const found = isoFigures(U1, { ...U4, delayedMs: 4 * H });
    const value = (name: string) => found.find((one) => one.name === name)?.value;
    expect(value('availability')).toBeCloseTo(96 / 136, 12);
    expect(value('technical efficiency')).toBe(0.96);
    expect(value('allocation efficiency')).toBe(100 / 136);
    expect(value('corrective maintenance ratio')).toBe(0.4);
    expect(value('throughput')).toBeCloseTo(90 / 136, 12);
    for (const { value: known, missing } of found) expect(known === null).toBe(missing !== null);
    expect(found.filter(({ missing }) => missing).map(({ name }) => name)).toContain('OEE index');
  });

  test('[EF4] delay during an order is unscheduled downtime inside a run', () => {
    const intervals = stretches([
      [10, 'unscheduled-downtime', 'stopped', { run: 'PC-01/a' }],
      [20, 'unscheduled-downtime', 'tripped'],
    ]);
    const runs = [run(H), run(2 * H, { outcome: 'not-fully-observed' }), run(3 * H, { recipe: 'NEW' })];
    const work = workOf(runs, intervals, new Map([['DSM-PI-25', { ms: 30 * MIN, loads: 9 }]]));
    expect(work).toEqual({ loads: 2, theoreticalMs: 30 * MIN, unsureMs: 30 * MIN, delayedMs: 10 * MIN });
    expect(addWork([work, work]).delayedMs).toBe(20 * MIN);
  });
});
