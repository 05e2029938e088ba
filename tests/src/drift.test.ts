import { describe, expect, test } from 'vitest';
import { ewma, ewmaReach } from '../../src/control-chart.ts';
import { BASELINE_RUNS, drift, driftSentence, SURE_BY } from '../../src/drift.ts';
import type { DriftInput, DriftVerdict, MeasuredRun } from '../../src/drift.ts';
import { DRIFT_MEASURES } from '../../src/drift-measure.ts';
import type { DriftMeasure, DriftMeasureName } from '../../src/drift-measure.ts';
import { normalShare } from '../../src/normal.ts';
import { TORR_PA } from '../../src/units.ts';
import { random } from './random-history.ts';

/** As the first part of the pump-down is told: from 5 % and 2 s on, with no spread but its own. */
const PUMP_DOWN: DriftMeasure = { ...DRIFT_MEASURES['pump-down-first'], name: 'pump-down' };
/** Tells everything, however small: the bare chart. */
const BARE: DriftMeasure = { ...PUMP_DOWN, least: 0, leastShare: 0, resolution: 0, leastSpread: 0 };
/** Box and Muller. */
const normal = (start: number): (() => number) => {
  const chance = random(start);
  return () => Math.sqrt(-2 * Math.log(1 - chance())) * Math.cos(2 * Math.PI * chance());
};
const runsOf = (values: readonly (number | null)[]): MeasuredRun[] =>
  values.map((value, i) => ({ run: `R${i}`, at: i * 1000, value, good: true }));
/** 137 s with a spread of about 1 s, without any chance in it. */
const calm = (n: number): number[] => Array.from({ length: n }, (_, i) => 137 + ([0, 1, -1, 1.5, -1.5][i % 5] as number));
const judge = (values: readonly (number | null)[], more: Partial<DriftInput> = {}): DriftVerdict =>
  drift({ measure: PUMP_DOWN, runs: runsOf(values), maintenance: [], ...more });

