import { describe, expect, test } from 'vitest';
import { burstBaseline, type ClassBaseline, closeBelow, collapsed } from '../../src/burst.ts';
import type { StateInterval } from '../../src/contract.ts';
import type { AlarmEvent } from '../../src/event.ts';
import { random } from './random-history.ts';
import { alarmExample } from './examples.ts';

const [S, H, D] = [1000, 3_600_000, 86_400_000];
const alarm = (at: number, code = 'A', part: Partial<AlarmEvent> = {}): AlarmEvent => alarmExample({ at, code, ...part });
const interval = (from: number, to: number, state: StateInterval['state'] = 'standby', run: string | null = null): StateInterval => ({
  chamber: 'PC-01',
  from,
  to,
  state,
  reason: 'x',
  source: 'signal',
  run,
  entry: null,
  downtime: null,
  observed: null,
});
/** Alarms by chance, `perHour` on average, all of different codes so that nothing is chatter. */
function chance(perHour: number, from: number, to: number, seed = 1): AlarmEvent[] {
  const dice = random(seed);
  const out: AlarmEvent[] = [];
  for (let at = from; ;) {
    at += (-Math.log(1 - dice()) / perHour) * H;
    if (at >= to) return out;
    out.push(alarm(Math.floor(at), `C${out.length}`));
  }
}
const baseline = (alarms: AlarmEvent[], intervals: StateInterval[], epsilon = 0.1) =>
  burstBaseline({ chamber: 'PC-01', alarms, intervals, epsilon });
const idle = (alarms: AlarmEvent[], intervals: StateInterval[]): ClassBaseline => {
  const { classes } = baseline(alarms, intervals);
  if (!classes) throw new Error('no baseline');
  return classes['not-running'];
};

