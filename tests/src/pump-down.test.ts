import { describe, expect, test } from 'vitest';
import { pumpDownParts } from '../../src/pump-down.ts';
import type { PumpDownSamples } from '../../src/pump-down.ts';
import type { Sample } from '../../src/integral.ts';
import { TORR_PA } from '../../src/units.ts';
import { random } from './random-history.ts';

const S = 1000;
const MTORR = TORR_PA / 1000;
const BASE_PA = 100 * MTORR;
const START = 1_000_000;

/** mTorr over seconds since the valve opened; the gauge ends at 2000 mTorr. */
const curve = (f: (s: number) => number, { stepS = 1, untilS = 300 } = {}): PumpDownSamples => ({
  startAt: START,
  pressurePa: Array.from({ length: untilS / stepS + 1 }, (_, i) => ({
    at: START + i * stepS * S,
    value: Math.min(2000, f(i * stepS)) * MTORR,
  })),
  sampling: 'periodic',
});
/** Falls by e each 10 s from 1900 mTorr at 103.4 s on, then by e each 16.4 s below 300 mTorr. */
const bend = 103.4 + 10 * Math.log(1900 / 300);
const healthy = (s: number): number => (s < bend ? 1900 * Math.exp(-(s - 103.4) / 10) : 300 * Math.exp(-(s - bend) / 16.4));
const TRUE_MS = [103_400, 10_000 * Math.log(1900 / 300), 16_400 * Math.log(3)] as const;

describe('parts of a pump-down', () => {
  test('[PD1] [PD2] between samples pressure falls straight in its logarithm: to the millisecond on an exponential, within a sample at a bend or a clipped gauge (by construction)', () => {
    for (const stepS of [1, 2, 5]) {
      const parts = pumpDownParts(curve(healthy, { stepS }), BASE_PA);
      const found = [parts.firstMs, parts.middleMs, parts.tailMs];
      // Only the interval that holds the bend, or begins on the clipped gauge, is not straight.
      for (const [i, ms] of TRUE_MS.entries()) expect(Math.abs((found[i] as number) - ms)).toBeLessThan(stepS * 700);
      expect(parts.totalMs).toBe((parts.firstMs as number) + (parts.middleMs as number) + (parts.tailMs as number));
      expect(parts.reachedBase).toBe(true);
    }
    const unclipped = curve(healthy);
    const open = { ...unclipped, pressurePa: unclipped.pressurePa.map(({ at }, i) => ({ at, value: healthy(i) * MTORR })) };
    expect(pumpDownParts(open, BASE_PA).firstMs).toBe(103_400);
  });

  test('[PD2] what starts below a mark passed it at the start', () => {
    const parts = pumpDownParts(
      curve((s) => 500 * Math.exp(-s / 20)),
      BASE_PA,
    );
    expect(parts.firstMs).toBe(0);
    expect(parts.middleMs).toBeCloseTo(20_000 * Math.log(5 / 3), -1);
  });

  test('[PD3] a mark passed inside a hole has no time; the parts it does not bound keep theirs', () => {
    const whole = curve(healthy);
    const without = (fromS: number, toS: number): PumpDownSamples => ({
      ...whole,
      pressurePa: whole.pressurePa.filter(({ at }) => at <= START + fromS * S || at >= START + toS * S),
    });
    expect(pumpDownParts(without(98, 109), BASE_PA)).toMatchObject({ firstMs: null, middleMs: null, reachedBase: true });
    expect(pumpDownParts(without(98, 109), BASE_PA).tailMs).toBe(pumpDownParts(whole, BASE_PA).tailMs);
    expect(pumpDownParts(without(98, 109), BASE_PA).totalMs).toBe(pumpDownParts(whole, BASE_PA).totalMs);
    expect(pumpDownParts(without(98, 108), BASE_PA).firstMs).not.toBeNull();
    expect(pumpDownParts(without(20, 80), BASE_PA)).toEqual(pumpDownParts(whole, BASE_PA));
  });

  test('[PD3] a missing value is a hole too, short ones are bridged; base never reached is told and has no time', () => {
    const whole = curve(healthy);
    const blind = (fromS: number, toS: number): PumpDownSamples => ({
      ...whole,
      pressurePa: whole.pressurePa.map(({ at, value }) => ({ at, value: at > START + fromS * S && at < START + toS * S ? null : value })),
    });
    expect(pumpDownParts(blind(98, 110), BASE_PA).firstMs).toBeNull();
    expect(pumpDownParts(blind(101, 106), BASE_PA).firstMs).not.toBeNull();
    const stuck = pumpDownParts(
      curve((s) => Math.max(150, healthy(s))),
      BASE_PA,
    );
    expect(stuck).toMatchObject({ tailMs: null, totalMs: null, reachedBase: false });
    expect(stuck.middleMs).not.toBeNull();
    expect(pumpDownParts({ startAt: START, pressurePa: [], sampling: 'periodic' }, BASE_PA).totalMs).toBeNull();
  });

  test('[PD4] told on change, a gauge that stood at its end for 103 s is no hole, unless the word was lost', () => {
    const told: Sample[] = [
      { at: START - 60 * S, value: 2000 * MTORR },
      { at: START + 103 * S, value: 1890 * MTORR },
      { at: START + 119 * S, value: 290 * MTORR },
      { at: START + 137 * S, value: 99 * MTORR },
    ];
    const onChange: PumpDownSamples = { startAt: START, pressurePa: told, sampling: 'on-change' };
    expect(pumpDownParts(onChange, BASE_PA)).toEqual({
      firstMs: 103_000,
      middleMs: 16_000,
      tailMs: 18_000,
      totalMs: 137_000,
      reachedBase: true,
    });
    expect(pumpDownParts({ ...onChange, sampling: 'periodic' }, BASE_PA).firstMs).toBeNull();
    const lost = told.toSpliced(1, 0, { at: START + 50 * S, value: null });
    expect(pumpDownParts({ ...onChange, pressurePa: lost }, BASE_PA).firstMs).toBeNull();
  });

  test('[PD1] under gauge noise of .4 % and 1 mTorr every part is found within 1.5 s, the tail, where pressure falls slowest, within 2.5 s (Monte Carlo)', () => {
    const chance = random(12);
    for (let n = 0; n < 200; n++) {
      const parts = pumpDownParts(
        curve((s) => healthy(s) * (1 + 0.008 * (chance() - 0.5)) + 2 * (chance() - 0.5)),
        BASE_PA,
      );
      expect(Math.abs((parts.firstMs as number) - TRUE_MS[0])).toBeLessThan(1500);
      expect(Math.abs((parts.middleMs as number) - TRUE_MS[1])).toBeLessThan(1500);
      expect(Math.abs((parts.tailMs as number) - TRUE_MS[2])).toBeLessThan(2500);
    }
  });
});
