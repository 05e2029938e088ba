import { describe, expect, test } from 'vitest';
import { interrupts, type Interrupt } from '../../src/interrupts.ts';
import type { StateTimes } from '../../src/numbers.ts';
import { failureTimes, reliabilityNumbers, trend } from '../../src/reliability-numbers.ts';
import { HOUR_MS } from '../../src/zone.ts';
import { noHours } from './random-history.ts';
import { MIN, stretches } from './stretches.ts';

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
const stop = (kind: Interrupt['kind'], downMs: number, change: Partial<Interrupt> = {}): Interrupt => ({
  chamber: 'PC-01',
  from: 0,
  to: downMs,
  kind,
  inProduction: true,
  cut: false,
  open: false,
  downMs,
  delayMs: 0,
  reason: 'tripped',
  run: null,
  ...change,
});
const times = (count: number, kind: Interrupt['kind']): Interrupt[] => Array.from({ length: count }, () => stop(kind, 1.625 * H));

describe('reliability of a window', () => {
  test('[RB1] U3 from its stops: 4 failures, 12 assists, 90 cycles, 6.5 h of repair, 7 downtime events (SEMI E10, from memory; own numbers)', () => {
    const stops = [...times(4, 'failure'), ...times(12, 'assist')];
    const found = reliabilityNumbers(U1, { stops, downtimeEvents: 7, cycles: 90, failureTimesMs: [] });
    const inHours = [found.mtbfProductive, found.mtbfUptime, found.mtbAssists, found.mttr, found.meanOffline].map(
      ({ estimate }) => (estimate ?? 0) / H,
    );
    expect(inHours).toEqual([24, 32, 8, 1.625, 20 / 7]);
    expect(found.cyclesBetweenFailures).toMatchObject({ estimate: 22.5, unit: 'cycles' });
  });

  test('[RB2] R5 through the window: 96 productive hours, 4 failures, 90 %: 10.48777 to 70.26181 h (NIST e-Handbook 8.4.5.1)', () => {
    const { mtbfProductive } = reliabilityNumbers(U1, { stops: times(4, 'failure'), downtimeEvents: 4, cycles: 90, failureTimesMs: [] });
    expect([(mtbfProductive.low ?? 0) / H, (mtbfProductive.high ?? 0) / H].map((h) => h.toFixed(5))).toEqual(['10.48777', '70.26181']);
    expect(mtbfProductive.confidence).toBe(0.9);
    expect(mtbfProductive.rule).toMatch(/SEMI E10 \(from memory\).*NIST e-Handbook 8\.4\.5\.1/);
  });

  test('[RB2] without a failure there is a lower bound and nothing else: 96 h give 41.69 h at 90 % (multiplier .4343)', () => {
    const found = reliabilityNumbers(U1, { stops: [], downtimeEvents: 0, cycles: 90, failureTimesMs: [] });
    expect(found.mtbfProductive).toMatchObject({ estimate: null, high: null, sides: 'lower only', count: 0 });
    expect((found.mtbfProductive.low ?? 0) / H).toBeCloseTo(96 * 0.4343, 2);
    expect(found.mttr).toMatchObject({ estimate: null, low: null, high: null });
  });

  test('[RB3] MTBFp counts failures in production, MTBFu all of them', () => {
    const stops = [...times(2, 'failure'), stop('failure', H, { inProduction: false }), stop('external', H)];
    const found = reliabilityNumbers(U1, { stops, downtimeEvents: 4, cycles: 90, failureTimesMs: [] });
    expect([found.mtbfProductive.estimate, found.mtbfUptime.estimate]).toEqual([48 * H, (128 * H) / 3]);
    expect([found.failures, found.failuresInProduction, found.external]).toEqual([3, 2, 1]);
  });

  test('[RB1] a stop that is cut or still on is a failure without a repair', () => {
    const stops = [stop('failure', 2 * H), stop('failure', 9 * H, { cut: true }), stop('failure', 9 * H, { open: true })];
    expect(reliabilityNumbers(U1, { stops, downtimeEvents: 3, cycles: 9, failureTimesMs: [] })).toMatchObject({
      failures: 3,
      cut: 1,
      open: 1,
      repairs: 1,
      repairMs: 2 * H,
    });
  });

  test('[RB4] NIST 8.2.3.4: the ten repairs up to 1,500 h improve by two tests of three (data and figures seen)', () => {
    const found = trend([5, 40, 43, 175, 389, 712, 747, 795, 1299, 1478], 1500);
    expect(found).toMatchObject({ failures: 10, verdict: 'improving' });
    expect(found?.tests.map(({ statistic }) => statistic.toFixed(4))).toEqual(['33.0000', '37.2281', '-1.3269']);
  });

  test('[RB4] fewer than four failures have no trend, evenly spread ones show none, and failures that come closer together worsen', () => {
    expect(trend([1, 2, 3], 10)).toBeNull();
    expect(trend([10, 20, 30, 40, 50, 60], 70)?.verdict).toBe('no trend shown');
    const closer = [500, 800, 1000, 1150, 1250, 1320, 1380, 1420, 1450, 1480];
    expect(trend(closer, 1500)?.verdict).toBe('worsening');
  });

  test('[RB4] thousands of failures are not ordered for ever: the two other tests decide', () => {
    const found = trend(
      Array.from({ length: 5000 }, (_, i) => i + 0.5),
      5000,
    );
    expect(found?.tests.map(({ name }) => name)).toEqual(['military handbook, chi-square', 'Laplace, z']);
  });

  test('[RB4] the time axis is productive time of all chambers, so that a weekend is no long life', () => {
    const trip = [10, 'unscheduled-downtime', 'tripped'] as const;
    const run = [30, 'productive', 'run'] as const;
    const one = stretches([run, trip, run, trip, [3000, 'nonscheduled', 'no shift planned'], run, trip, run, trip]);
    const other = stretches([
      [90, 'productive', 'run'],
      [10, 'standby', 'idle'],
      [3080, 'productive', 'run'],
    ]);
    const stops = interrupts(one);
    // At 30, 70, 3110 and 3150 minutes: own productive time 30, 60, 90, 120 and the other chamber's 30, 70, 3100, 3140.
    expect(failureTimes(stops, [one, other]).map((ms) => ms / MIN)).toEqual([60, 130, 3190, 3260]);
    expect(failureTimes(stops.slice(0, 3), [one])).toEqual([]);
  });
});
