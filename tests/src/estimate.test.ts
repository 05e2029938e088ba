import { expect, test } from 'vitest';
import type { ChamberState } from '../../src/chamber-state.ts';
import { runningRun } from '../../src/estimate.ts';
import { rulesByTag } from '../scenarios/scenario-rules.ts';
import { observeAll, readingsOfStory, runWith, stateAfter, taggedRun } from './story.ts';

const START = Date.parse('2026-11-25T06:00:00Z');
const at = (minutes: number, seconds = 0): number => START + (60 * minutes + seconds) * 1000;

/** The state at a moment of the second of two equal runs. */
function secondRunAt(text: string, moment: number, learned = stateAfter(text).learned): ChamberState {
  const rules = text.startsWith('rules tag') ? rulesByTag : { ...rulesByTag, phaseCodes: null };
  const { state } = observeAll(
    rules,
    readingsOfStory(text).filter((each) => each.at <= moment),
  );
  return { ...state, learned };
}

test('[ET1] the finish is what this chamber usually still needs, early and late by its own spread', () => {
  const story = runWith();
  const run = runningRun(secondRunAt(story, at(7)), at(7));
  expect(run?.finish).toEqual({
    early: at(33, 20),
    likely: at(33, 20),
    late: at(33, 20),
    basis: '1 earlier run of DSM-PI-25 in this chamber',
  });
  const durations = { 'pump-down/': [100_000, 140_000, 180_000], 'vent/': [80_000, 90_000, 100_000] };
  const spread = runningRun(secondRunAt(story, at(7), [{ recipe: 'DSM-PI-25', durations }]), at(7))?.finish;
  expect(spread).toMatchObject({ early: at(6, 5) + 180_000, likely: at(6, 5) + 230_000, late: at(6, 5) + 280_000 });
});

test('[ET1] expected stretches follow the running one to the finish without a gap', () => {
  const run = runningRun(secondRunAt(runWith(), at(15)), at(15));
  const coming = run?.stretches.filter(({ expected }) => expected) ?? [];
  expect(run?.stretches.map(({ phase, step, expected }) => `${phase}${step ?? ''}${expected ? '?' : ''}`)).toEqual([
    'pump-down',
    'gas-stabilisation',
    'plasma1',
    'plasma2',
    'plasma2?',
    'purge?',
    'vent-delay?',
    'vent?',
  ]);
  expect(coming[0]?.from).toBe(at(15));
  coming.slice(1).forEach((each, i) => expect(each.from).toBe(coming[i]?.to));
  expect(coming.at(-1)?.to).toBe(run?.finish?.likely);
});

test('[ET2] an overdue stretch ends no earlier than now', () => {
  const state = secondRunAt(runWith(), at(15));
  const late = runningRun(state, at(50));
  expect(late?.finish?.likely).toBe(at(50) + 60_000 + 4_000 + 90_000);
});

test('[ET3] the controller says how long its step lasts', () => {
  const text = taggedRun();
  const learned = [{ recipe: 'DSM-PI-25', durations: { 'plasma/2': [500_000], 'vent/': [90_000] } }];
  expect(runningRun(secondRunAt(text, at(15), learned), at(15))?.finish).toMatchObject({
    likely: at(12, 46) + 1_080_000 + 90_000,
    basis: 'recipe step time and 1 earlier run of DSM-PI-25 in this chamber',
  });
});

test('[ET4] nothing known, nothing promised', () => {
  expect(runningRun(secondRunAt(runWith(), at(15), []), at(15))?.finish).toBeNull();
  expect(runningRun(secondRunAt(runWith(), at(3)), at(3))).toBeNull();
});
