import type { AmountUnit } from '../../src/explanation.ts';
import { exampleExplanation } from '../gateway/wire-examples.ts';
import { describe, expect, test } from 'vitest';
import { adds, amount, bars, placeOf } from '../../dashboard/explain-words.ts';
import {
  bestMinute,
  limitPieces,
  meanAxis,
  meanPlace,
  meanWords,
  measureVerdict,
  missedText,
  targetText,
  usualText,
} from '../../dashboard/week-kpi.ts';
import type { CyclePart, MeanFigure, TargetLine, Throughput } from '../../src/kpi.ts';

const H = 3_600_000;
const mean = (estimate: number | null, low: number | null, high: number | null): MeanFigure => ({
  name: 'MTBFp',
  words: 'productive time per failure in production',
  unit: 'ms',
  estimate,
  low,
  high,
  confidence: 0.9,
  sides: high === null ? 'lower only' : 'two-sided',
  amount: 96 * H,
  count: 4,
  rule: '',
});
const part = (name: CyclePart['part'], limit: CyclePart['limit'], ms: number, gain: number): CyclePart => ({
  part: name,
  limit,
  ms,
  cycles: 1,
  minuteLoadsPerWeek: gain,
  minuteLoadsPerWeekBusy: gain,
});
const cycles = (parts: CyclePart[]): Throughput => ({
  recipe: null,
  cycles: 1,
  busyCycles: 1,
  cycleMs: parts.reduce((sum, { ms }) => sum + ms, 0),
  parts,
  limiting: null,
  limitedBy: null,
  rule: '',
});

describe('means with bounds', () => {
  test('hours for long times, minutes for short ones, and no upper bound without a failure', () => {
    expect(meanWords(mean(24 * H, 10.5 * H, 70.3 * H))).toEqual({ value: '24\u00a0h', bounds: '11 to 70\u00a0h' });
    expect(meanWords(mean(0.85 * H, 0.4 * H, 3.1 * H))).toEqual({ value: '51\u00a0min', bounds: '24 to 186\u00a0min' });
    expect(meanWords(mean(null, 41.7 * H, null))).toEqual({ value: '–', bounds: 'at least 42\u00a0h' });
    expect(meanWords(mean(null, null, null)).bounds).toBe('');
  });

  test('all figures of a column share an axis of whole decades; an open bound reaches its end', () => {
    const axis = meanAxis([mean(24 * H, 10 * H, 70 * H), mean(null, 200 * H, null)]);
    expect([axis.from, axis.to]).toEqual([1e7, 1e9]);
    expect(meanPlace(mean(1e8, 1e7, 1e9), axis)).toEqual({ low: 0, high: 1, value: expect.closeTo(0.5, 9) as number, isOpen: false });
    expect(meanPlace(mean(null, 1e8, null), axis)).toMatchObject({ value: null, high: 1, isOpen: true });
    expect(meanPlace(mean(null, null, null), axis)).toBeNull();
    expect(meanAxis([])).toEqual({ from: 1, to: 10 });
  });
});

describe('what limits', () => {
  const all = cycles([
    part('plasma', 'plasma', 50, 9),
    part('load', 'people', 30, 2),
    part('vent', 'sequence', 10, 5),
    part('idle', 'idle', 10, 8),
  ]);

  test('the kinds of parts lie side by side and fill the cycle', () => {
    const pieces = limitPieces(all);
    expect(pieces.map(({ limit, width }) => [limit, width])).toEqual([
      ['plasma', 0.5],
      ['sequence', 0.1],
      ['people', 0.3],
      ['idle', 0.1],
    ]);
    expect((pieces.at(-1)?.start ?? 0) + (pieces.at(-1)?.width ?? 0)).toBeCloseTo(1, 12);
  });

  test('the best minute is one that somebody can save: not the recipe, not idling', () => {
    expect(bestMinute(all)?.part).toBe('vent');
    expect(bestMinute(cycles([part('plasma', 'plasma', 50, 9)]))).toBeNull();
  });
});

