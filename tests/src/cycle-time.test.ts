import { describe, expect, test } from 'vitest';
import type { StateInterval } from '../../src/contract.ts';
import { loadCounts, recipeTimes, type TimedRun, timedRuns } from '../../src/cycle-time.ts';
import type { PhaseSpan, RunEnded } from '../../src/event.ts';
import { BEFORE_FIRST } from '../../src/interval.ts';

const MIN = 60_000;
const DAY = { from: 0, to: 1440 * MIN };

/** A run by minutes: door closed, start, end. */
function run(closed: number | null, start: number, end: number, part: Partial<RunEnded> = {}): RunEnded {
  return {
    kind: 'run-ended',
    chamber: 'PC-01',
    at: end * MIN,
    run: `PC-01/${start}`,
    startedAt: start * MIN,
    outcome: 'completed',
    recipe: 'DSM',
    load: null,
    engineering: false,
    doorClosedAt: closed === null ? null : closed * MIN,
    phases: [],
    observedMs: (end - start) * MIN,
    ...part,
  };
}
const interval = (from: number, to: number, state: StateInterval['state'], reason = 'x'): StateInterval => ({
  chamber: 'PC-01',
  from: from * MIN,
  to: to * MIN,
  state,
  reason,
  source: 'tag',
  run: null,
  entry: null,
  downtime: null,
  observed: null,
});
const cycles = (runs: RunEnded[], window = DAY, intervals: StateInterval[] = []): (number | null)[] =>
  timedRuns(runs, window, intervals).map(({ cycleMs }) => cycleMs && cycleMs / MIN);
const only = (loads: readonly TimedRun[]) => recipeTimes(loads)[0];

describe('loads and times', () => {
  test('[CT1] runs are counted by outcome; conditioning and trials are no loads, whatever became of them', () => {
    const runs = [
      run(0, 1, 30),
      run(31, 32, 60),
      run(0, 1, 5, { outcome: 'aborted' }),
      run(0, 1, 5, { outcome: 'interrupted' }),
      run(0, 1, 5, { outcome: 'not-fully-observed' }),
      run(0, 1, 30, { engineering: true }),
      run(0, 1, 3, { engineering: true, outcome: 'aborted' }),
    ];
    expect(loadCounts(runs)).toEqual({ completed: 2, aborted: 1, interrupted: 1, notFullyObserved: 1, engineering: 2 });
  });

  test('[CT1] a run counts where it ended: begun before the window yes, ended at its very end no', () => {
    const window = { from: 20 * MIN, to: 60 * MIN };
    expect(
      timedRuns([run(0, 1, 20), run(21, 22, 40), run(41, 42, 60)], window, []).map(({ run: { startedAt } }) => startedAt / MIN),
    ).toEqual([1, 22]);
  });

  test('[CT2] process time is pump-down start to back at atmosphere', () => {
    expect(only(timedRuns([run(0, 3, 33)], DAY, []))?.processTime).toEqual({ n: 1, p10: 30 * MIN, p50: 30 * MIN, p90: 30 * MIN });
  });

  test('[CT3] cycle time is door closed to door closed, also when the next run is a trial or ends after the window', () => {
    expect(cycles([run(0, 1, 30), run(45, 46, 80, { engineering: true }), run(90, 91, 120)])).toEqual([45, null]);
    expect(cycles([run(0, 1, 30), run(45, 46, 80)], { from: 0, to: 40 * MIN })).toEqual([45]);
  });

  test('[CT3] a cycle with unobserved or nonscheduled time in it is left out; downtime and idle time are part of it', () => {
    const two = [run(0, 1, 30), run(45, 46, 80)];
    expect(cycles(two, DAY, [interval(44, 50, 'unobserved')])).toEqual([null, null]);
    expect(cycles(two, DAY, [interval(31, 33, 'nonscheduled')])).toEqual([null, null]);
    expect(cycles(two, DAY, [interval(45, 50, 'unobserved')])).toEqual([45, null]);
    expect(cycles(two, DAY, [interval(31, 33, 'unscheduled-downtime'), interval(33, 40, 'standby')])).toEqual([45, null]);
    expect(cycles(two, DAY, [interval(-60, 10, 'unobserved', BEFORE_FIRST)])).toEqual([45, null]);
  });

  test('[CT3] a door that nobody saw close makes no cycle', () => {
    expect(cycles([run(null, 1, 30), run(45, 46, 80), run(null, 91, 120)])).toEqual([null, null, null]);
  });

  test('[CT4] aborted, interrupted and half-seen runs have no times', () => {
    expect(timedRuns([run(0, 1, 5, { outcome: 'aborted' }), run(6, 7, 30, { outcome: 'not-fully-observed' })], DAY, [])).toEqual([]);
  });

  test('[CT4] [CT5] phases come in the order of a run, steps apart; a phase met twice is summed, one with a boundary in a gap is left out', () => {
    const span = (
      phase: PhaseSpan['phase'],
      from: number,
      to: number,
      step: number | null = null,
      source: PhaseSpan['source'] = 'tag',
    ): PhaseSpan => ({ phase, step, from: from * MIN, to: to * MIN, source });
    const phases = [
      span('pump-down', 1, 4),
      span('plasma', 4, 10, 1),
      span('hold', 10, 12),
      span('plasma', 12, 15, 1),
      span('plasma', 15, 20, 2),
      span('purge', 20, 21, null, 'gap'),
      span('vent', 21, 23),
    ];
    const found = only(timedRuns([run(0, 1, 23, { phases })], DAY, []))?.phases.map(({ phase, step, duration }) => [
      phase,
      step,
      duration.p50 / MIN,
    ]);
    // Plasma step 2 ends where purge begins, in the gap: neither is known.
    expect(found).toEqual([
      ['pump-down', null, 3],
      ['plasma', 1, 9],
      ['vent', null, 2],
      ['hold', null, 2],
    ]);
  });

  test('[CT1] recipes are apart, most run first; a run without a recipe name is under its own heading', () => {
    const runs = [run(0, 1, 30, { recipe: 'ACT' }), run(31, 32, 60), run(61, 62, 90), run(91, 92, 120, { recipe: null })];
    expect(recipeTimes(timedRuns(runs, DAY, [])).map(({ recipe, runs: count }) => [recipe, count])).toEqual([
      ['DSM', 2],
      ['ACT', 1],
      ['recipe not known', 1],
    ]);
  });
});
