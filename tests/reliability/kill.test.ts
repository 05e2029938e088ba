import { expect, test } from 'vitest';
import { killRun } from './kill-run.ts';

test('killed with -9 at five random points, nothing told is lost, nothing is counted twice, each alert has its messages once, and time stays a partition', async () => {
  const result = await killRun({ kills: 5, seed: 20261125 });
  expect(result.faults).toEqual([]);
  expect(result.told).toBeGreaterThan(100);
  expect(result.alerts).toBeGreaterThan(1);
  expect(result.stored).toBeGreaterThanOrEqual(result.told);
}, 120_000);