describe('drift of one figure', () => {
  test('[DR1] learning until 20 good runs are there; asked for fewer than ten it still wants ten', () => {
    expect(judge(calm(19))).toEqual({ state: 'learning', runs: 19, needed: 20 });
    expect(judge(calm(20)).state).toBe('steady');
    expect(judge(calm(9), { baselineRuns: 3 })).toEqual({ state: 'learning', runs: 9, needed: 10 });
    expect(judge(calm(10), { baselineRuns: 3 }).state).toBe('steady');
    expect(judge([]).state).toBe('learning');
  });

  test('[DR1] a run that is not good teaches nothing, but is judged later', () => {
    const runs = runsOf(calm(21)).map((run, i) => ({ ...run, good: i !== 4, value: i === 4 ? 400 : run.value }));
    const found = drift({ measure: PUMP_DOWN, runs, maintenance: [] });
    expect(found).toMatchObject({ state: 'steady', runs: 0 });
    expect((found as { usual: number }).usual).toBeCloseTo(137, 0);
    const later = [...runs, { run: 'bad', at: 1e6, value: 400, good: false }];
    expect(drift({ measure: PUMP_DOWN, runs: later, maintenance: [] }).state).toBe('odd-run');
  });

  test('[DR1] the baseline is frozen: half a second slower each run is told, and the usual stays 137 s', () => {
    const found = judge([...calm(20), ...Array.from({ length: 60 }, (_, i) => 137 + 0.5 * i)]);
    expect(found).toMatchObject({ state: 'shifted', usual: 137 });
  });

  test('[DR2] one wet load in the baseline neither widens the limits nor moves the usual (the same without it)', () => {
    const wet = calm(21);
    wet[7] = 400;
    const found = judge(wet, { baselineRuns: 21 }) as { usual: number; sigma: number };
    expect(found.usual).toBeCloseTo(137, 0);
    expect(found.sigma).toBeLessThan(2.2);
    expect(judge([...wet, ...Array<number>(5).fill(150)], { baselineRuns: 21 }).state).toBe('shifted');
  });

  test('[DR3] a step of 10 s is told by each rule that sees it, the run it began with, and its size', () => {
    const found = judge([...calm(30), ...Array<number>(9).fill(147)]);
    expect(found).toMatchObject({
      state: 'shifted',
      value: 147,
      reasons: ['beyond 3 sigma', 'nine on the same side', 'moving average'],
      since: { run: 'R30', at: 30_000 },
      runsSince: 9,
    });
    const { change, changeShare, usual } = found as { change: number; changeShare: number; usual: number };
    expect(change).toBeCloseTo(147 - usual, 12);
    expect(changeShare).toBeCloseTo(10 / 137, 3);
  });

  test('[DR3] nine runs one third of a sigma up are on one side and no more; told only where so little is worth telling', () => {
    const spread = [...Array.from({ length: 20 }, (_, i) => 137 + (i % 2 ? 4 : -4)), 130, ...Array<number>(9).fill(139.5)];
    expect(judge(spread, { measure: BARE, sureBy: 0 })).toMatchObject({
      state: 'shifted',
      reasons: ['nine on the same side'],
      runsSince: 9,
      since: { run: 'R21' },
    });
    expect(judge(spread).state).toBe('steady');
    expect(judge(spread.slice(0, -1), { measure: BARE, sureBy: 0 }).state).toBe('steady');
  });

  test('[DR3] 1.8 sigma up is seen by the average alone, at the fourth run (λ 0.2: level 1.063 against a reach of 0.995; by hand)', () => {
    const shift = [
      ...Array.from({ length: 20 }, (_, i) => 137 + (i % 2 ? 4 : -4)),
      ...Array<number>(4).fill(137 + 1.8 * 1.158114 * (8 / 1.128)),
    ];
    expect(judge(shift, { sureBy: 0 })).toMatchObject({ state: 'shifted', reasons: ['moving average'], runsSince: 3 });
    expect(judge(shift.slice(0, -1), { measure: BARE, sureBy: 0 }).state).toBe('steady');
  });

  test('[DR4] [DR5] one run far out is an odd run, not a shift, and gone with the next', () => {
    expect(judge([...calm(25), 400])).toMatchObject({
      state: 'odd-run',
      value: 400,
      runsSince: 1,
      since: { run: 'R25' },
      reasons: ['beyond 3 sigma'],
    });
    expect(judge([...calm(20), 138, 138, 138, 400])).toMatchObject({ state: 'odd-run', value: 400, runsSince: 1 });
    expect(judge([...calm(25), 400, 137]).state).toBe('steady');
    expect(judge([...calm(25), 20, 137]).state).toBe('steady');
  });

  test('[DR5] the size is that of the last nine runs, so that a drift shows where it stands now', () => {
    const found = judge([...calm(20), ...Array.from({ length: 40 }, (_, i) => 137 + i)]);
    expect(found).toMatchObject({ state: 'shifted', value: 172 });
  });

  test('[DR6] a shift of 6 s in 137 s is sure but too small to be told', () => {
    expect(judge([...calm(20), ...Array<number>(30).fill(143)]).state).toBe('steady');
    expect(judge([...calm(20), ...Array<number>(30).fill(143)], { measure: BARE }).state).toBe('shifted');
  });

  test('[DR7] after maintenance it learns anew: a new level is the new usual, no shift, and what was before does not count', () => {
    const values = [...calm(25), ...calm(25).map((value) => value - 30)];
    expect(judge(values)).toMatchObject({ state: 'shifted' });
    expect(judge(values.slice(0, 35), { maintenance: [24_500] })).toEqual({ state: 'learning', runs: 10, needed: 20 });
    expect(judge(values, { maintenance: [500, 24_500, 3000] })).toMatchObject({ state: 'steady', usual: 107, runs: 5 });
  });

  test('[DR7] runs without the figure are passed over', () => {
    const values = [...calm(12), null, ...calm(8), null, 150, null, 150, 150, 150, null];
    expect(judge(values)).toMatchObject({ state: 'shifted', runsSince: 4, value: 150, since: { run: 'R22' } });
  });

  test('[DR3] a timer that never varies has a spread of its resolution, and 30 s more of it is a shift', () => {
    const found = drift({
      measure: DRIFT_MEASURES.purge,
      runs: runsOf([...Array<number>(20).fill(60), ...Array<number>(4).fill(90)]),
      maintenance: [],
    });
    expect(found).toMatchObject({ state: 'shifted', usual: 60, value: 90 });
    const second = drift({ measure: DRIFT_MEASURES.purge, runs: runsOf([...Array<number>(20).fill(60), 61]), maintenance: [] });
    expect(second).toMatchObject({ state: 'steady', sigma: expect.closeTo(1 / Math.sqrt(12), 12) });
  });

  test('[DR3] nine runs within the band in which the mean may lie are on no side: a mean a little off is no shift', () => {
    const base = Array.from({ length: 20 }, (_, i) => 137 + (i % 2 ? 4 : -4));
    // Sigma 8/1.128, widened by 1.158: the band is a share 1/√20 of it, 1.84 s.
    expect(judge([...base, ...Array<number>(9).fill(138.8)], { measure: BARE, sureBy: 0 }).state).toBe('steady');
    expect(judge([...base, ...Array<number>(9).fill(138.9)], { measure: BARE, sureBy: 0 }).state).toBe('shifted');
  });

  test('[DR8] three runs far out are odd runs, the fourth makes it a shift', () => {
    expect([1, 2, 3, 4].map((runs) => judge([...calm(20), ...Array<number>(runs).fill(170)]).state)).toEqual([
      'odd-run',
      'odd-run',
      'odd-run',
      'shifted',
    ]);
  });

  test('[DR8] a size within five standard errors is not told, however long: 2 of 7.1 s sigma after nine runs and 20 of baseline reach 20.6 s (by hand)', () => {
    // 8/1.128 · 1.158 · √(π/2) · √(1/9 + 1/20) · 5 = 20.66 s.
    const base = Array.from({ length: 20 }, (_, i) => 137 + (i % 2 ? 4 : -4));
    expect(judge([...base, ...Array<number>(60).fill(137 + 20.6)]).state).toBe('steady');
    expect(judge([...base, ...Array<number>(60).fill(137 + 20.8)])).toMatchObject({ state: 'shifted', runsSince: 60 });
  });

  test('[DR8] a step right after runs that leaned the same way is told by its own four runs', () => {
    const found = judge([...calm(20), ...Array<number>(8).fill(137.6), ...Array<number>(4).fill(150)]);
    expect(found).toMatchObject({ state: 'shifted', value: 150 });
  });

  test('[DR1] what comes once a week at most is learned from five, and a single test far out is an odd run', () => {
    const rare = (values: readonly number[]): DriftVerdict => judge(values, { isRare: true });
    expect(rare(calm(4))).toEqual({ state: 'learning', runs: 4, needed: 5 });
    expect(rare([...calm(5), 137]).state).toBe('steady');
    expect(rare([...calm(5), 190]).state).toBe('odd-run');
  });

  test('[DR10] what one run in eight does anyway is no shift when four of five do it, and is one when all of nine do', () => {
    const wet = (n: number): number[] => calm(n).map((value, i) => (i % 8 === 5 ? 220 : value));
    const chance = [...wet(20), ...wet(200), 220, 220, 137, 220, 220];
    expect(judge(chance, { measure: { ...PUMP_DOWN, leastSpread: 0.1 } }).state).not.toBe('shifted');
    expect(judge([...wet(20), ...wet(200), ...Array<number>(9).fill(220)], { measure: { ...PUMP_DOWN, leastSpread: 0.1 } })).toMatchObject({
      state: 'shifted',
      value: 220,
    });
  });

  test('[DR10] figures that come once a week are told by four, as one in a thousand is enough there', () => {
    expect(judge([...calm(5), ...Array<number>(3).fill(190)], { isRare: true }).state).toBe('odd-run');
    expect(judge([...calm(5), ...Array<number>(4).fill(190)], { isRare: true }).state).toBe('shifted');
  });

  test('[DR9] what went back is no shift any more at the second normal run, and the last run that showed it is known', () => {
    const back = (normal: number): DriftVerdict => judge([...calm(20), ...Array<number>(12).fill(160), ...Array<number>(normal).fill(137)]);
    expect(back(1)).toMatchObject({ state: 'shifted', value: 160, lastShownAt: 31_000 });
    expect(back(2).state).toBe('steady');
  });

  test('[DR5] a shift that went back and came again began when it came again, though the average stayed a little above the usual', () => {
    const again = [...calm(20), ...Array<number>(12).fill(150), ...calm(25).map((value) => value + 0.5), ...Array<number>(10).fill(150)];
    expect(judge(again)).toMatchObject({ state: 'shifted', since: { run: 'R57' }, runsSince: 10 });
  });

  test('[DR5] so it did when the average stayed off by more than its own sigma, by too little to be told', () => {
    const again = [...calm(20), ...Array<number>(12).fill(160), ...calm(40).map((value) => value + 3), ...Array<number>(10).fill(160)];
    expect(judge(again)).toMatchObject({ state: 'shifted', since: { run: 'R72' }, runsSince: 10 });
  });

  test('[DR5] [DR8] a shift whose last runs wavered is told of four runs at least, as its size is', () => {
    const wavering = [...calm(20), ...Array<number>(12).fill(160), 138, 138, 160, 160];
    expect((judge(wavering) as { runsSince: number }).runsSince).toBe(4);
  });

  test('[DR5] a steady figure tells how far its average leans, in its own sigma', () => {
    const lean = (values: readonly number[]): number => (judge(values) as { lean: number }).lean;
    expect(lean(calm(20))).toBe(0);
    expect(lean([...calm(20), ...Array<number>(9).fill(139)])).toBeGreaterThan(1.5);
    expect(lean([...calm(20), ...Array<number>(9).fill(135)])).toBeLessThan(-1.5);
  });

  test('[DR5] the sentence has size, unit, usual and duration in trade words', () => {
    const found = judge([...calm(20), ...Array<number>(12).fill(161)]);
    expect(driftSentence(PUMP_DOWN, found as Extract<DriftVerdict, { state: 'shifted' }>)).toBe(
      'Pump-down 24.0 s longer (18 %): 161 s, usually 137 s, for 12 runs.',
    );
    const odd = judge([...calm(20), 100]);
    expect(driftSentence(PUMP_DOWN, odd as Extract<DriftVerdict, { state: 'odd-run' }>)).toBe(
      'Pump-down 37.0 s shorter (27 %): 100 s, usually 137 s, in one run.',
    );
  });
});

