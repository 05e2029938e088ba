import { expect, test } from 'vitest';
import { goodValue, NO_INPUTS, SCCM, slotOf, wanted } from '../../src/inputs.ts';
import type { Inputs } from '../../src/chamber-state.ts';
import { rulesBySignals as rules } from '../scenarios/scenario-rules.ts';
import { reading } from './story.ts';

const slot = slotOf('chamber.pressure')!;
const inputs = (some: Partial<Inputs>): Inputs => ({ ...NO_INPUTS, ...some });

test('[IN1] bad, uncertain and non-finite values do not enter', () => {
  expect(goodValue(slot, reading('chamber.pressure', 13, 0))).toBe(13);
  expect(goodValue(slot, reading('chamber.pressure', null, 0, { quality: 'bad' }))).toBeUndefined();
  expect(goodValue(slot, reading('chamber.pressure', 13, 0, { quality: 'uncertain' }))).toBeUndefined();
  expect(goodValue(slot, reading('chamber.pressure', Number.NaN, 0))).toBeUndefined();
  expect(goodValue(slot, reading('chamber.pressure', Number.POSITIVE_INFINITY, 0))).toBeUndefined();
  expect(goodValue(slot, reading('chamber.pressure', 'low', 0))).toBeUndefined();
});

test('one sccm is 7.436e-7 mol/s (0 °C, 101 325 Pa: NIST SP 811 gas constant, ideal gas, recomputed by hand)', () => {
  expect(SCCM).toBeCloseTo(7.43583e-7, 11);
});

test('[IN2] gas is on above 40 sccm and off below 20, zero errors of 1 % taken off, a shut valve flowing nothing', () => {
  const at = (sccm: number, more: Partial<Inputs> = {}): Inputs => inputs({ flow1: (sccm + 15) * SCCM, ...more });
  expect(wanted('gas', at(39), rules, false)).toBe(false);
  expect(wanted('gas', at(41), rules, false)).toBe(true);
  expect(wanted('gas', at(21), rules, true)).toBe(true);
  expect(wanted('gas', at(19), rules, true)).toBe(false);
  expect(wanted('gas', at(600, { gasValve1: false }), rules, true)).toBe(false);
  expect(wanted('processGas', inputs({ flow1: 0, flow3: 500 * SCCM }), rules, false)).toBe(false);
  expect(wanted('fluorine', inputs({ flow1: 900 * SCCM, flow2: 0 }), rules, false)).toBe(false);
});

test('[IN3] RF is on above 2 % of the generator and off below 1 %', () => {
  expect([79, 81].map((forwardW) => wanted('rf', inputs({ forwardW }), rules, false))).toEqual([false, true]);
  expect([41, 39].map((forwardW) => wanted('rf', inputs({ forwardW }), rules, true))).toEqual([true, false]);
});

test('[IN4] the atmosphere switch goes before the gauge; without a switch the gauge decides', () => {
  expect(wanted('atmosphere', inputs({ atmosphere: false, pressurePa: 101_325 }), rules, null)).toBe(false);
  expect(wanted('atmosphere', inputs({ pressurePa: 101_325 }), rules, false)).toBe(true);
  expect(wanted('atmosphere', inputs({ pressurePa: 80_000 }), rules, true)).toBe(true);
  expect(wanted('atmosphere', inputs({ pressurePa: 60_000 }), rules, true)).toBe(false);
});

test('[IN5] a text is capped and trimmed, and an empty one is none', () => {
  const recipe = slotOf('recipe.name')!;
  expect(goodValue(recipe, reading('recipe.name', 'x'.repeat(300), 0))).toHaveLength(80);
  expect(goodValue(recipe, reading('recipe.name', '   ', 0))).toBeNull();
});
