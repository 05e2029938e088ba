/** A small version of bursts.ts: the promise held over two chamber-years of a usual hall, and of one in which each alarm comes by itself. */
import { describe, expect, test } from 'vitest';
import type { World } from './alarm-stream.ts';
import { caughtBursts, falseNotices, judged, rateBounds, WORLDS } from './burst-years.ts';

const days = 150;
const [single, usual] = [WORLDS[0] as World, WORLDS[1] as World];

describe('burst notices over simulated years', { timeout: 120_000 }, () => {
  test.each([
    [usual.name, usual, 0.1],
    [usual.name, usual, 0.5],
    [single.name, single, 0.1],
  ])('%s: no more notices without cause than promised, %#', (_name, world, epsilon) => {
    const { own, byAge } = falseNotices([judged(world, { seed: 41, days, epsilon }), judged(world, { seed: 42, days, epsilon })]);
    expect(own.months).toBeGreaterThan(30);
    expect(rateBounds(own)[0]).toBeLessThanOrEqual(epsilon);
    expect(own.count / own.months).toBeLessThan(2 * epsilon);
    // Without thirty days of history only the flood rule holds.
    expect((byAge[0]?.count ?? 0) / (byAge[0]?.months ?? 1)).toBeLessThan(0.2);
  });

  test('real bursts are noticed, the great ones nearly all and within minutes, where alarms come by themselves the small ones too', () => {
    const struck = (world: World) => caughtBursts([judged(world, { seed: 43, days, epsilon: 0.1, everyDays: 20 })]);
    const share = (of: ReturnType<typeof struck>, least: number): number => {
      const large = of.filter(({ size }) => size >= least);
      return large.reduce((sum, { caught }) => sum + caught, 0) / large.reduce((sum, { of: all }) => sum + all, 0);
    };
    const found = struck(usual);
    expect(share(found, 15)).toBeGreaterThan(0.9);
    expect(found.at(-1)?.delaysMs.at(-1)).toBeLessThan(6 * 60_000);
    expect(share(struck(single), 5)).toBeGreaterThan(0.9);
  });
});