describe('burst baseline', () => {
  test('[BU1] an alarm counts again once it kept quiet for 60 s; another alarm counts at once', () => {
    const alarms = [alarm(0), alarm(30 * S), alarm(59_999), alarm(61 * S, 'B'), alarm(119_998), alarm(179_998), alarm(239_997)];
    expect(collapsed(alarms).map(({ at, code }) => [at / S, code])).toEqual([
      [0, 'A'],
      [61, 'B'],
      [179.998, 'A'],
    ]);
  });

  test('[BU1] an alarm that goes on chattering counts once in ten minutes', () => {
    const hour = Array.from({ length: 360 }, (_, i) => alarm(i * 10 * S));
    expect(collapsed(hour).map(({ at }) => at / S)).toEqual([0, 600, 1200, 1800, 2400, 3000]);
  });

  test('[BU1] slow chatter, quiet for longer than a minute each time, counts no more than twice in any ten minutes', () => {
    const slow = collapsed(Array.from({ length: 40 }, (_, i) => alarm(i * 110 * S))).map(({ at }) => at);
    expect(slow.length).toBeGreaterThan(10);
    expect(slow.filter((at, i) => i >= 2 && at - (slow[i - 2] as number) < 600 * S)).toEqual([]);
  });

  test('[BU1] suppressed alarms and notices are no part of the baseline', () => {
    const alarms = [
      alarm(H),
      alarm(2 * H, 'A', { notice: true }),
      alarm(3 * H, 'A', { suppressed: true }),
      alarm(4 * H, 'A', { counted: false }),
    ];
    expect(idle(alarms, [interval(0, 30 * D)]).activations).toBe(1);
  });

  test('[BU2] the rate is activations over observed hours of the class', () => {
    const intervals = Array.from({ length: 60 }, (_, day) => [
      interval(day * D, day * D + 6 * H, 'productive', 'r'),
      interval(day * D + 6 * H, (day + 1) * D),
    ]).flat();
    const alarms = Array.from({ length: 60 }, (_, day) => [alarm(day * D + H), alarm(day * D + 3 * H), alarm(day * D + 12 * H)]).flat();
    const { classes } = baseline(alarms, intervals);
    expect(classes?.running).toMatchObject({ activations: 120, observedHours: 360, per10Min: 120 / (360 * 6) });
    expect(classes?.['not-running']).toMatchObject({ activations: 60, observedHours: 1080, per10Min: 60 / (1080 * 6) });
  });

  test('[BU2] unobserved time counts neither as hours nor its alarms as activations', () => {
    const found = idle([alarm(D), alarm(32 * D)], [interval(0, 31 * D), interval(31 * D, 40 * D, 'unobserved')]);
    expect(found).toMatchObject({ activations: 1, observedHours: 31 * 24 });
  });

  test('[BU2] a past flood is left out with the ten minutes that led to it', () => {
    const flood = Array.from({ length: 12 }, (_, i) => alarm(20 * D + i * 50 * S, `F${i}`));
    const found = idle([alarm(D), ...flood, alarm(30 * D)], [interval(0, 40 * D)]);
    expect(found.activations).toBe(2);
    expect(found.observedHours).toBeLessThan(40 * 24);
    expect(found.observedHours).toBeGreaterThan(40 * 24 - 0.6);
  });

  test('[BU2] past episodes that are named are left out too, also where they touch a flood', () => {
    const alarms = [alarm(D), alarm(20 * D), alarm(20 * D + H, 'B'), alarm(30 * D)];
    const past = [
      { from: 20 * D, to: 20 * D + 2 * H },
      { from: 20 * D - H, to: 20 * D + H },
    ];
    const { classes } = burstBaseline({ chamber: 'PC-01', alarms, intervals: [interval(0, 40 * D)], epsilon: 0.1, past });
    expect(classes?.['not-running'].activations).toBe(2);
    expect(classes?.['not-running'].observedHours).toBeCloseTo(40 * 24 - 3 - 1 / 6, 9);
  });

  test('[BU3] under 30 observed days there is no threshold of its own, whatever the calendar says; from 30 on there is', () => {
    expect(baseline([], [interval(0, 30 * D - 1)])).toEqual({ chamber: 'PC-01', observedDays: 30 - 1 / D, classes: null });
    expect(baseline([], [interval(0, 20 * D), interval(20 * D, 60 * D, 'unobserved')]).classes).toBeNull();
    expect(baseline([], [interval(0, 30 * D)]).classes).not.toBeNull();
  });

  test('[BU4] the threshold follows the table of the scan statistic, 3 at least', () => {
    expect(idle([], [interval(0, 40 * D)])).toMatchObject({ per10Min: 0, threshold: 3, dispersion: null });
    expect(idle([], [interval(0, 40 * D)]).expectedFalsePerMonth).toBeLessThan(1e-6);
    // Means .05, .2 and 1 in ten minutes: 4, 5 and 9 by A10; evenly spread alarms are not over-dispersed.
    for (const [spacingMin, expected] of [
      [200, 4],
      [50, 5],
      [10, 9],
    ] as const) {
      const alarms = Array.from({ length: (40 * 1440) / spacingMin }, (_, i) => alarm(i * spacingMin * 60 * S, `C${i}`));
      expect(idle(alarms, [interval(0, 40 * D)]).threshold).toBe(expected);
    }
  });

  test('[BU4] the false alerts expected are within what was accepted, and a stricter wish gives a higher threshold', () => {
    const alarms = chance(1.2, 0, 42 * D);
    const [loose, strict] = [0.1, 0.001].map(
      (epsilon) => baseline(alarms, [interval(0, 42 * D)], epsilon).classes?.['not-running'] as ClassBaseline,
    );
    expect(loose?.expectedFalsePerMonth).toBeLessThanOrEqual(0.1);
    expect(strict?.expectedFalsePerMonth).toBeLessThanOrEqual(0.001);
    expect(strict?.threshold).toBeGreaterThan(loose?.threshold as number);
  });

  test('[BU5] the threshold is 11 at most, and then says that more false alerts are to be expected', () => {
    const alarms = Array.from({ length: 40 * 144 * 3 }, (_, i) => alarm(i * 200 * S, `C${i}`));
    const found = idle(alarms, [interval(0, 40 * D)]);
    expect(found.per10Min).toBeCloseTo(3, 6);
    expect(found.threshold).toBe(11);
    expect(found.expectedFalsePerMonth).toBeGreaterThan(0.1);
  });

  test('[BU8] what came often is a habit of the chamber: four bursts of nine in six weeks are its normal, one alone is left out', () => {
    const single = chance(0.3, 0, 42 * D);
    const cluster = (day: number): AlarmEvent[] => Array.from({ length: 9 }, (_, k) => alarm(day * D + D / 2 + k * 20 * S, `K${k}`));
    const withClusters = (days: number[]): ClassBaseline =>
      idle(
        [...single, ...days.flatMap(cluster)].sort((a, b) => a.at - b.at),
        [interval(0, 42 * D)],
      );
    expect(withClusters([])).toMatchObject({ threshold: 4, leftOut: 0 });
    expect(withClusters([20])).toMatchObject({ threshold: 4, leftOut: 1 });
    expect(withClusters([5, 15, 25, 35])).toMatchObject({ threshold: 10, leftOut: 0 });
  });

  /** Causes by chance, each with `more` others within the minute. */
  const bunched = (perDay: number, more: number, days: number): AlarmEvent[] =>
    chance(perDay / 24, 0, days * D).flatMap((first, i) =>
      Array.from({ length: i % 3 === 0 ? 1 + more : 1 }, (_, k) => alarm(first.at + k * 10 * S, `${first.code}-${k}`)),
    );

  test('[BU6] the same number of alarms, more bunched, asks for more of them', () => {
    const single = idle(chance(3 / 24, 0, 60 * D, 7), [interval(0, 60 * D)]);
    const inThrees = idle(bunched(1.8, 2, 60), [interval(0, 60 * D)]);
    expect(single.dispersion).toBeLessThan(1.1);
    expect(inThrees.dispersion).toBeGreaterThan(1.5);
    expect(inThrees.threshold).toBeGreaterThan(single.threshold);
  });

  test('[BU7] one real burst is left out and hides no other: what is usual stays what it was without it', () => {
    const usual = chance(3 / 24, 0, 60 * D, 7);
    const burst = Array.from({ length: 8 }, (_, i) => alarm(30 * D + i * 20 * S, `B${i}`));
    const [without, withIt] = [usual, [...usual, ...burst].sort((a, b) => a.at - b.at)].map((alarms) =>
      idle(alarms, [interval(0, 60 * D)]),
    );
    expect(withIt).toMatchObject({ threshold: without?.threshold, leftOut: 1 });
    expect(withIt?.per10Min).toBeCloseTo(without?.per10Min as number, 4);
    expect(withIt?.observedHours).toBeLessThan(without?.observedHours as number);
  });

  test('[BU4] over 20 simulated months of chance alarms the alerts stay near the tenth a month that was accepted', () => {
    let episodes = 0;
    for (let month = 0; month < 20; month++) {
      const alarms = chance(1.2, 0, 60 * D, month + 50);
      const { threshold } = idle(
        alarms.filter(({ at }) => at < 30 * D),
        [interval(0, 30 * D)],
      );
      const times = alarms.filter(({ at }) => at >= 30 * D).map(({ at }) => at);
      episodes += Number(times.some((at, i) => i >= threshold - 1 && at - (times[i - threshold + 1] as number) < 600 * S));
    }
    // Two are expected of twenty at most; more than six would come once in 200 such tests by chance.
    expect(episodes).toBeLessThanOrEqual(6);
  });

  test('[BU5] an episode is over under half its threshold, or under five where the flood rule opened it', () => {
    expect([3, 4, 7, 10, 11].map(closeBelow)).toEqual([1.5, 2, 3.5, 5, 5]);
  });
});
