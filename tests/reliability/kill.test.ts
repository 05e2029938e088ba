import { expect, test } from 'vitest';
import { killRun } from './kill-run.ts';

test('killed with -9 at five random points, nothing told is lost, nothing is counted twice, and time stays a partition', async () => {
  const result = await killRun({ kills: 5, seed: 20261125 });
  expect(result.faults).toEqual([]);
  expect(result.told).toBeGreaterThan(100);
  expect(result.stored).toBeGreaterThanOrEqual(result.told);
}, 120_000);
