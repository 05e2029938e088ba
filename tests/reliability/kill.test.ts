import { expect, test } from 'vitest';
import { killRun } from './kill-run.ts';

test('killed with -9 at six random points while alerts fire and receivers misbehave: nothing told is lost or counted twice, every alert reaches its receivers, doubles carry one key, and time stays a partition', async () => {
  const result = await killRun({ kills: 6, seed: 20261125 });
  expect(result.faults).toEqual([]);
  expect(result.told).toBeGreaterThan(100);
  expect(result.alerts).toBeGreaterThan(5);
  expect(result.delivery.messages).toBeGreaterThan(5);
  expect(result.delivery.halfHeard).toBeGreaterThan(0);
  expect(result.stored).toBeGreaterThanOrEqual(result.told);
}, 180_000);
