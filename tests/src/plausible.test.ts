/** Values that cannot be true at once. Bounds: vacuum practice, from memory, no source. */
import { expect, test } from 'vitest';
import { doubtsOf, type ChamberLimits } from '../../src/plausible.ts';
import type { SignalName } from '../../src/signal.ts';

const LIMITS: ChamberLimits = { rfMaxW: 600, stepCounts: 'plasma-steps' };
const doubted = (values: Partial<Record<SignalName, number | boolean | string>>): (readonly SignalName[])[] =>
  doubtsOf(new Map(Object.entries(values) as [SignalName, number | boolean][]), LIMITS).map(({ signals }) => signals);

test('[PB1] a quantity beyond what can be there is doubted, one inside is not', () => {
  expect(
    doubted({ 'chamber.pressure': 100_900, 'utility.compressedAirPressure': 600_000, 'rf.forward': 620, 'pump.bodyTemperature': 335 }),
  ).toEqual([]);
  expect(
    doubted({ 'chamber.pressure': 1_009_000, 'utility.compressedAirPressure': 6.1, 'rf.forward': 450_000, 'pump.bodyTemperature': 62 }),
  ).toEqual([['chamber.pressure'], ['utility.compressedAirPressure'], ['pump.bodyTemperature'], ['rf.forward']]);
});

test('[PB2] door, switches and valves are held against the pressure and each other', () => {
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

test('[PB3] a step number that shows another count than the site file says is doubted, with what to say; one that fits it, or says nothing, is not', () => {
  const of = (stepCounts: ChamberLimits['stepCounts'], values: Partial<Record<SignalName, number | boolean>>): string =>
    doubtsOf(new Map(Object.entries(values) as [SignalName, number | boolean][]), { rfMaxW: 600, stepCounts })
      .map(({ signals, text }) => `${signals.join()}: ${text}`)
      .join('\n');
  const vented = { 'recipe.step': 5, 'vent.valveOpen': true };
  const burning = { 'recipe.step': 1, 'chamber.pressure': 20, 'rf.forward': 300 };
  expect(of('plasma-steps', vented)).toBe(
    'recipe.step: The site file says counts: plasma-steps, but it counts while nothing can burn. If it counts the whole sequence, say counts: all-steps; else every run would be told aborted.',
  );
  expect(of('plasma-steps', { 'recipe.step': 1031, 'recipe.stepCount': 7, 'chamber.pressure': 20 })).toMatch(
    /is 1031, and the recipe has 7/,
  );
  expect(of('plasma-steps', { 'recipe.step': 1, 'chamber.pressure': 50_000 })).toMatch(/say counts: all-steps/);
  expect(of('all-steps', burning)).toMatch(/but it is 1 while plasma burns. .* say counts: plasma-steps; else a run that was cut short/);
  for (const [counts, values] of [
    ['plasma-steps', burning],
    ['all-steps', vented],
    ['plasma-steps', { 'recipe.step': 0, 'vent.valveOpen': true, 'chamber.pressure': 50_000 }],
    ['plasma-steps', { 'recipe.step': 1, 'chamber.pressure': 20 }],
    [null, {}],
  ] as const)
    expect(of(counts, values)).toBe('');
  expect(of(null, { 'recipe.step': 0 })).toMatch(
    /does not say what it counts, so no run is told aborted by it. Say counts: plasma-steps or all-steps.$/,
  );
  expect(of(null, vented)).toMatch(/Now it counts while nothing can burn: all-steps is likely.$/);
});

test('[PB4] what is not known excludes nothing', () => {
  expect(doubted({})).toEqual([]);
  expect(doubted({ 'chamber.doorClosed': false })).toEqual([]);
  expect(doubted({ 'chamber.vacuumSwitch': true, 'chamber.pressure': 65_000 })).toEqual([]);
});
