import { expect, test } from 'vitest';
import { SYMPTOMS } from '../../src/drift-series.ts';
import { noPatternText, usualCause } from '../../src/drift-usual-cause.ts';

test('[DU1] what a leak moves has a leak among its usual causes when it goes up, and none when it goes down', () => {
  for (const figure of ['rate-of-rise', 'base-pressure', 'pump-down-tail', 'empty-tail'] as const) {
    expect(SYMPTOMS).toContain(figure);
    expect([figure, usualCause(figure, 1)?.cause]).toEqual([figure, expect.stringContaining('leak')]);
    expect([figure, usualCause(figure, -1)]).toEqual([figure, null]);
  }
});

test('[DU1] an advice says "check", and tells nobody to open, bridge, reset or change anything', () => {
  const all = SYMPTOMS.flatMap((figure) => [usualCause(figure, 1), usualCause(figure, -1)]).filter((one) => one !== null);
  expect(all.length).toBeGreaterThan(6);
  for (const { firstCheck } of all) {
    expect(firstCheck).toMatch(/^Check /);
    expect(firstCheck).not.toMatch(/\b(open|bridge|reset|replace|change)\b/i);
  }
});

test('[DU2] it is said to be what this usually is, not what the pattern points to; without one nothing is made up', () => {
  expect(noPatternText(usualCause('base-pressure', 1))).toMatch(/names no single cause.*most often a leak/);
  expect(noPatternText(usualCause('purge', 1))).toBe('It fits no pattern we know.');
});
