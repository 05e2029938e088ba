import { expect, test } from 'vitest';
import { iso22400, oeeE79 } from '../../src/oee.ts';
import { HOUR_MS } from '../../src/zone.ts';

const H = HOUR_MS;

test('[OE1] U4: 90 runs of one theoretical hour, 88 good, in the U1 week (SEMI E79, formulas from memory)', () => {
  const { base, availability, operational, rate, quality, oee } = oeeE79({
    totalMs: 168 * H,
    uptimeMs: 128 * H,
    productiveMs: 96 * H,
    theoreticalMs: 90 * H,
    theoreticalGoodMs: 88 * H,
  });
  const expected = [0.7619048, 0.75, 0.9375, 0.9777778, 0.5238095];
  [availability, operational, rate, quality, oee].forEach((ratio, i) => expect(ratio).toBeCloseTo(expected[i] as number, 7));
  expect(oee).toBeCloseTo(88 / 168, 12);
  expect((availability as number) * (operational as number) * (rate as number) * (quality as number)).toBeCloseTo(oee as number, 12);
  expect(base).toBe('total time');
});

test('[OE2] U6: the ISO 22400-2 ratios of one set of times (formulas seen in an open ontology of the standard)', () => {
  const found = iso22400({ pbt: 120, apt: 84, aust: 6, adet: 10, aoet: 125, priTimesPq: 80, pq: 80, gq: 78 });
  const expected = {
    aupt: 90,
    aubt: 100,
    adot: 20,
    availability: 0.7,
    effectiveness: 0.952381,
    quality: 0.975,
    oee: 0.65,
    nee: 0.6964286,
    allocationRatio: 0.8,
    allocationEfficiency: 0.8333333,
    utilizationEfficiency: 0.84,
    setupRatio: 0.0666667,
    technicalEfficiency: 0.893617,
    throughputRate: 0.64,
  };
  for (const [name, value] of Object.entries(expected))
    expect([name, (found[name as keyof typeof expected] as number).toFixed(7)]).toEqual([name, value.toFixed(7)]);
  expect(found.base).toBe('planned busy time');
});

test('[OE1] [OE2] the same week is 52.38 % of total time and 64.71 % of planned busy time: a number without its base says nothing (own numbers)', () => {
  const total = oeeE79({ totalMs: 168 * H, uptimeMs: 128 * H, productiveMs: 96 * H, theoreticalMs: 90 * H, theoreticalGoodMs: 88 * H }).oee;
  const busy = iso22400({ pbt: 136, apt: 96, aust: 0, adet: 0, aoet: 136, priTimesPq: 90, pq: 90, gq: 88 }).oee;
  expect([(total as number).toFixed(4), (busy as number).toFixed(4)]).toEqual(['0.5238', '0.6471']);
});

test('[OE1] [OE2] nothing to divide by is null', () => {
  expect(oeeE79({ totalMs: 0, uptimeMs: 0, productiveMs: 0, theoreticalMs: 0, theoreticalGoodMs: 0 }).oee).toBeNull();
  expect(iso22400({ pbt: 0, apt: 0, aust: 0, adet: 0, aoet: 0, priTimesPq: 0, pq: 0, gq: 0 })).toMatchObject({
    availability: null,
    oee: null,
    nee: null,
  });
});
