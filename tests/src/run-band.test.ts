/** Percentiles by stats.ts [ST1] (NIST e-Handbook 7.2.6.2); how many runs and which share: trade practice, no source. */
import { expect, test } from 'vitest';
import { isGood, runBands, verdictOf } from '../../src/run-band.ts';
import { runFigures, type RecordedRun } from '../../src/run-figure.ts';
import { runRecord } from '../../src/run-record.ts';
import { between, runExample, sccm, type Change } from './run-example.ts';

const recorded = (change: Change = {}): RecordedRun => {
  const input = runExample(change);
  return { run: input.run, record: runRecord(input) };
};
const healthy = recorded();
const pressures = (values: readonly number[]): RecordedRun[] =>
  values.map((basePressurePa) => ({ ...healthy, record: { ...healthy.record, basePressurePa } }));
const bandOf = (name: string, own: readonly RecordedRun[], sisters: readonly RecordedRun[] = [], run = healthy) =>
  runBands(run, own, sisters).find((band) => band.name === name)!;

test('[FG1] a run has the figures of what it did: no RF without plasma, a rate of rise only of a leak test', () => {
  const names = (run: RecordedRun): string[] => runFigures(run).map(({ name }) => name);
  const leak = recorded({
    run: { phases: [{ phase: 'leak-test', step: null, from: healthy.run.startedAt, to: healthy.run.at, source: 'tag' }] },
  });
  expect(names(leak)).toEqual(['rate-of-rise']);
  expect(names(healthy)).not.toContain('rate-of-rise');
  expect(runFigures(recorded({ without: ['rf.forward'] })).find(({ name }) => name === 'delivered-energy')?.value).toBeNull();
});

test('[FG2] flows and power are compared step by step, times by phase and step', () => {
  const figures = new Map(runFigures(healthy).map(({ name, value }) => [name, value]));
  expect(figures.get('gas.2.flow/2')).toBeCloseTo(sccm(100), 9);
  expect(figures.has('gas.2.flow/1')).toBe(false);
  expect([figures.get('rf.forward/1'), figures.get('time/plasma/2'), figures.get('time/purge/')]).toEqual([1000, 100, 60]);
  const { phases } = healthy.run;
  const blind = {
    ...healthy,
    run: { ...healthy.run, phases: phases.map((span) => (span.step === 2 ? { ...span, source: 'gap' as const } : span)) },
  };
  expect(
    runFigures(blind)
      .filter(({ name }) => name.startsWith('time/plasma'))
      .map(({ value }) => value),
  ).toEqual([null, null]);
});

test('[BN1] a good run was completed, wholly seen and without deviation', () => {
  expect(isGood(healthy)).toBe(true);
  expect(isGood(recorded({ run: { outcome: 'aborted' } }))).toBe(false);
  expect(isGood(recorded({ run: { observedMs: 454_000 } }))).toBe(false);
  expect(isGood(recorded({ tell: between('gas.1.flow', 270, 290, [[270, 0]]) }))).toBe(false);
});

test('[BN2] the band is from the 10th to the 90th percentile of at least five good runs, ends included', () => {
  const own = pressures([1, 2, 3, 4, 5, 6, 7, 8, 9]);
  const at = (basePressurePa: number) => bandOf('base-pressure', own, [], pressures([basePressurePa])[0]).own;
  expect(at(5)).toEqual({ n: 9, p10: 1, p50: 5, p90: 9, inside: true });
  expect([at(1).inside, at(9).inside, at(9.01).inside, at(0.99).inside]).toEqual([true, true, false, false]);
  expect(bandOf('base-pressure', own.slice(0, 4)).own).toEqual({ n: 4, p10: null, p50: null, p90: null, inside: null });
  expect(bandOf('base-pressure', [], own).sisters.n).toBe(9);
});

test('[BN3] what nobody knows is neither inside nor outside, and no run that lacks a figure widens its band', () => {
  const unknown: RecordedRun = { ...healthy, record: { ...healthy.record, basePressurePa: null } };
  expect(bandOf('base-pressure', pressures([1, 2, 3, 4, 5]), [], unknown).own.inside).toBeNull();
  expect(bandOf('base-pressure', [...pressures([1, 2, 3, 4]), unknown, unknown]).own.n).toBe(4);
});

test('[BN4] outside limits by any deviation, not enough data when something was not seen, else within limits', () => {
  expect(verdictOf(healthy)).toBe('within-limits');
  expect(verdictOf(recorded({ tell: between('gas.1.flow', 270, 290, [[270, 0]]), run: { observedMs: 1000 } }))).toBe('outside-limits');
  expect(verdictOf(recorded({ run: { observedMs: 454_000 } }))).toBe('not-enough-data');
  expect(verdictOf(recorded({ without: ['rf.reflected'] }))).toBe('not-enough-data');
});
