import { expect, test } from 'vitest';
import type { Candidate, FoundVariable } from '../../src/found.ts';
import type { SignalName } from '../../src/signal.ts';
import { stepCountsFound } from '../../src/step-counts-found.ts';
import { burnsNow, stepCountsSeen, type StepsSeen } from '../../src/step-counts.ts';

const counts = (seen: Partial<StepsSeen>): string | undefined =>
  stepCountsSeen({ step: null, stepCount: null, burns: null, words: [], ...seen })?.counts;

test('[SX1] a number beyond the count of steps, or one that counts while nothing can burn, counts all steps', () => {
  expect([counts({ step: 5, stepCount: 4, burns: true }), counts({ step: 2, burns: false })]).toEqual(['all-steps', 'all-steps']);
  expect([counts({ step: 0, burns: false }), counts({ step: 4, stepCount: 4 }), counts({ step: 4, stepCount: 0 })]).toEqual(Array(3));
});

test('[SX2] 1 while plasma burns counts plasma steps; 2 may be either', () => {
  expect([counts({ step: 1, burns: true }), counts({ step: 2, burns: true }), counts({ step: 1 })]).toEqual([
    'plasma-steps',
    undefined,
    undefined,
  ]);
});

test('[SX3] a name tells it where the numbers do not', () => {
  expect(counts({ words: ['plasma', 'step'] })).toBe('plasma-steps');
  expect(counts({ step: 2, burns: true, words: ['sequence', 'step'] })).toBe('all-steps');
  expect(counts({ step: 5, burns: false, words: ['plasma', 'step'] })).toBe('all-steps');
});

test('[SX1] whether it burns is known only from power, vent valve and pressure that tell it', () => {
  const signs = { pressurePa: null, ventOpen: null, forwardW: null, rfMaxW: 1000 };
  expect(burnsNow(signs)).toBeNull();
  expect([burnsNow({ ...signs, forwardW: 300 }), burnsNow({ ...signs, forwardW: 5 })]).toEqual([true, null]);
  expect([burnsNow({ ...signs, ventOpen: true, forwardW: 300 }), burnsNow({ ...signs, pressurePa: 90_000 })]).toEqual([false, false]);
});

test('[SX4] found values are read in their own units; what could not be read or names no unit says nothing', () => {
  const found = (signal: SignalName, value: string, more: Partial<FoundVariable> = {}): Candidate => ({
    signal,
    variable: { path: ['PC', 'Step'], node: '', type: 'integer', unit: null, unitText: null, range: null, value, description: '', ...more },
    score: 0,
    reason: '',
    inverted: false,
    others: [],
  });
  const step = found('recipe.step', '5');
  const of = (...more: Candidate[]): string | undefined => stepCountsFound([step, ...more])?.counts;
  expect(stepCountsFound([found('rf.forward', '3', { unit: 'kW' })])).toBeNull();
  expect([of(), of(found('chamber.pressure', '760')), of(found('chamber.pressure', '0.2', { unit: 'mbar' }))]).toEqual(Array(3));
  expect(of(found('chamber.pressure', '760', { unit: 'Torr' }))).toBe('all-steps');
  expect(of(found('chamber.pressure', '760', { unit: 'Torr', unread: 'BadNotReadable' }))).toBeUndefined();
  expect(of({ ...found('vent.valveOpen', 'false'), inverted: true })).toBe('all-steps');
  expect(of(found('recipe.stepCount', '3'))).toBe('all-steps');
  const first = { ...step, variable: { ...step.variable, value: '1' } };
  expect(stepCountsFound([first, found('rf.forward', '0.5', { unit: 'kW', range: [0, 2] })])?.counts).toBe('plasma-steps');
  expect(stepCountsFound([{ ...step, variable: { ...step.variable, value: '0', description: 'Schritt im Ablauf' } }])?.counts).toBe(
    'all-steps',
  );
});
