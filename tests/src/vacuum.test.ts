import { describe, expect, test } from 'vitest';
import { slope } from '../../src/series-line.ts';
import { GAS_CONSTANT, TORR_PA, fromSi, molPerSOfThroughput, toSi } from '../../src/units.ts';
import { decadeS, effectiveSpeedM3PerS, pumpDownS, rateOfRise, throttledPressurePa, timeConstantS } from '../../src/vacuum.ts';
import { random } from './random-history.ts';

const near = (found: number | null, expected: number, relative: number): void =>
  expect(Math.abs((found as number) / expected - 1)).toBeLessThanOrEqual(relative);
const rising = (untilS: number, f: (s: number) => number) => Array.from({ length: untilS + 1 }, (_, atS) => ({ atS, value: f(atS) }));

describe('rate of rise', () => {
  test.each([
    ['P4', 0.1, 10, 60],
    ['P5', 0.5, 6, 180],
  ])(
    '[VA1] %s: %d m³ rising %d mTorr in %d s is .0166666667 Torr·L/s, .00222203947 Pa·m³/s, .0222203947 mbar·L/s (recomputed)',
    (_id, volumeM3, riseMTorr, inS) => {
      const slopePa = toSi(riseMTorr, 'mTorr') / inS;
      const { throughputPaM3PerS: q } = rateOfRise(
        rising(300, (s) => 5 + slopePa * s),
        volumeM3,
      ) as NonNullable<ReturnType<typeof rateOfRise>>;
      near(q, 0.00222203947, 1e-8);
      near((q / TORR_PA) * 1000, 0.0166666667, 1e-8);
      near(q * 10, 0.0222203947, 1e-8);
      near(fromSi(molPerSOfThroughput(q), 'sccm'), 1.31578947, 1e-8);
      near(fromSi(molPerSOfThroughput(q, 20), 'sccm'), 1.22602045, 1e-8);
    },
  );

  test('[VA1] P6: 2.0000 L from 25.300 to 50.600 kPa in 70 s at 293.15 K is 2.965705e-4 mol/s (40 CFR 1065.644, there with R = 8.314472)', () => {
    const found = rateOfRise(
      [
        { atS: 0, value: 25_300 },
        { atS: 70, value: 50_600 },
      ],
      0.002,
      0,
    );
    near((molPerSOfThroughput(found?.throughputPaM3PerS as number, 20) * GAS_CONSTANT) / 8.314472, 2.965705e-4, 1e-6);
    expect(found?.verdict).toBe('not enough data');
  });

  test('[VA1] the first minute is left out; a straight rise is a leak, a flattening one outgassing, a falling one no rise', () => {
    const bent = rising(300, (s) => (s < 60 ? 3 * s : 180 + 0.01 * (s - 60)));
    expect(rateOfRise(bent, 0.45)?.risePaPerS).toBeCloseTo(0.01, 9);
    expect(rateOfRise(bent, 0.45)?.verdict).toBe('leak');
    expect(
      rateOfRise(
        rising(300, (s) => 10 * (1 - Math.exp(-s / 90))),
        0.45,
      )?.verdict,
    ).toBe('outgassing');
    expect(
      rateOfRise(
        rising(300, (s) => 10 - 0.001 * s),
        0.45,
      )?.verdict,
    ).toBe('no rise');
    expect(
      rateOfRise(
        rising(60, (s) => s),
        0.45,
      ),
    ).toBeNull();
    expect(
      rateOfRise(
        rising(65, (s) => s),
        0.45,
      )?.verdict,
    ).toBe('not enough data');
  });

  test('[VA1] under gauge noise of .5 % and 1 mTorr a leak of 50 mTorr/min is found within 2 mTorr/min over 4 min, and called a leak (Monte Carlo)', () => {
    const chance = random(9);
    for (let n = 0; n < 100; n++) {
      const noisy = rising(300, (s) => (20 + (50 / 60) * s) * (1 + 0.01 * (chance() - 0.5)) + 2 * (chance() - 0.5)).map(
        ({ atS, value }) => ({
          atS,
          value: toSi(value, 'mTorr'),
        }),
      );
      const found = rateOfRise(noisy, 0.45);
      expect(Math.abs(fromSi(found?.risePaPerS as number, 'mTorr') * 60 - 50)).toBeLessThan(2);
      expect(found?.verdict).toBe('leak');
    }
  });
});

