import { expect, test } from 'vitest';
import type { StateTimes } from '../../src/numbers.ts';
import { dependentUptime, reliability } from '../../src/reliability.ts';
import { HOUR_MS } from '../../src/zone.ts';
import { noHours } from './random-history.ts';

const H = HOUR_MS;
const U1: StateTimes = {
  ...noHours(),
  productive: 96 * H,
  standby: 24 * H,
  engineering: 8 * H,
  'scheduled-downtime': 12 * H,
  'unscheduled-downtime': 8 * H,
  nonscheduled: 20 * H,
};

test('[RY1] U3: 4 failures, 12 assists, 90 cycles, 6.5 h of repair, 7 downtime events (SEMI E10, from memory; own numbers)', () => {
  const found = reliability(U1, { failures: 4, assists: 12, cycles: 90, repairMs: 6.5 * H, downtimeEvents: 7 });
  expect(found).toEqual({
    mtbfProductiveH: 24,
    mtbfUptimeH: 32,
    mtbAssistsH: 8,
    cyclesBetweenFailures: 22.5,
    mttrH: 1.625,
    meanOfflineH: 20 / 7,
  });
  expect(found.meanOfflineH).toBeCloseTo(2.857143, 6);
});

test('[RY1] without a failure there is no mean time between failures: null, neither zero nor infinity', () => {
  expect(reliability(U1, { failures: 0, assists: 0, cycles: 90, repairMs: 0, downtimeEvents: 0 })).toEqual({
    mtbfProductiveH: null,
    mtbfUptimeH: null,
    mtbAssistsH: null,
    cyclesBetweenFailures: null,
    mttrH: null,
    meanOfflineH: null,
  });
});

test("[RY2] U8: uptime without 2.0 h or 1.0 h of others' downtime is 87.671233 or 87.074830 % (SEMI E10, from memory; supplier form known second-hand)", () => {
  expect(100 * (dependentUptime(U1, 2 * H) as number)).toBeCloseTo(87.671233, 6);
  expect(100 * (dependentUptime(U1, 1 * H) as number)).toBeCloseTo(87.07483, 6);
  expect(dependentUptime(noHours(), 0)).toBeNull();
});