/** Judged run by run, as the product does: the share of runs at which a shift is told anew. */
function told(measure: DriftMeasure, [usual, sd]: readonly [number, number], { histories = 40, length = 60, sureBy = SURE_BY } = {}) {
  const chance = normal(5);
  const baselineRuns = BASELINE_RUNS;
  let onsets = 0;
  for (let n = 0; n < histories; n++) {
    const runs = runsOf(Array.from({ length: baselineRuns + length }, () => usual + sd * chance()));
    let before = false;
    for (let k = baselineRuns + 1; k <= runs.length; k++) {
      const found = drift({ measure, runs: runs.slice(0, k), maintenance: [], sureBy });
      if (found.state === 'shifted' && !before) onsets += 1;
      before = found.state === 'shifted';
    }
  }
  return { onsets: onsets / (histories * length) };
}

describe('false signals, by Monte Carlo with fixed starts', () => {
  test('[DR3] the moving average alone: 560 runs between false signals at λ 0.2 and 3 sigma (Lucas and Saccucci 1990, from memory; Markov chain; simulated)', () => {
    const reach = ewmaReach({ sigma: 1, lambda: 0.2, width: 3 });
    expect(chainLength(0.2, reach) / 559.9).toBeCloseTo(1, 2);
    const chance = normal(77);
    let total = 0;
    const histories = 400;
    for (let n = 0; n < histories; n++) {
      const levels = ewma(Array.from({ length: 4000 }, chance), { start: 0, lambda: 0.2 });
      const first = levels.findIndex((level) => Math.abs(level) > reach);
      total += first < 0 ? 4000 : first + 1;
    }
    expect(total / histories / 559.9).toBeGreaterThan(0.87);
    expect(total / histories / 559.9).toBeLessThan(1.13);
  });

  test('[DR3] with a long baseline one run in 370 or more is beyond its limits (NIST 6.3.2), as the normal distribution says for the very limits', () => {
    const n = 200;
    const chance = normal(21);
    let [beyond, expected, judged] = [0, 0, 0];
    for (let history = 0; history < 40; history++) {
      const base = Array.from({ length: n }, () => 100 + 5 * chance());
      const last = (value: number): DriftVerdict => judge([...base, value], { measure: BARE, baselineRuns: n });
      const { usual, sigma } = last(100) as { usual: number; sigma: number };
      const reach = 3 * sigma * (1 + 1 / Math.sqrt(2 * n)) * Math.sqrt(1 + 1 / n);
      for (let i = 0; i < 500; i++) {
        judged += 1;
        expected += normalShare((usual - reach - 100) / 5) + normalShare((100 - usual - reach) / 5);
        if (last(100 + 5 * chance()).state === 'odd-run') beyond += 1;
      }
    }
    expect(expected / judged).toBeLessThan(1 / 370);
    expect(beyond / expected).toBeGreaterThan(0.7);
    expect(beyond / expected).toBeLessThan(1.3);
  });

  test('[DR3] with 20 runs of baseline the bare chart of all three rules tells a shift that is none about once in 180 runs', () => {
    const { onsets } = told(BARE, [100, 5], { histories: 60, sureBy: 0 });
    expect(1 / onsets).toBeGreaterThan(130);
    expect(1 / onsets).toBeLessThan(350);
  });

  const mTorr = TORR_PA / 1000;
  test.each<[DriftMeasureName, readonly [number, number], number]>([
    ['pump-down', [137, 3.8], 0],
    ['pump-down-first', [103, 1.5], 0],
    ['pump-down-tail', [18, 3.5], 0],
    ['plasma-pressure', [288 * mTorr, 2.7 * mTorr], 0],
  ])('[DR6] healthy %s of %s tells a false shift in at most a share of %d of runs (spreads of our own model)', (name, figure, share) => {
    expect(told(DRIFT_MEASURES[name], figure).onsets).toBeLessThanOrEqual(share);
  });
});