describe('pump-down', () => {
  test('[VA2] P7: .5 m³ at 100 m³/h from 101325 to 10 Pa: 166.02306 s; ultimate 1 Pa 167.91937 s, 5 Pa 178.49882 s (textbook)', () => {
    const base = { volumeM3: 0.5, speedM3PerS: 100 / 3600, fromPa: 101_325, toPa: 10 };
    expect(pumpDownS(base)).toBeCloseTo(166.02306, 5);
    expect(pumpDownS({ ...base, ultimatePa: 1 })).toBeCloseTo(167.91937, 5);
    expect(pumpDownS({ ...base, ultimatePa: 5 })).toBeCloseTo(178.49882, 5);
    expect(decadeS(0.5, 100 / 3600)).toBeCloseTo(41.446532, 6);
    expect(timeConstantS(0.5, 100 / 3600)).toBeCloseTo(18, 12);
  });

  test('[VA2] at the ultimate pressure, without speed or upwards there is no time', () => {
    const base = { volumeM3: 0.5, speedM3PerS: 0.03, fromPa: 1000, toPa: 10 };
    expect(pumpDownS({ ...base, ultimatePa: 10 })).toBeNull();
    expect(pumpDownS({ ...base, speedM3PerS: 0 })).toBeNull();
    expect(pumpDownS({ ...base, fromPa: 5 })).toBeNull();
  });

  test('[VA3] P8: 500 L falling by e each 18 s has 27.777778 L/s (own construction)', () => {
    const fall = [0, 18, 36].map((atS) => ({ atS, value: 1000 * Math.exp(-atS / 18) }));
    expect((effectiveSpeedM3PerS(fall, 0.5) as number) * 1000).toBeCloseTo(27.777778, 6);
    expect(
      effectiveSpeedM3PerS(
        fall.toReversed().map(({ value }, i) => ({ atS: i, value })),
        0.5,
      ),
    ).toBeNull();
    expect(effectiveSpeedM3PerS([...fall, { atS: 40, value: 0 }], 0.5)).toBeNull();
  });

  test('[VA4] P9: 500 sccm of gas at 20 °C pumped at 100 m³/h: .906200 Pa·m³/s, 32.62320 Pa or 244.6941 mTorr (own construction)', () => {
    const pressure = throttledPressurePa({ molPerS: toSi(500, 'sccm'), gasC: 20, speedM3PerS: 100 / 3600 });
    expect(pressure).toBeCloseTo(32.6232, 5);
    expect((pressure as number) * (100 / 3600)).toBeCloseTo(0.9062, 6);
    expect(fromSi(pressure as number, 'mTorr')).toBeCloseTo(244.6941, 4);
    expect(throttledPressurePa({ molPerS: 1, gasC: 20, speedM3PerS: 0 })).toBeNull();
  });

  test('[SL1] the slope of points on a line is the line’s, of one instant nothing; Norris of NIST StRD has 1.00211681802045 (from memory)', () => {
    expect(slope([0, 1, 5].map((atS) => ({ atS, value: 3 - 2 * atS })))).toBeCloseTo(-2, 12);
    expect(slope([{ atS: 1, value: 1 }])).toBeNull();
    expect(
      slope([
        { atS: 1, value: 1 },
        { atS: 1, value: 2 },
      ]),
    ).toBeNull();
    // NIST StRD, Norris: y, x.
    // prettier-ignore
    const norris = [
      [0.1, 0.2], [338.8, 337.4], [118.1, 118.2], [888.0, 884.6], [9.2, 10.1], [228.1, 226.5], [668.5, 666.3], [998.5, 996.3], [449.1, 448.6],
      [778.9, 777.0], [559.2, 558.2], [0.3, 0.4], [0.1, 0.6], [778.1, 775.5], [668.8, 666.9], [339.3, 338.0], [448.9, 447.5], [10.8, 11.6],
      [557.7, 556.0], [228.3, 228.1], [998.0, 995.8], [888.8, 887.6], [119.6, 120.2], [0.3, 0.3], [0.6, 0.3], [557.6, 556.8], [339.3, 339.1],
      [888.0, 887.2], [998.5, 999.0], [778.9, 779.0], [10.2, 11.1], [117.6, 118.3], [228.9, 229.2], [668.4, 669.1], [449.2, 448.9], [0.2, 0.5],
    ] as const;
    expect(slope(norris.map(([value, atS]) => ({ atS, value })))).toBeCloseTo(1.00211681802045, 12);
  });
});
