/**
 * The plant's vacuum against handbook cases and against the numbers the model was designed to give.
 * Handbook: t = (V/S)·ln((p0 − pu)/(p1 − pu)) and p = Q/S (textbook vacuum formulas; figures recomputed). Model figures: measured on a
 * prototype of the same equations, no outside source.
 */
import { describe, expect, test } from 'vitest';
import { SIZES } from '../../../gateway/simulator/design.ts';
import { effectiveSpeed, leakLoad, pressureAfter, SCCM_MTORR_LS, ventLoad } from '../../../gateway/simulator/vacuum.ts';

const MTORR_PER_PA = 760_000 / 101_325;
const SPEED_LS = 100_000 / 3600; // 100 m³/h

describe('handbook pump-down of 0.5 m³ at 100 m³/h from 101 325 Pa to 10 Pa', () => {
  test.each([
    { ultimatePa: 0, seconds: 166.02306 },
    { ultimatePa: 1, seconds: 167.91937 },
    { ultimatePa: 5, seconds: 178.49882 },
  ])('takes $seconds s with an ultimate pressure of $ultimatePa Pa', ({ ultimatePa, seconds }) => {
    expect(pressureAfter(101_325, SPEED_LS * ultimatePa, SPEED_LS, 500, seconds)).toBeCloseTo(10, 4);
  });

  test('comes out the same in one step, in 1 s steps and in 0.1 s steps', () => {
    const inSteps = (dt: number): number => {
      let pressure = 101_325;
      for (let i = 0; i < Math.round(160 / dt); i++) pressure = pressureAfter(pressure, SPEED_LS, SPEED_LS, 500, dt);
      return pressure;
    };
    expect(inSteps(1)).toBeCloseTo(inSteps(160), 8);
    expect(inSteps(0.1)).toBeCloseTo(inSteps(160), 8);
  });

  test('loses a decade in 41.446532 s', () => {
    expect(pressureAfter(1000, 0, SPEED_LS, 500, 41.446532)).toBeCloseTo(100, 5);
  });
});

test('500 sccm (0 °C) of gas at 20 °C against 100 m³/h settle at 32.62320 Pa (p = Q/S, textbook)', () => {
  const perSccm = (760_000 / 60_000) * (293.15 / 273.15); // mTorr·L/s: 1 atm·cm³/min warmed to 20 °C
  const settled = pressureAfter(1, 500 * perSccm, SPEED_LS, 500, 3600);
  expect(settled).toBeCloseTo(244.6941, 3);
  expect(settled / MTORR_PER_PA).toBeCloseTo(32.6232, 4);
});

test('one sccm at a chamber of 25 °C is 13.83 mTorr·L/s (gas law, from the definition of the standard litre)', () => {
  expect(SCCM_MTORR_LS).toBeCloseTo((760_000 / 60_000) * (298.15 / 273.15), 1);
});

test('a closed 450 L chamber with a leak of 50 mTorr/min gains 50 mTorr in a minute (rate of rise, textbook)', () => {
  expect(pressureAfter(100, leakLoad(50, 450, 100), 0, 450, 60)).toBeCloseTo(150, 6);
});

test('effective speed of the medium chamber falls where the line and where the booster limit it (model figures)', () => {
  const healthy = { pumpSpeed: 1, ultimate: 8 };
  const expected = [
    [20, 20],
    [50, 33],
    [100, 42],
    [200, 50],
    [500, 56],
    [1000, 57],
    [5000, 42],
    [20_000, 27],
    [100_000, 22],
    [760_000, 22],
  ] as const;
  for (const [pressure, speed] of expected) expect(Math.abs(effectiveSpeed(SIZES.M, pressure, healthy) - speed)).toBeLessThan(0.8);
});

test('vent gas is choked, so constant, until about half an atmosphere and dies away before a whole one', () => {
  expect(ventLoad(450, 380_000, 1)).toBe(ventLoad(450, 1000, 1));
  expect(ventLoad(450, 700_000, 1)).toBeLessThan(0.6 * ventLoad(450, 1000, 1));
  expect(ventLoad(450, 760_000, 1)).toBe(0);
});
