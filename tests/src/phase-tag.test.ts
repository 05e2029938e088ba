import { expect, test } from 'vitest';
import { contradicts, isRefined, phaseOfCode, tagTold } from '../../src/phase-tag.ts';
import { rulesByTag } from '../scenarios/scenario-rules.ts';
import { runWith, taggedRun, told } from './story.ts';

test('[PT1] a phase number counts after a second, from its first appearance; an unknown one says nothing', () => {
  const codes = rulesByTag.phaseCodes;
  expect(phaseOfCode(30, codes)).toBe('plasma');
  expect([phaseOfCode(31, codes), phaseOfCode(null, codes), phaseOfCode(30, null)]).toEqual([null, null, null]);
  expect(tagTold({ tagPhase: 'idle', tagNext: null }, 'plasma', 7)).toEqual({ phase: 'plasma', at: 7 });
  expect(tagTold({ tagPhase: 'idle', tagNext: { phase: 'plasma', at: 7 } }, 'plasma', 8)).toEqual({ phase: 'plasma', at: 7 });
  expect(tagTold({ tagPhase: 'idle', tagNext: { phase: 'plasma', at: 7 } }, 'idle', 8)).toBeNull();
});

test('[PT2] where the controller only knows idle, signals tell load, waiting and unload', () => {
  expect(isRefined('idle', 'load', { '0': 'idle' })).toBe(true);
  expect(isRefined('idle', 'load', { '0': 'idle', '5': 'load' })).toBe(false);
  expect(isRefined('plasma', 'load', { '0': 'idle' })).toBe(false);
  expect(isRefined('idle', 'vent', { '0': 'idle' })).toBe(false);
});

test('[PT3] only what cannot both be true contradicts', () => {
  expect([contradicts('plasma', 'purge'), contradicts('idle', 'plasma'), contradicts('vent', 'wait-unload')]).toEqual([true, true, true]);
  expect([contradicts('hold', 'plasma'), contradicts('idle', 'load'), contradicts('leak-test', 'vent-delay')]).toEqual([
    false,
    false,
    false,
  ]);
});

test('[FN4] tag and signals apart for 30 s is found once; a sound run has no such finding', () => {
  const lying = taggedRun()
    .replace('40@30:46', '40@31:40')
    .replace('recipe.step 0@0:00 1@8:45 2@12:46 0@30:46', 'recipe.step 0@0:00 1@8:45 2@12:46 0@31:40');
  expect(told(lying, 'finding').filter((line) => line.includes('mismatch'))).toEqual(['finding 31:06 phase-tag-mismatch']);
  expect(told(taggedRun(), 'finding')).toEqual([]);
  expect(told(runWith(), 'finding')).toEqual([]);
});
