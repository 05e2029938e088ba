import { describe, expect, test } from 'vitest';
import {
  addElsewhere,
  addTimes,
  dependentUptimes,
  downtimeElsewhere,
  downtimeMs,
  manufacturingMs,
  operationsMs,
  shares,
  stateTimes,
  totalMs,
  uptimeMs,
} from '../../src/utilization.ts';
import type { DowntimeKind } from '../../src/equipment.ts';
import type { StateTimes } from '../../src/numbers.ts';
import { HOUR_MS } from '../../src/zone.ts';
import { noHours, random } from './random-history.ts';

const hours = (part: Partial<StateTimes>): StateTimes =>
  Object.fromEntries(Object.entries({ ...noHours(), ...part }).map(([state, h]) => [state, h * HOUR_MS])) as StateTimes;

/** One week of 168 hours. */
const U1 = hours({ productive: 96, standby: 24, engineering: 8, 'scheduled-downtime': 12, 'unscheduled-downtime': 8, nonscheduled: 20 });
const U5 = { ...U1, standby: 20 * HOUR_MS, unobserved: 4 * HOUR_MS };

describe('utilization', () => {
  test('[UT1] U1: the six states sum to total 168, operations 148, uptime 128, manufacturing 120, downtime 20 h (hierarchy: OPC UA Machine Vision 11.6.1; own numbers)', () => {
    expect([totalMs(U1), operationsMs(U1), uptimeMs(U1), manufacturingMs(U1), downtimeMs(U1)].map((ms) => ms / HOUR_MS)).toEqual([
      168, 148, 128, 120, 20,
    ]);
  });

  test('[UT1] intervals of one state add up, states apart', () => {
    const interval = (from: number, to: number, state: 'standby' | 'productive') =>
      ({ chamber: 'PC-01', from, to, state, reason: 'x', source: 'tag', run: null, entry: null, downtime: null, observed: null }) as const;
    expect(stateTimes([interval(0, 5, 'standby'), interval(5, 12, 'productive'), interval(12, 13, 'standby')])).toEqual({
      ...noHours(),
      standby: 6,
      productive: 7,
    });
  });

  test('[UT2] U2: total utilization 57.142857, operational 64.864865, operational uptime 86.486486, total uptime 76.190476 % (SEMI E10, from memory)', () => {
    const { totalUtilization, operationalUtilization, operationalUptime, totalUptime } = shares(U1);
    const expected = [57.142857, 64.864865, 86.486486, 76.190476];
    [totalUtilization, operationalUtilization, operationalUptime, totalUptime].forEach((share, i) => {
      expect(100 * (share.value as number)).toBeCloseTo(expected[i] as number, 6);
      expect([share.coverage, share.low, share.high]).toEqual([1, share.value, share.value]);
    });
    expect([totalUtilization.base, totalUtilization.baseMs, operationalUtilization.base, operationalUtilization.baseMs]).toEqual([
      'total time',
      168 * HOUR_MS,
      'operations time',
      148 * HOUR_MS,
    ]);
  });

  test('[UT2] [UT3] U5: 4 h unobserved give coverage .9761905, value .5853659, bounds .5714286 to .5952381 (own, on OPC UA part 13, 5.4.3.23)', () => {
    const { totalUtilization } = shares(U5);
    expect(totalUtilization.coverage).toBeCloseTo(0.9761905, 7);
    expect(totalUtilization.value).toBeCloseTo(0.5853659, 7);
    expect(totalUtilization.low).toBeCloseTo(0.5714286, 7);
    expect(totalUtilization.high).toBeCloseTo(0.5952381, 7);
  });

  test('[UT3] every share lies in its bounds however the unobserved time is given back to the six states', () => {
    const chance = random(11);
    for (let i = 0; i < 500; i++) {
      const seen = Object.fromEntries(Object.keys(noHours()).map((state) => [state, Math.floor(chance() * 50)])) as StateTimes;
      const given = { ...seen, unobserved: 0 };
      for (let ms = 0; ms < seen.unobserved; ms++)
        given[
          (['productive', 'standby', 'engineering', 'scheduled-downtime', 'nonscheduled'] as const)[
            Math.floor(chance() * chance() * 5)
          ] as 'standby'
        ] += 1;
      const [bounds, truth] = [shares(seen), shares(given)];
      for (const name of ['totalUtilization', 'operationalUtilization', 'totalUptime', 'operationalUptime'] as const) {
        const value = truth[name].value;
        if (value === null) continue;
        expect(value).toBeGreaterThanOrEqual((bounds[name].low as number) - 1e-12);
        expect(value).toBeLessThanOrEqual((bounds[name].high as number) + 1e-12);
      }
    }
  });

  test('[UT4] under 80 % coverage there is no value, but bounds; at 80 % there is one', () => {
    const under = shares(hours({ productive: 40, standby: 39, unobserved: 21 })).totalUtilization;
    expect([under.value, under.low, under.high, under.coverage]).toEqual([null, 0.4, 0.61, 0.79]);
    expect(shares(hours({ productive: 40, standby: 40, unobserved: 20 })).totalUtilization.value).toBe(0.5);
  });

  test('[UT4] nothing to divide by gives nulls, not zero: no time at all, or only nonscheduled time', () => {
    expect(shares(noHours()).totalUtilization).toMatchObject({ value: null, low: null, high: null, coverage: null, baseMs: 0 });
    const closed = shares(hours({ nonscheduled: 168 }));
    expect(closed.operationalUtilization).toMatchObject({ value: null, low: null, high: null, coverage: null });
    expect(closed.totalUtilization.value).toBe(0);
    expect(shares(hours({ nonscheduled: 100, unobserved: 20 })).operationalUtilization).toMatchObject({
      value: null,
      low: 0,
      high: 1,
      coverage: 0,
    });
  });

  test('[UT5] two chambers: hours are added, then divided (90 of 100 and 10 of 50 are 66.7 %, not 55 %)', () => {
    const sum = addTimes([hours({ productive: 90, standby: 10 }), hours({ productive: 10, standby: 40 })]);
    expect(shares(sum).totalUtilization.value).toBeCloseTo(100 / 150, 12);
  });

  test('[UT6] U8: 2 h of downtime laid elsewhere for the equipment, 1 h for its supplier: 87.671233 and 87.074830 % (SEMI E10, from memory / second hand)', () => {
    const found = dependentUptimes(U1, { equipmentMs: 2 * HOUR_MS, supplierMs: HOUR_MS, unexplainedMs: 0 });
    expect(100 * (found.equipmentDependentUptime.value ?? 0)).toBeCloseTo(87.671233, 6);
    expect(100 * (found.supplierDependentUptime.value ?? 0)).toBeCloseTo(87.07483, 6);
  });

  test('[UT6] which reasons lay downtime elsewhere, and what nobody explained opens the upper bound alone', () => {
    const down = (hours: number, downtime: DowntimeKind | null, source: 'signal' | 'person' = 'person') =>
      ({
        chamber: 'PC-01',
        from: 0,
        to: hours * HOUR_MS,
        state: 'unscheduled-downtime',
        reason: '',
        source,
        run: null,
        entry: null,
        downtime,
        observed: null,
      }) as const;
    const elsewhere = downtimeElsewhere([
      down(1, 'user-delay'),
      down(2, 'supplier-delay'),
      down(4, 'facilities'),
      down(8, 'out-of-spec-input'),
      down(16, 'repair'),
      down(32, null, 'signal'),
    ]);
    expect(elsewhere).toEqual({ equipmentMs: 15 * HOUR_MS, supplierMs: 13 * HOUR_MS, unexplainedMs: 32 * HOUR_MS });
    expect(addElsewhere([elsewhere, elsewhere]).supplierMs).toBe(26 * HOUR_MS);
    const { equipmentDependentUptime: share } = dependentUptimes(U1, { equipmentMs: 0, supplierMs: 0, unexplainedMs: 8 * HOUR_MS });
    expect([share.value, share.low, share.high]).toEqual([128 / 148, 128 / 148, 128 / 140]);
  });
});
