/**
 * What is watched from run to run: one figure per run of a chamber and recipe, in SI, with its name and unit in the words of the trade.
 * [DM1] A change smaller than the least worth telling is not told, however sure the chart is. Leasts are start values of the trade, no standard.
 * [DM2] A figure is never surer than its resolution: the spread of a baseline is at least that of rounding to it, resolution / √12.
 * [DM4] A figure whose spread grows with its size (a tail that is longer the wetter the load) is charted by its logarithm: limits are then factors.
 * [DM5] Twenty runs may not have seen what loads do. Where loads or sampling are known to spread a figure, its spread is at least so much of the
 *       usual value (our own numeric model: no figure of a standard).
 * [DM3] Pressures are shown in the site's unit; what is worth telling does not depend on it.
 */
import { isUnit, linear, TORR_PA, unitSymbol } from './units.ts';

export type DriftMeasure = {
  readonly name: string;
  /** Shown value = SI × `gain`, in `symbol`. */
  readonly symbol: string;
  readonly gain: number;
  readonly higher: string;
  readonly lower: string;
  /** [DM1] Both must be exceeded: share of the usual value, and SI. */
  readonly leastShare: number;
  readonly least: number;
  /** [DM2] SI. */
  readonly resolution: number;
  /** [DM4] */
  readonly isProportional: boolean;
  /** [DM5] Share of the usual value. */
  readonly leastSpread: number;
};
const PLAIN = { isProportional: false, leastSpread: 0 } as const;

const MTORR_PA = TORR_PA / 1000;
const time = (name: string, leastShare: number, least = 2): DriftMeasure => ({
  ...PLAIN,
  name,
  symbol: 's',
  gain: 1,
  higher: 'longer',
  lower: 'shorter',
  leastShare,
  least,
  resolution: 1,
});
const pressure = (name: string, leastShare: number, leastMTorr: number): DriftMeasure => ({
  ...PLAIN,
  name,
  symbol: 'mTorr',
  gain: 1 / MTORR_PA,
  higher: 'higher',
  lower: 'lower',
  leastShare,
  least: leastMTorr * MTORR_PA,
  resolution: MTORR_PA,
});
const share = (name: string, symbol: string, least: number): DriftMeasure => ({
  ...PLAIN,
  name,
  symbol,
  gain: 100,
  higher: 'higher',
  lower: 'lower',
  leastShare: 0,
  least,
  resolution: 0.0005,
});

export const DRIFT_MEASURES = {
  'pump-down': { ...time('pump-down', 0.15, 5), leastSpread: 0.1 },
  'pump-down-first': time('first part of the pump-down', 0.05),
  'pump-down-middle': time('middle part of the pump-down', 0.1),
  'pump-down-tail': { ...time('tail of the pump-down', 0.5), isProportional: true, leastSpread: 0.35 },
  'base-pressure': pressure('base pressure', 0.3, 5),
  'rate-of-rise': {
    ...pressure('rate of rise', 0.3, 5 / 60),
    leastSpread: 0.15,
    symbol: 'mTorr/min',
    gain: 60 / MTORR_PA,
    resolution: MTORR_PA / 60,
  },
  'plasma-pressure': { ...pressure('pressure in plasma', 0.03, 5), leastSpread: 0.01 },
  'flow-zero': share('flow controller zero', '% of full scale', 0.005),
  'flow-deviation': share('flow against set point', '% of full scale', 0.01),
  'reflected-fraction': share('reflected power', '% of forward', 0.01),
  'delivered-energy': { ...share('delivered RF energy', 'Wh', 0), gain: 1 / 3600, leastShare: 0.02, resolution: 36 },
  'ignition-delay': { ...time('ignition delay', 0.5, 2), isProportional: true, resolution: 2.5 },
  purge: time('purge', 0.1),
  vent: time('vent', 0.15, 5),
} as const satisfies Record<string, DriftMeasure>;

export type DriftMeasureName = keyof typeof DRIFT_MEASURES;

/** [DM1] */
export function isWorthTelling(measure: DriftMeasure, value: number, usual: number): boolean {
  const change = Math.abs(value - usual);
  return change >= measure.least && change >= measure.leastShare * Math.abs(usual);
}

/** [DM2] [DM5] */
export const leastSigma = ({ resolution, leastSpread }: DriftMeasure, usual: number): number =>
  Math.max(resolution / Math.sqrt(12), leastSpread * Math.abs(usual));

/** [DM4] What the chart is drawn of; nothing is shorter than its resolution. */
export const charting = ({ isProportional, resolution }: DriftMeasure, si: number): number =>
  isProportional ? Math.log(Math.max(si, resolution / 10)) : si;
/** [DM4] And back. */
export const charted = ({ isProportional }: DriftMeasure, drawn: number): number => (isProportional ? Math.exp(drawn) : drawn);

/** Three significant digits in the measure's unit, such as `114 s`. */
export function shown({ gain, symbol }: DriftMeasure, si: number): string {
  const value = si * gain;
  const digits = value === 0 ? 0 : 2 - Math.floor(Math.log10(Math.abs(value)));
  return `${value.toFixed(Math.min(4, Math.max(0, digits)))} ${symbol}`;
}

/** [DM3] Such as mbar, and mbar/min for a rate of rise; another unit's figures are as they were. */
export function inPressureUnit(measure: DriftMeasure, unit: string): DriftMeasure {
  if (!measure.symbol.startsWith('mTorr') || !isUnit(unit)) return measure;
  return { ...measure, symbol: measure.symbol.replace('mTorr', unitSymbol(unit)), gain: (measure.gain * MTORR_PA) / linear(unit).gain };
}

/** What a change amounts to: `+24 s (17 %)`. */
export function changeText(measure: DriftMeasure, change: number, changeShare: number | null): string {
  const share = changeShare === null || measure.symbol.startsWith('%') ? '' : ` (${Math.abs(100 * changeShare).toFixed(0)} %)`;
  return `${change < 0 ? '−' : '+'}${shown(measure, Math.abs(change))}${share}`;
}
