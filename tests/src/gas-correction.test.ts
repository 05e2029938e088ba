import { expect, test } from 'vitest';
import { actualFlow, harmonicFactor, setPointFor, thermalFactor } from '../../src/gas-correction.ts';

test('[GC1] P10: a nitrogen controller showing 100 passes 42.0 of CF4 (.42); an argon one (1.39) 50.3597 of CO2 (.70) (component makers, seen)', () => {
  expect(actualFlow(100, { gasFactor: 0.42, calibrationFactor: 1 })).toBeCloseTo(42, 10);
  expect(actualFlow(100, { gasFactor: 0.7, calibrationFactor: 1.39 })).toBeCloseTo(50.3597, 4);
});

test('[GC1] the set point undoes the factor: 10 of the mixture on an oxygen controller is 7.364 (SPring-8 BL28 example, recomputed)', () => {
  const { factor } = harmonicFactor([
    { share: 0.1, gasFactor: 0.99 },
    { share: 0.9, gasFactor: 1.4 },
  ]);
  const on = { gasFactor: factor, calibrationFactor: 0.99 };
  expect(setPointFor(10, on)).toBeCloseTo(7.364, 3);
  expect(actualFlow(setPointFor(10, on), on)).toBeCloseTo(10, 12);
});

test('[GC2] P11: oxygen/helium 10/90 by the harmonic rule is 1.344326 (SPring-8 BL28, prints 1.34), oxygen/CF4 80/20 .783582 (own)', () => {
  const oxygenHelium = [
    { share: 10, gasFactor: 0.99 },
    { share: 90, gasFactor: 1.4 },
  ];
  const found = harmonicFactor(oxygenHelium);
  expect(found.rule).toBe('harmonic');
  expect(found.factor).toBeCloseTo(1.344326, 6);
  const oxygenCf4 = [
    { share: 0.8, gasFactor: 1 },
    { share: 0.2, gasFactor: 0.42 },
  ];
  expect(harmonicFactor(oxygenCf4).factor).toBeCloseTo(0.783582, 6);
});

test('[GC2] P11: argon/nitrogen 150:50 by structure factor and heat capacity is 1.302036 (maker’s manual, prints 1.302); harmonic says 1.2665', () => {
  const found = thermalFactor([
    { share: 150, structureFactor: 1.03, densityGPerL: 1.782, heatCapacityCalPerGK: 0.1244 },
    { share: 50, structureFactor: 1, densityGPerL: 1.25, heatCapacityCalPerGK: 0.2485 },
  ]);
  expect(found.rule).toBe('structure factor and heat capacity');
  expect(found.factor).toBeCloseTo(1.302036, 5);
  const other = harmonicFactor([
    { share: 150, gasFactor: 1.39 },
    { share: 50, gasFactor: 1 },
  ]);
  expect(other.factor).toBeCloseTo(1.2665, 4);
});

test('[GC3] parts of nothing, or below zero, are refused in a sentence', () => {
  expect(() => harmonicFactor([])).toThrow('by volume');
  expect(() =>
    harmonicFactor([
      { share: -1, gasFactor: 1 },
      { share: 2, gasFactor: 1 },
    ]),
  ).toThrow('by volume');
  expect(() => thermalFactor([])).toThrow('by volume');
});