describe('targets and what is usual', () => {
  const line = (verdict: TargetLine['verdict'], value: number | null = 1): TargetLine => ({
    position: 'whole hall',
    name: 'alarms per day',
    value,
    target: 150,
    most: 300,
    unit: 'per day',
    verdict,
    rule: '',
  });

  test('a measure has its own verdict, whatever the others have, and what was missed is told apart', () => {
    const chattering = { ...line('above target', 4), name: 'chattering alarms' };
    const lines = [line('within target'), chattering, { ...line('not known', null), name: 'time in flood' }];
    expect(measureVerdict(lines, 'alarms per day')).toBe('within target');
    expect(measureVerdict(lines, 'chattering alarms')).toBe('above target');
    expect([missedText(lines), missedText([])]).toEqual(['1 of 2 alarm targets missed', '']);
    expect(measureVerdict([], 'alarms per day')).toBe('not known');
  });

  test('of several positions the worst is told and named', () => {
    const at = (position: string, verdict: TargetLine['verdict']): TargetLine => ({ ...line(verdict), position });
    const three = [at('East', 'within target'), at('West', 'above target'), at('North', 'within target')];
    expect(measureVerdict(three, 'alarms per day')).toBe('above target at West');
    expect(measureVerdict([...three, at('South', 'above target')], 'alarms per day')).toBe('above target at 2 of 4 positions');
  });

  test('values in their own units, missing as a dash', () => {
    expect([
      targetText(line('within target', 200.4)),
      targetText({ value: 0.035, unit: 'share' }),
      targetText({ value: null, unit: 'count' }),
    ]).toEqual(['200', '4\u00a0%', '–']);
    expect([usualText({ low: 14 * H, high: 40 * H, median: 28 * H, weeks: 5 }), usualText(null)]).toEqual(['usually 14 to 40\u00a0h', '']);
    expect(usualText({ low: 0, high: 0, median: 0, weeks: 5 })).toBe('usually none');
  });
});

describe('explanations on the page', () => {
  const SITE = { pressure: 'mTorr', flow: 'sccm' };

  test('amounts in their unit, physical ones in that of the site', () => {
    const told = (value: number | null, unit: AmountUnit): string => amount(value, unit, SITE);
    expect([
      told(0.44017, 'share'),
      told(2.5 * H, 'ms'),
      told(150_000, 'ms'),
      told(90_000, 'ms'),
      told(42, 'count'),
      told(null, 'ms'),
    ]).toEqual(['44.02\u00a0%', '2.50\u00a0h', '2.50\u00a0min', '90.0\u00a0s', '42', '–']);
    expect([
      told(13.332, 'Pa'),
      told(3_600_000, 'J'),
      told(0.0446, 'mol'),
      told(800.4, 'W'),
      told(1.256, 'ratio'),
      told(0.13332, 'Pa/s'),
    ]).toEqual(['100\u00a0mTorr', '1000\u00a0Wh', '1.00\u00a0L', '800\u00a0W', '1.26', '60.0\u00a0mTorr/min']);
  });

  test('parts are bars of their whole', () => {
    const term = {
      words: '',
      unit: 'ms' as const,
      amount: 4 * H,
      parts: [{ label: 'run', state: 'productive' as const, amount: 3 * H, count: 2 }],
    };
    expect(bars(term, SITE)).toEqual([{ label: 'run', width: 0.75, text: '3.00\u00a0h', count: 2, state: 'productive' }]);
  });

  test('a row shows what it adds, not how long it lasted: a cycle its cycle time, a failure one, what adds nothing none', () => {
    const row = { chamber: 'PC-05', from: 0, to: 3 * H, state: null, text: '', counts: '', run: null, amount: 45 * 60_000 };
    const told = exampleExplanation('time/standby');
    const counted = { ...told, madeOfUnit: 'count' as const };
    expect([adds(row, told), adds({ ...row, amount: 1 }, counted), adds({ ...row, amount: null }, told)]).toEqual([
      '45.00\u00a0min',
      '1',
      '',
    ]);
  });

  test('a row of the whole fleet leads to its week', () => {
    const row = { chamber: null, from: 0, to: 1, state: null, text: '2026-W46', counts: '', run: null, amount: 1 };
    expect(placeOf(row)).toBe('/week/2026-W46');
  });

  test('a row leads to the chamber in the middle of a short stretch, and to the first quarter hour of a long one', () => {
    const row = { chamber: 'PC/05', from: 1000, to: 3000, state: null, text: '', counts: '', run: null, amount: 1 };
    expect(placeOf(row)).toBe('/chamber/PC%2F05?at=2000');
    expect(placeOf({ ...row, to: 1000 + 10 * H })).toBe(`/chamber/PC%2F05?at=${1000 + 900_000}`);
  });
});
