import { describe, expect, test } from 'vitest';
import { deliveredEnergy, reflectedFractionOfVswr, reflection } from '../../src/rf.ts';
import { random } from './random-history.ts';

const S = 1000;

describe('reflection', () => {
  test.each([
    [100, 0.01, 0.01, 1.0202, 40, 0.00043],
    [100, 1, 0.1, 1.22222, 20, 0.04365],
    [100, 4, 0.2, 1.5, 13.9794, 0.17729],
    [600, 3, 0.070711, 1.15218, 23.0103, 0.02177],
    [600, 30, 0.223607, 1.57601, 13.0103, 0.22276],
    [1000, 20, 0.141421, 1.32943, 16.9897, 0.08774],
    [300, 75, 0.5, 3, 6.0206, 1.24939],
    [100, 50, 0.707107, 5.82843, 3.0103, 3.0103],
  ])(
    '[RF1] P1: %d W forward, %d W reflected: ρ %d, VSWR %d, return loss %d dB, mismatch loss %d dB (textbook, recomputed)',
    (forwardW, reflectedW, ...row) => {
      const found = reflection({ forwardW, reflectedW, floorW: 10 });
      const [rho, vswr, returnLoss, mismatch] = row;
      expect(found.rho).toBeCloseTo(rho, 6);
      expect(Math.abs((found.vswr as number) - vswr)).toBeLessThanOrEqual(0.51e-5);
      expect(Math.abs((found.returnLossDb as number) - returnLoss)).toBeLessThanOrEqual(0.51e-4);
      expect(Math.abs((found.mismatchLossDb as number) - mismatch)).toBeLessThanOrEqual(0.51e-5);
      expect([found.deliveredW, found.why]).toEqual([forwardW - reflectedW, 'measured']);
    },
  );

  test.each([
    [1.1, 0.2268],
    [1.2, 0.8264],
    [1.5, 4],
    [2, 11.1111],
    [3, 25],
    [5, 44.4444],
    [10, 66.9421],
  ])('[RF1] P1: VSWR %d is %d %% reflected (textbook), and back again', (vswr, percent) => {
    expect(100 * reflectedFractionOfVswr(vswr)).toBeCloseTo(percent, 4);
    expect(reflection({ forwardW: 1, reflectedW: reflectedFractionOfVswr(vswr), floorW: 0 }).vswr).toBeCloseTo(vswr, 12);
  });

  test('[RF2] below the floor of the sensor there is no figure, and no zero either', () => {
    expect(reflection({ forwardW: 49, reflectedW: 40, floorW: 50 })).toMatchObject({
      vswr: null,
      reflectedFraction: null,
      why: 'below the sensor floor',
    });
    expect(reflection({ forwardW: 0, reflectedW: 0, floorW: 0 }).why).toBe('below the sensor floor');
    expect(reflection({ forwardW: NaN, reflectedW: 0, floorW: 0 }).why).toBe('below the sensor floor');
    expect(reflection({ forwardW: 50, reflectedW: 40, floorW: 50 }).why).toBe('measured');
  });

  test('[RF3] as much reflected as sent, or less than nothing, is a sensor fault; nothing reflected has no return loss', () => {
    expect(reflection({ forwardW: 100, reflectedW: 100, floorW: 5 })).toMatchObject({ vswr: null, deliveredW: null, why: 'sensor fault' });
    expect(reflection({ forwardW: 100, reflectedW: 130, floorW: 5 }).why).toBe('sensor fault');
    expect(reflection({ forwardW: 100, reflectedW: -1, floorW: 5 }).why).toBe('sensor fault');
    expect(reflection({ forwardW: 100, reflectedW: 0, floorW: 5 })).toMatchObject({
      vswr: 1,
      returnLossDb: null,
      mismatchLossDb: expect.closeTo(0, 12),
    });
  });
});

describe('delivered energy', () => {
  const steady = (untilS: number, w: number) => Array.from({ length: untilS + 1 }, (_, i) => ({ at: i * S, value: w }));

  test('[RF4] 2000 W sent and 40 W back for 10 min are 1,176,000 J or 326.67 Wh; a second burn adds to it (by hand)', () => {
    const series = { forwardW: steady(900, 2000), reflectedW: steady(900, 40), sampling: 'periodic' as const };
    expect(deliveredEnergy(series, [{ from: 0, to: 600 * S }])).toEqual({
      energyJ: 1_176_000,
      knownJ: 1_176_000,
      unobservedMs: 0,
      why: 'measured',
    });
    const twice = deliveredEnergy(series, [
      { from: 0, to: 600 * S },
      { from: 700 * S, to: 800 * S },
    ]);
    expect(twice.energyJ).toBe(1_176_000 + 196_000);
    expect(deliveredEnergy(series, []).energyJ).toBe(0);
  });

  test('[RF4] forward and reflected told at different moments are each integrated by themselves (by hand: 100·60 - 10·20 - 30·40)', () => {
    const series = {
      forwardW: [{ at: 0, value: 100 }],
      reflectedW: [
        { at: -S, value: 10 },
        { at: 20 * S, value: 30 },
      ],
      sampling: 'on-change' as const,
    };
    expect(deliveredEnergy(series, [{ from: 0, to: 60 * S }]).energyJ).toBe(6000 - 200 - 1200);
  });

  test('[RF4] a hole in the reflected power alone refuses the number and says what is known', () => {
    const series = {
      forwardW: steady(60, 100),
      reflectedW: steady(60, 10).filter(({ at }) => at <= 20 * S || at >= 40 * S),
      sampling: 'periodic' as const,
    };
    expect(deliveredEnergy(series, [{ from: 0, to: 60 * S }])).toMatchObject({
      energyJ: null,
      unobservedMs: 20 * S,
      why: 'not fully observed',
    });
  });

  test('[RF4] more back than sent is a sensor fault, not energy below zero', () => {
    const series = { forwardW: steady(60, 100), reflectedW: steady(60, 150), sampling: 'periodic' as const };
    expect(deliveredEnergy(series, [{ from: 0, to: 60 * S }])).toMatchObject({ energyJ: null, why: 'sensor fault' });
  });

  test('[RF4] a ramp, a hunting match and noise, sampled each 1 to 5 s, miss the exact integral by less than 0.5 % (sum at 10 ms)', () => {
    const chance = random(5);
    const noise = Array.from({ length: 2000 }, () => chance() - 0.5);
    const forward = (s: number): number => Math.min(2000, 400 * s);
    const reflected = (s: number): number => forward(s) * (0.02 + 0.11 * (1 + Math.sin((2 * Math.PI * s) / 9)));
    let exact = 0;
    for (let s = 0; s < 600; s += 0.01) exact += (forward(s) - reflected(s)) * 0.01;
    for (const stepS of [1, 2, 5]) {
      const at = Array.from({ length: 600 / stepS + 1 }, (_, i) => i * stepS);
      const series = {
        forwardW: at.map((s, i) => ({ at: s * S, value: forward(s) + 4 * (noise[i] as number) })),
        reflectedW: at.map((s) => ({ at: s * S, value: reflected(s) })),
        sampling: 'periodic' as const,
      };
      const { energyJ } = deliveredEnergy(series, [{ from: 0, to: 600 * S }]);
      expect(Math.abs((energyJ as number) / exact - 1)).toBeLessThan(0.005);
    }
  });
});
