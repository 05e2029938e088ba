import { describe, expect, test } from 'vitest';
import { measuredRuns, placeOf, recipesOf, runFigures, SERIES, SERIES_KINDS, SYMPTOMS, trimmed } from '../../src/drift-series.ts';
import type { RunFigures, SeriesKey } from '../../src/drift-series.ts';
import { HOUR, recordedRun, recordOf } from './recorded-runs.ts';

const key = (name: SeriesKey['name'], line: number | null = null): SeriesKey => ({ name, line });
const figure = (run: RunFigures, of: SeriesKey): number => run.figures[placeOf(of)] as number;

describe('figures of a run', () => {
  test.each([
    ['aborted', { outcome: 'aborted' as const }, false],
    ['not wholly observed', { observedMs: HOUR / 2 - 1 }, false],
    ['with a deviation', { record: recordOf({ deviations: [{ code: 'energy-low', text: '', step: null }] }) }, false],
    ['completed, wholly observed, nothing wrong', {}, true],
  ])('[DF1] a run %s may teach a baseline: %s', (_, more, good) => {
    expect(runFigures(recordedRun(HOUR, more)).good).toBe(good);
  });

  test('[DF2] a run broken off keeps its pump-down and flow zeros, and has no figure of plasma, purge or vent', () => {
    const run = runFigures(recordedRun(HOUR, { outcome: 'aborted' }));
    const has = SERIES.filter((each) => !Number.isNaN(figure(run, each))).map(({ name }) => name);
    expect(new Set(has)).toEqual(
      new Set(['pump-down', 'pump-down-first', 'pump-down-middle', 'pump-down-tail', 'empty-tail', 'base-pressure', 'flow-zero']),
    );
  });

  test('[DF2] every figure is in SI: seconds, Pa, J, shares', () => {
    const run = runFigures(recordedRun(HOUR));
    expect(figure(run, key('pump-down-first'))).toBe(103);
    expect(figure(run, key('delivered-energy'))).toBe(4_900_000);
    expect(figure(run, key('flow-zero', 1))).toBe(0.001);
    expect(figure(run, key('flow-zero', 2))).toBeNaN();
    expect(figure(run, key('plasma-pressure'))).toBeCloseTo(38.4, 1);
  });
});

describe('series', () => {
  const of = (more: Parameters<typeof recordedRun>[1], at: number): RunFigures => runFigures(recordedRun(at, more));
  const mixed = [
    of({ recipe: 'DSM-PI-25' }, 1),
    of({ recipe: 'DSM-EP-25' }, 2),
    of({ recipe: 'CND-15', engineering: true, load: null }, 3),
    of({ recipe: 'TRL-1', engineering: true, load: 'K' }, 4),
    of({ recipe: 'LKT-05', engineering: true, load: null, record: recordOf({ rateOfRisePaPerS: 0.01 }) }, 5),
    of({ recipe: 'DSM-PI-25' }, 6),
  ];
  const times = (name: SeriesKey['name'], line: number | null = null): number[] =>
    measuredRuns(mixed, key(name, line), 'DSM-PI-25').map(({ at }) => at);

  test('[DF3] the first parts of the pump-down are of the chamber, its tail and what follows of chamber and recipe', () => {
    expect(times('pump-down-first')).toEqual([1, 2, 6]);
    expect(times('pump-down-tail')).toEqual([1, 6]);
    expect(times('plasma-pressure')).toEqual([1, 6]);
    expect(times('flow-zero', 1)).toEqual([1, 2, 3, 4, 5, 6]);
  });

  test('[DF4] runs without a load give the tail of an empty pump-down and nothing to loaded figures; a trial with a load gives neither', () => {
    expect(times('empty-tail')).toEqual([3, 5]);
    expect(times('rate-of-rise')).toHaveLength(6);
    expect(measuredRuns(mixed, key('rate-of-rise'), null).filter(({ value }) => value !== null)).toMatchObject([{ at: 5, value: 0.01 }]);
  });

  test('[DF5] leak tests and empty runs are rare, nothing else is', () => {
    expect(SYMPTOMS.filter((name) => SERIES_KINDS[name].isRare)).toEqual(['empty-tail', 'rate-of-rise']);
  });

  test('recipes are named by how much they are run, engineering ones not at all', () => {
    expect(recipesOf(mixed)).toEqual(['DSM-PI-25', 'DSM-EP-25']);
  });

  test('[DF6] of a long record the newest are kept, and the runs after every beginning of a baseline', () => {
    const long = Array.from({ length: 5000 }, (_, i) => ({ at: i }));
    const kept = trimmed(long, 1000, [1999]).map(({ at }) => at);
    expect(kept.slice(0, 400)).toEqual(Array.from({ length: 400 }, (_, i) => i));
    expect(kept.slice(400, 800)).toEqual(Array.from({ length: 400 }, (_, i) => 2000 + i));
    expect(kept.slice(800)).toEqual(Array.from({ length: 1000 }, (_, i) => 4000 + i));
    expect(trimmed(long, 5000, [])).toBe(long);
  });
});
