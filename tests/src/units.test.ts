import { expect, test } from 'vitest';
import { displayed, fromSi, linearFor, molPerSOfThroughput, riseThroughputPaM3PerS, throughputPaM3PerS, toSi } from '../../src/units.ts';
import type { Unit } from '../../src/units.ts';

const near = (value: number, expected: number, relative: number) => expect(Math.abs(value / expected - 1)).toBeLessThanOrEqual(relative);

test('[UN1] one Torr is 101325/760 Pa by definition', () => {
  near(toSi(1, 'Torr'), 133.32236842105263, 1e-15);
  near(toSi(6.1, 'bar'), 610_000, 1e-15);
  near(toSi(1, 'mTorr'), 0.13332236842105263, 1e-15);
  near(fromSi(1, 'mTorr'), 7.500616827041697, 1e-15);
});

test('[UN1] one mbar is 0.750061682704 Torr', () => {
  near(fromSi(toSi(1, 'mbar'), 'Torr'), 0.750061682704, 1e-11);
});

// Molar gas constant: SI 2019. Both figures calculated by hand from p·V = n·R·T with p = 101325 Pa.
test('[UN2] one sccm at 0 °C is 7.43583890e-7 mol/s, and 4.47796685e17 molecules per second', () => {
  near(toSi(1, 'sccm'), 7.4358389e-7, 1e-9);
  near(toSi(1, 'sccm') * 6.02214076e23, 4.47796685e17, 1e-8);
});

test('[UN2] a 20 °C sccm is 0.93177554 of a 0 °C sccm', () => {
  near(toSi(1, 'sccm', { referenceC: 20 }) / toSi(1, 'sccm', { referenceC: 0 }), 0.93177554, 1e-8);
});

test('[UN2] one slm is a thousand sccm', () => near(toSi(1, 'slm'), 1000 * toSi(1, 'sccm'), 1e-15));

// Factors seen in public conversion tables that quote NIST: 1 sccm = 0.0168875 mbar·L/s; 1 mbar·L/s = 0.1 Pa·m³/s.
test('[UN6] one sccm carries 0.0168875 mbar·L/s of gas at 0 °C and 0.0018124000 Pa·m³/s at 20 °C', () => {
  near(throughputPaM3PerS(toSi(1, 'sccm')) / 0.1, 0.0168875, 1e-9);
  near(throughputPaM3PerS(toSi(1, 'sccm'), 20), (0.00168875 * 293.15) / 273.15, 1e-12);
  near(throughputPaM3PerS(toSi(1, 'sccm'), 20), 0.0018124, 1e-8); // as printed, eight digits
});

// Calculated by hand from Q = V·Δp/Δt: 100 L gaining 10 mTorr in one minute, the same as 500 L gaining 6 mTorr in three.
test.each([
  [0.1, 10, 60],
  [0.5, 6, 180],
])('[UN6] %d m³ gaining %d mTorr in %d s leaks 1.31578947 sccm at 0 °C', (volumeM3, riseMTorr, durationS) => {
  const throughput = riseThroughputPaM3PerS({ volumeM3, risePa: toSi(riseMTorr, 'mTorr'), durationS });
  near(throughput, 0.00222203947, 1e-8);
  near(fromSi(molPerSOfThroughput(throughput), 'sccm'), 1.31578947, 1e-8);
  near(fromSi(molPerSOfThroughput(throughput, 20), 'sccm'), 1.22602045, 1e-8);
});

// 40 CFR 1065.644: 2.0000 L from 25.300 to 50.600 kPa in 70 s at 293.15 K, there with R = 8.314472.
test('[UN6] the vacuum-decay example of 40 CFR 1065.644 comes out', () => {
  const throughput = riseThroughputPaM3PerS({ volumeM3: 0.002, risePa: 25_300, durationS: 70 });
  near(molPerSOfThroughput(throughput, 20), 2.965705e-4, 2e-6);
});

// Component makers' tables: N2-calibrated controller on CF4, factor 0.42; argon-calibrated (1.39) on CO2 (0.70).
test('[UN3] a reading of 100 on another gas is 100 times the correction factor', () => {
  near(fromSi(toSi(100, 'sccm', { correctionFactor: 0.42 }), 'sccm'), 42, 1e-12);
  near(fromSi(toSi(100, 'sccm', { correctionFactor: 0.7 / 1.39 }), 'sccm'), 50.3597, 1e-6);
});

test('[UN4] 40 % of a 500 sccm controller is 200 sccm, and without a full scale it is refused', () => {
  near(toSi(40, 'percent-of-full-scale', { fullScaleSccm: 500 }), toSi(200, 'sccm'), 1e-15);
  expect(() => toSi(40, 'percent-of-full-scale')).toThrow(/fullScaleSccm/);
});

test('[UN5] a pressure unit on a flow signal is refused in a sentence', () => {
  expect(() => linearFor('mol/s', 'mTorr')).toThrow(/mTorr/);
  expect(linearFor('Pa', 'mTorr').bias).toBe(0);
});

// Hand: 0 °C = 273.15 K and 1 h = 3600 s by definition; 60 L/min = 0.001 m³/s.
test.each<[number, Unit, number]>([
  [0, 'degC', 273.15],
  [1, 'h', 3600],
  [2, 'min', 120],
  [60, 'L/min', 0.001],
  [25, 'percent', 0.25],
  [1.5, 'kW', 1500],
  [101.325, 'kPa', 101325],
])('[UN1] %d %s is %d in SI and comes back', (value, unit, si) => {
  near(toSi(value, unit) || 1, si || 1, 1e-14);
  near(1 + fromSi(toSi(value, unit), unit), 1 + value, 1e-12);
});

test('[UN7] a quantity is shown with three significant digits and nothing is a dash', () => {
  expect(displayed(toSi(250, 'mTorr'), 'mTorr')).toBe('250 mTorr');
  expect(displayed(toSi(4.5678, 'mTorr'), 'mTorr')).toBe('4.57 mTorr');
  expect(displayed(101325, 'mTorr')).toBe('760000 mTorr');
  expect(displayed(0, 'W')).toBe('0.00 W');
  expect(displayed(0.25, 'percent')).toBe('25.0 %');
  expect(displayed(null, 'Pa')).toBe('–');
  expect(displayed(Number.NaN, 'Pa')).toBe('–');
});
