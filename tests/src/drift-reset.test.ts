import { expect, test } from 'vitest';
import { resets } from '../../src/drift-reset.ts';
import type { Work } from '../../src/drift-reset.ts';
import { SYMPTOMS } from '../../src/drift-series.ts';
import { WORKED_ON } from '../../src/equipment.ts';

const work: readonly Work[] = [
  { at: 10, parts: ['pump'] },
  { at: 20, parts: ['match', 'gas'] },
  { at: 30, parts: [] },
];

test('[DZ1] a pump exchanged begins pump-down and pressures anew and leaves reflected power and leak rate alone', () => {
  expect(resets(work, 'pump-down-first')).toEqual([10]);
  expect(resets(work, 'plasma-pressure')).toEqual([10, 20]);
  expect(resets(work, 'reflected-fraction')).toEqual([20]);
  expect(resets(work, 'rate-of-rise')).toEqual([]);
});

test('[DZ1] a new seal does not begin the pump anew: the first part of the pump-down tells of the pump', () => {
  expect(resets([{ at: 1, parts: ['seal'] }], 'pump-down-first')).toEqual([]);
  expect(resets([{ at: 1, parts: ['seal'] }], 'rate-of-rise')).toEqual([1]);
});

test('[DZ1] every figure can be begun anew by work on some part, and every part begins some figure', () => {
  const all = WORKED_ON.map((part) => SYMPTOMS.filter((name) => resets([{ at: 1, parts: [part] }], name).length > 0));
  expect(new Set(all.flat())).toEqual(new Set(SYMPTOMS));
  expect(all.every((names) => names.length > 0)).toBe(true);
});

test('[DZ2] maintenance without a word on what was done begins nothing', () => {
  expect(SYMPTOMS.flatMap((name) => resets([{ at: 30, parts: [] }], name))).toEqual([]);
});
