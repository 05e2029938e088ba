/**
 * One run beside the last good ones of its recipe: what is usual in this chamber, and in the chambers that run the same recipe (chamber matching).
 * [BN1] A good run was completed, wholly observed and without a deviation.
 * [BN2] The band of a figure is from the 10th to the 90th percentile (stats.ts [ST1]) of up to the 20 last good runs before this one, of the chamber and
 *       of each sister; of fewer than 5 there is none: not enough. A figure outside is unusual, not wrong: one good run in five is.
 * [BN3] What a run does not have, or nobody knows, is neither inside nor outside.
 */
import type { RunBand, RunVerdict } from './run-answer.ts';
import { runFigures, type RecordedRun, type RunFigure } from './run-figure.ts';
import { spreadOf } from './stats.ts';

export const BAND_RUNS = 20;
export const FEWEST_BAND_RUNS = 5;

/** [BN1] */
export const isGood = ({ run, record }: RecordedRun): boolean =>
  run.outcome === 'completed' && record.coverage === 1 && record.deviations.length === 0;

/** [BN2] `own` and `sisters` are good runs of the same recipe. */
export function runBands(run: RecordedRun, own: readonly RecordedRun[], sisters: readonly RecordedRun[]): readonly RunBand[] {
  const [ownFigures, sisterFigures] = [own, sisters].map((runs) => byName(runs)) as [ByName, ByName];
  return runFigures(run).map((figure) => ({
    name: figure.name,
    words: figure.words,
    unit: figure.unit,
    value: figure.value,
    own: bandOf(figure, ownFigures.get(figure.name)),
    sisters: bandOf(figure, sisterFigures.get(figure.name)),
  }));
}

type ByName = ReadonlyMap<string, readonly number[]>;

function byName(runs: readonly RecordedRun[]): ByName {
  const figures = Map.groupBy(runs.flatMap(runFigures), ({ name }) => name);
  return new Map([...figures].map(([name, each]) => [name, each.flatMap(({ value }) => (value === null ? [] : [value]))]));
}

/** [BN2] [BN3] */
function bandOf({ value }: RunFigure, values: readonly number[] = []): RunBand['own'] {
  const spread = values.length < FEWEST_BAND_RUNS ? null : spreadOf(values);
  if (spread === null) return { n: values.length, p10: null, p50: null, p90: null, inside: null };
  const inside = value === null ? null : value >= spread.p10 && value <= spread.p90;
  return { n: spread.n, p10: spread.p10, p50: spread.p50, p90: spread.p90, inside };
}

/**
 * [BN4] Outside limits: something deviated. Not enough data: nothing known deviated, but part of the run or of its RF and gas was not seen. Within
 *       limits is the rest, and says nothing about the boards.
 */
export function verdictOf({ record }: RecordedRun): RunVerdict {
  if (record.deviations.some(({ code }) => code !== 'not-fully-observed')) return 'outside-limits';
  const burned = record.stretches.some(({ phase }) => phase === 'plasma');
  const isBlind = burned && [record.energyJ, record.nominalEnergyJ, record.rfDropouts, record.stableBeforeRf].includes(null);
  return record.coverage < 1 || isBlind ? 'not-enough-data' : 'within-limits';
}
