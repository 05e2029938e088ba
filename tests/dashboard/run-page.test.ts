/** The run page as rows and marks, of the run of tests/src/run-example.ts. */
import { expect, test } from 'vitest';
import { alarmLines, bandText, figureGroups, rangeMark, seenText, stretchRows } from '../../dashboard/run-page.ts';
import { minuteTicks } from '../../dashboard/run-trace.ts';
import { deviationsText, figureText } from '../../dashboard/run-words.ts';
import type { RunBand, RunRecordAnswer } from '../../src/run-answer.ts';
import { runBands } from '../../src/run-band.ts';
import { runRecord } from '../../src/run-record.ts';
import { standardLitres } from '../../src/units.ts';
import { runExample } from '../src/run-example.ts';

const UNITS = { pressure: 'mTorr', flow: 'sccm' };
const input = runExample();
const record = runRecord(input);
const answer = {
  record,
  gases: [
    { line: 1, kind: 'O2', fullScaleMolPerS: 1 },
    { line: 2, kind: 'CF4', fullScaleMolPerS: 1 },
  ],
  units: UNITS,
} as unknown as RunRecordAnswer;

test('each stretch tells what was set and measured in the units of the site', () => {
  const step = stretchRows(answer).find(({ name }) => name === 'plasma 2/2');
  expect(step?.rows.map(({ what, set, mean, out }) => [what, set, mean, out])).toEqual([
    ['pressure, mTorr', '', '220', ''],
    ['O2 flow, sccm', '500', '500', '0 s'],
    ['CF4 flow, sccm', '100', '100', '0 s'],
    ['forward power, W', '1500', '1500', '0 s'],
    ['reflected power, W', '', '15.0', ''],
  ]);
});

test('a stretch of which part was not heard says so beside its time, by the signal heard least', () => {
  const plasma = record.stretches.find(({ phase, step }) => phase === 'plasma' && step === 2)!;
  const half = {
    ...plasma,
    quantities: plasma.quantities.map((one, i) => (i === 1 ? { ...one, knownMs: (plasma.to - plasma.from) / 2 } : one)),
  };
  expect([seenText([plasma], plasma.from), seenText([half], plasma.from), seenText([half], plasma.from + 1)]).toEqual([
    '',
    '50 % seen',
    '',
  ]);
});

test('a mark stands on one scale with both bands; what nobody knows has no place', () => {
  const usual = { n: 20, p10: 10, p50: 20, p90: 30, inside: true };
  const band: RunBand = {
    name: 'purge',
    words: 'purge',
    unit: 's',
    value: 50,
    own: usual,
    sisters: { ...usual, p10: 20, p50: 20, p90: 20 },
  };
  expect(rangeMark(band)?.run).toBeCloseTo(0.9);
  expect(rangeMark(band)?.own?.map((place) => place.toFixed(2))).toEqual(['0.10', '0.30', '0.50']);
  expect(rangeMark({ ...band, value: null })?.run).toBeNull();
  const none = { n: 4, p10: null, p50: null, p90: null, inside: null };
  expect(rangeMark({ ...band, own: none, sisters: none })).toBeNull();
  expect(bandText({ ...band, own: none }, UNITS)).toBe(
    'usual here: not enough good runs (4); in other chambers: 20.0 s to 20.0 s, median 20.0 s, of 20 runs',
  );
});

test('every figure stands in one group', () => {
  const bands = runBands({ run: input.run, record }, [], []);
  expect(
    figureGroups(bands)
      .flatMap((group) => group.bands.map(({ name }) => name))
      .sort(),
  ).toEqual(bands.map(({ name }) => name).sort());
});

test('figures are told in trade units, and what is missing as missing', () => {
  expect(figureText(3600, 'J', UNITS)).toBe('1.0 Wh');
  expect(figureText(0.0149, '1', UNITS)).toBe('1.49 %');
  expect(figureText(133.322368421 / 1000 / 60, 'Pa/s', UNITS)).toBe('1.00 mTorr/min');
  expect(figureText(null, 's', UNITS)).toBe('–');
  // Molar volume at 0 °C and 101325 Pa, CODATA: 22.413969545 L/mol.
  expect(standardLitres(2)).toBeCloseTo(44.82793909, 8);
});

test('a chattering alarm is one line, and a run without a record is not one without deviations', () => {
  const alarm = { code: 'A', text: 'Reflected power high', priority: 'medium', at: 1 } as const;
  expect(alarmLines([alarm, { ...alarm, at: 9 }])).toEqual([
    { code: 'A', text: alarm.text, priority: 'medium', first: 1, last: 9, times: 2 },
  ]);
  expect([deviationsText(null), deviationsText([]), deviationsText(['energy-low'])]).toEqual(['–', '', 'RF energy low']);
});

test('an axis has a dozen ticks at most, from the begin of the run on', () => {
  const ticks = (minutes: number) => minuteTicks(-60_000, minutes * 60_000, 0).map(({ value }) => value / 60_000);
  expect(ticks(10)).toEqual([0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10]);
  expect(ticks(47)).toEqual([0, 5, 10, 15, 20, 25, 30, 35, 40, 45]);
  expect(ticks(2000).length).toBeLessThanOrEqual(12);
});
