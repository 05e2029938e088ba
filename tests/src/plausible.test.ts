/** Values that cannot be true at once. Bounds: vacuum practice, from memory, no source. */
import { expect, test } from 'vitest';
import { doubtsOf } from '../../src/plausible.ts';
import type { SignalName } from '../../src/signal.ts';

const LIMITS = { rfMaxW: 600 };
const doubted = (values: Partial<Record<SignalName, number | boolean | string>>): (readonly SignalName[])[] =>
  doubtsOf(new Map(Object.entries(values) as [SignalName, number | boolean][]), LIMITS).map(({ signals }) => signals);

test('[PL1] a quantity beyond what can be there is doubted, one inside is not', () => {
  expect(
    doubted({ 'chamber.pressure': 100_900, 'utility.compressedAirPressure': 600_000, 'rf.forward': 620, 'pump.bodyTemperature': 335 }),
  ).toEqual([]);
  expect(
    doubted({ 'chamber.pressure': 1_009_000, 'utility.compressedAirPressure': 6.1, 'rf.forward': 450_000, 'pump.bodyTemperature': 62 }),
  ).toEqual([['chamber.pressure'], ['utility.compressedAirPressure'], ['pump.bodyTemperature'], ['rf.forward']]);
});

test('[PL2] door, switches and valves are held against the pressure and each other', () => {
  expect(doubted({ 'chamber.pressure': 4, 'chamber.doorClosed': false })).toEqual([['chamber.doorClosed', 'chamber.pressure']]);
  expect(doubted({ 'chamber.pressure': 101_000, 'chamber.vacuumSwitch': true })).toEqual([['chamber.vacuumSwitch', 'chamber.pressure']]);
  expect(doubted({ 'chamber.pressure': 4, 'chamber.atmosphereSwitch': true })).toEqual([['chamber.atmosphereSwitch', 'chamber.pressure']]);
  expect(doubted({ 'chamber.doorClosed': false, 'chamber.atmosphereSwitch': false })).toEqual([
    ['chamber.doorClosed', 'chamber.atmosphereSwitch'],
  ]);
  // Just before it trips, while the chamber is vented.
  expect(doubted({ 'chamber.pressure': 90_000, 'chamber.atmosphereSwitch': false, 'chamber.doorClosed': true })).toEqual([]);
  expect(doubted({ 'vent.valveOpen': true, 'pump.chamberValveOpen': true })).toEqual([['vent.valveOpen', 'pump.chamberValveOpen']]);
  expect(doubted({ 'chamber.doorClosed': false, 'pump.chamberValveOpen': true, 'rf.enabled': true }).length).toBe(2);
  expect(
    doubted({ 'chamber.pressure': 4, 'chamber.doorClosed': true, 'chamber.vacuumSwitch': true, 'pump.chamberValveOpen': true }),
  ).toEqual([]);
});

test('[PL3] a step that counts while the chamber is vented or far from vacuum is doubted; in the plasma, and at 0, it is not', () => {
  expect(doubted({ 'recipe.step': 5, 'vent.valveOpen': true })).toEqual([['recipe.step']]);
  expect(doubted({ 'recipe.step': 1, 'chamber.pressure': 50_000 })).toEqual([['recipe.step']]);
  expect(doubted({ 'recipe.step': 0, 'vent.valveOpen': true, 'chamber.pressure': 50_000 })).toEqual([]);
  expect(doubted({ 'recipe.step': 1, 'chamber.pressure': 20 })).toEqual([]);
});

test('[PL4] what is not known excludes nothing', () => {
  expect(doubted({})).toEqual([]);
  expect(doubted({ 'chamber.doorClosed': false })).toEqual([]);
  expect(doubted({ 'chamber.vacuumSwitch': true, 'chamber.pressure': 65_000 })).toEqual([]);
});
