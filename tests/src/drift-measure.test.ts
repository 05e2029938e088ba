import { expect, test } from 'vitest';
import {
  changeText,
  charted,
  charting,
  DRIFT_MEASURES,
  inPressureUnit,
  isWorthTelling,
  leastSigma,
  shown,
} from '../../src/drift-measure.ts';
import { TORR_PA } from '../../src/units.ts';

test('[DM1] a change must exceed both its least share and its least size: 137 s need 6.85 s, 20 s need 2 s (by hand)', () => {
  const measure = DRIFT_MEASURES['pump-down-first'];
  expect([isWorthTelling(measure, 143.8, 137), isWorthTelling(measure, 143.9, 137), isWorthTelling(measure, 130.1, 137)]).toEqual([
    false,
    true,
    true,
  ]);
  expect([isWorthTelling(measure, 21.9, 20), isWorthTelling(measure, 22, 20)]).toEqual([false, true]);
});

test('[DM2] a figure told in whole seconds spreads by 1/√12 s at least', () => {
  expect(leastSigma(DRIFT_MEASURES['pump-down-first'], 103)).toBeCloseTo(0.288675, 6);
});

test('[DM1] sizes are shown in trade units with three digits', () => {
  const torr = TORR_PA;
  expect(shown(DRIFT_MEASURES['plasma-pressure'], 0.288 * torr)).toBe('288 mTorr');
  expect(shown(DRIFT_MEASURES['rate-of-rise'], (0.05 * torr) / 60)).toBe('50.0 mTorr/min');
  expect(shown(DRIFT_MEASURES['reflected-fraction'], 0.0152)).toBe('1.52 % of forward');
  expect(shown(DRIFT_MEASURES['delivered-energy'], 4_906_800)).toBe('1363 Wh');
  expect(shown(DRIFT_MEASURES['pump-down'], 0)).toBe('0 s');
});

test('[DM3] a site in mbar reads mbar, and mbar/min for a rise; 1 Torr is 1.33322 mbar (101325/760 Pa)', () => {
  const plasma = inPressureUnit(DRIFT_MEASURES['plasma-pressure'], 'mbar');
  expect(shown(plasma, 0.288 * TORR_PA)).toBe('0.384 mbar');
  expect(shown(inPressureUnit(DRIFT_MEASURES['rate-of-rise'], 'Pa'), TORR_PA / 60 / 1000)).toBe('0.133 Pa/min');
  expect(inPressureUnit(DRIFT_MEASURES['pump-down'], 'mbar')).toBe(DRIFT_MEASURES['pump-down']);
  expect(plasma.least).toBe(DRIFT_MEASURES['plasma-pressure'].least);
});

test('[DM1] a change is told with its sign, its size and its share, shares of a full scale without another', () => {
  expect(changeText(DRIFT_MEASURES['pump-down'], 24, 0.1752)).toBe('+24.0 s (18 %)');
  expect(changeText(DRIFT_MEASURES['flow-zero'], -0.008, null)).toBe('−0.800 % of full scale');
});

test('[DM4] a tail is charted by its logarithm and read back; nothing is shorter than a tenth of its resolution; other figures are charted as they are', () => {
  const tail = DRIFT_MEASURES['pump-down-tail'];
  expect(charting(tail, 18)).toBeCloseTo(Math.log(18), 12);
  expect(charted(tail, charting(tail, 18))).toBeCloseTo(18, 12);
  expect(charting(tail, 0)).toBeCloseTo(Math.log(0.1), 12);
  expect([charting(DRIFT_MEASURES.vent, 97), charted(DRIFT_MEASURES.vent, 97)]).toEqual([97, 97]);
});

test('[DM5] loads spread a pump-down by a tenth at least, whatever twenty runs have seen', () => {
  expect(leastSigma(DRIFT_MEASURES['pump-down'], 137)).toBeCloseTo(13.7, 12);
  expect(leastSigma(DRIFT_MEASURES['flow-zero'], -0.4)).toBeCloseTo(0.0005 / Math.sqrt(12), 12);
});
