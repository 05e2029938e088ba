/**
 * Verdicts as the pages, tables and mails say them: one cell of the fleet's table, in words and in the units of the site.
 * [DW1] A figure of which no run ever had a value is no figure, which is not "learning".
 * [DW2] A shift has a size in trade terms and a beginning; an odd run has a size and is not called a shift.
 */
import { worstOf } from './chamber-drift.ts';
import type { ChamberDrift, SeriesVerdict } from './chamber-drift.ts';
import type { DriftCell, DriftMeasureLine } from './drift-answer.ts';
import { driftSentence } from './drift.ts';
import type { MeasureOf, SymptomName } from './drift-cause.ts';
import { measureOf } from './drift-cause.ts';
import { changeText, inPressureUnit } from './drift-measure.ts';
import { SERIES_KINDS, SYMPTOMS } from './drift-series.ts';

/** What no chart of a controller's own reading can see. */
export const NOT_CHECKABLE =
  'Flow calibration is not checkable from the controller’s own reading: one that delivers more or less than it shows agrees with itself. ' +
  'Check each flow controller against a reference.';

/** The words for a chamber: its gases by line, and the figures in the site's unit of pressure. */
export type CellWords = { readonly gases: Readonly<Record<number, string>>; readonly measure: MeasureOf };

export const siteMeasure =
  (pressureUnit: string): MeasureOf =>
  (name) =>
    inPressureUnit(measureOf(name), pressureUnit);

export const measureLines = (measure: MeasureOf): DriftMeasureLine[] => SYMPTOMS.map((name) => measureLine(name, measure));

export function measureLine(name: SymptomName, measure: MeasureOf): DriftMeasureLine {
  const { name: label, symbol, gain } = measure(name);
  return { name, label, symbol, gain, scope: SERIES_KINDS[name].scope };
}

/** One cell per figure: of the chamber's worst recipe and line. */
export const chamberCells = (drift: ChamberDrift, words: CellWords): DriftCell[] =>
  SYMPTOMS.map((name) => {
    const found = worstOf(drift, name);
    return found === null ? emptyCell(name) : driftCell(found, words);
  });

/** [DW1] */
const emptyCell = (name: string): DriftCell => ({
  name,
  recipe: null,
  line: null,
  gas: null,
  state: 'no-figure',
  learned: null,
  value: null,
  usual: null,
  sigma: null,
  size: null,
  sentence: null,
  since: null,
  runsSince: null,
});

/** [DW1] [DW2] */
export function driftCell({ name, recipe, line, verdict }: SeriesVerdict, { gases, measure }: CellWords): DriftCell {
  const cell = { ...emptyCell(name), recipe, line, gas: line === null ? null : (gases[line] ?? null) };
  switch (verdict.state) {
    case 'learning':
      return verdict.runs === 0 ? cell : { ...cell, state: 'learning', learned: { runs: verdict.runs, needed: verdict.needed } };
    case 'steady':
      return { ...cell, state: 'steady', usual: verdict.usual, sigma: verdict.sigma };
    default: {
      const { state, value, usual, sigma, change, changeShare, since, runsSince } = verdict;
      const size = changeText(measure(name), change, changeShare);
      const sentence = driftSentence(measure(name), verdict);
      return { ...cell, state, value, usual, sigma, size, sentence, since: since.at, runsSince };
    }
  }
}
