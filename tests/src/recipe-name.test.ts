import { expect, test } from 'vitest';
import { matchesAny } from '../../src/recipe-name.ts';

test('[RC1] the whole name must match, and * stands for any characters', () => {
  const is = (name: string | null, pattern: string): boolean => matchesAny(name, [pattern]);
  expect([is('CND-15', 'CND-*'), is('CND-', 'CND-*'), is('XCND-15', 'CND-*'), is(null, '*')]).toEqual([true, true, false, false]);
  expect([is('TRL-7-hot', 'TRL-*-hot'), is('TRL-7-hotter', 'TRL-*-hot'), is('A', 'A'), is('AB', 'A')]).toEqual([true, false, true, false]);
  expect([is('aa', 'a*a'), is('a', 'a*a'), is('axbxc', 'a*b*c'), is('.*', 'x')]).toEqual([true, false, true, false]);
});