describe('time to notice', () => {
  const noticed = (measure: DriftMeasure, sd: number, level: (run: number) => number, start: number): number => {
    const chance = normal(start);
    const values = Array.from({ length: BASELINE_RUNS + 120 }, (_, i) => level(Math.max(0, i - BASELINE_RUNS + 1)) + sd * chance());
    for (let k = BASELINE_RUNS + 1; k <= values.length; k++)
      if (drift({ measure, runs: runsOf(values.slice(0, k)), maintenance: [] }).state === 'shifted') return k - BASELINE_RUNS;
    return Infinity;
  };
  const slowest = (measure: DriftMeasure, sd: number, level: (run: number) => number): number =>
    Math.max(...Array.from({ length: 40 }, (_, start) => noticed(measure, sd, level, start)));

  test('[DR3] a pump at 90 % of its speed, 103 to 114 s in the first part, is noticed within 4 runs in every one of 40 histories', () => {
    expect(slowest(DRIFT_MEASURES['pump-down-first'], 1.5, (run) => (run > 0 ? 114 : 103))).toBeLessThanOrEqual(4);
  });

  test('[DR3] a pump losing 5.5 % a day at 12 runs a day is noticed in the first part within 24 runs, two days', () => {
    expect(slowest(DRIFT_MEASURES['pump-down-first'], 1.5, (run) => 103 / (1 - 0.055 * (run / 12)))).toBeLessThanOrEqual(24);
  });

  test('[DR3] plasma pressure up 4.8 %, a flow controller delivering 8 % more, is noticed within 8 runs', () => {
    const mTorr = TORR_PA / 1000;
    expect(slowest(DRIFT_MEASURES['plasma-pressure'], 2.7 * mTorr, (run) => (run > 0 ? 302 : 288) * mTorr)).toBeLessThanOrEqual(8);
  });
});

/** Mean run length of an EWMA by Brook and Evans: the band in 101 states, the equations solved by elimination. */
function chainLength(lambda: number, reach: number): number {
  const states = 101;
  const width = (2 * reach) / states;
  const centre = (i: number): number => -reach + (i + 0.5) * width;
  const rows = Array.from({ length: states }, (_, i) => {
    const chanceTo = (j: number): number =>
      normalShare((centre(j) + width / 2 - (1 - lambda) * centre(i)) / lambda) -
      normalShare((centre(j) - width / 2 - (1 - lambda) * centre(i)) / lambda);
    return [...Array.from({ length: states }, (_, j) => (i === j ? 1 : 0) - chanceTo(j)), 1];
  });
  for (let i = 0; i < states; i++) {
    for (let k = 0; k < states; k++) {
      if (k === i) continue;
      const factor = (rows[k]?.[i] as number) / (rows[i]?.[i] as number);
      rows[k] = (rows[k] as number[]).map((value, j) => value - factor * (rows[i]?.[j] as number));
    }
  }
  const middle = rows[(states - 1) / 2] as number[];
  return (middle[states] as number) / (middle[(states - 1) / 2] as number);
}
