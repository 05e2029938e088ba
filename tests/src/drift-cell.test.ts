import { expect, test } from 'vitest';
import { chamberDrift } from '../../src/chamber-drift.ts';
import { chamberCells, measureLines, siteMeasure } from '../../src/drift-cell.ts';
import { runFigures, SYMPTOMS } from '../../src/drift-series.ts';
import { runsUnder } from './recorded-runs.ts';

const words = { gases: { 1: 'O2' }, measure: siteMeasure('mbar') };
const cells = (runs: number) => {
  const figures = runsUnder({ first: 114, plasma: 313 }, { runs, faultFrom: 40, seed: 7 }).map(runFigures);
  const found = chamberCells(chamberDrift('PC-07', { runs: figures, work: [] }), words);
  return (name: string) => found.find((cell) => cell.name === name);
};

test('[DW1] what no run ever had is no figure; what few runs had is learning, with how many of how many', () => {
  expect(cells(12)('rate-of-rise')).toMatchObject({ state: 'no-figure', learned: null });
  expect(cells(12)('vent')).toMatchObject({ state: 'learning', learned: { runs: 12, needed: 20 } });
  expect(cells(12)('flow-zero')).toMatchObject({ state: 'learning', line: 1, gas: 'O2' });
  const none = chamberCells(chamberDrift('PC-08', { runs: [], work: [] }), words);
  expect(none.map(({ state }) => state)).toEqual(SYMPTOMS.map(() => 'no-figure'));
});

test('[DW2] a shift has its size, its sentence in the unit of the site and its beginning; what is steady has its usual and no size', () => {
  expect(cells(60)('plasma-pressure')).toMatchObject({
    state: 'shifted',
    recipe: 'DSM-PI-25',
    size: expect.stringMatching(/^\+0\.03\d+ mbar \(\d+ %\)$/),
    sentence: expect.stringContaining('usually 0.38'),
    since: expect.any(Number),
  });
  expect(cells(60)('vent')).toMatchObject({ state: 'steady', usual: 97, size: null, since: null });
  expect(measureLines(words.measure).find(({ name }) => name === 'rate-of-rise')).toMatchObject({ symbol: 'mbar/min', scope: 'chamber' });
});
