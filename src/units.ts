/**
 * Engineering units to SI and back. Exact constants: Torr by definition (101325/760 Pa), R = 8.31446261815324 J/(mol·K) (SI 2019),
 * standard pressure 101325 Pa.
 * [UN1] A pressure unit is a fixed number of pascals; 1 Torr is 101325/760 Pa.
 * [UN2] A standard volume flow is an amount of substance per second; its reference temperature (0 or 20 °C) belongs to the tag.
 * [UN3] A flow controller's reading is of its calibration gas: the actual flow is reading × correction factor.
 * [UN4] Percent of full scale is a flow only where the full scale is known.
 * [UN5] A unit of another dimension than the signal's is a fault, never a number.
 * [UN6] Gas throughput (pressure × volume per second) and amount of substance per second are tied by the gas temperature.
 * [UN7] A quantity on a screen keeps three significant digits; what is not finite is a dash.
 */
import { Fault } from './fault.ts';
import type { SiUnit } from './signal.ts';

export const GAS_CONSTANT = 8.31446261815324;
const STANDARD_PRESSURE_PA = 101325;
export const TORR_PA = STANDARD_PRESSURE_PA / 760;
const ZERO_CELSIUS_K = 273.15;

type FlowReferenceC = 0 | 20;

/** What a flow unit needs beside its name. */
export type UnitContext = {
  readonly referenceC?: FlowReferenceC;
  readonly correctionFactor?: number;
  /** In `referenceC` sccm of the calibration gas, for percent of full scale. */
  readonly fullScaleSccm?: number;
};

/** SI = value × gain + bias. */
type Linear = { readonly gain: number; readonly bias: number };

type Definition = Linear & { readonly si: SiUnit };
const times = (si: SiUnit, gain: number): Definition => ({ si, gain, bias: 0 });

const UNITS = {
  Pa: times('Pa', 1),
  kPa: times('Pa', 1000),
  mbar: times('Pa', 100),
  bar: times('Pa', 100_000),
  Torr: times('Pa', TORR_PA),
  mTorr: times('Pa', TORR_PA / 1000),
  'mol/s': times('mol/s', 1),
  W: times('W', 1),
  kW: times('W', 1000),
  K: times('K', 1),
  degC: { si: 'K', gain: 1, bias: ZERO_CELSIUS_K },
  s: times('s', 1),
  min: times('s', 60),
  h: times('s', 3600),
  'm3/s': times('m3/s', 1),
  'L/min': times('m3/s', 1 / 60_000),
  percent: times('1', 0.01),
  '1': times('1', 1),
} as const satisfies Record<string, Definition>;

type PlainUnit = keyof typeof UNITS;
type GasFlowUnit = 'sccm' | 'slm' | 'percent-of-full-scale';
export type Unit = PlainUnit | GasFlowUnit;

export const isUnit = (unit: string): unit is Unit => Object.hasOwn(UNITS, unit) || isGasFlow(unit);
const isGasFlow = (unit: string): unit is GasFlowUnit => unit === 'sccm' || unit === 'slm' || unit === 'percent-of-full-scale';

/** The SI unit that `unit` is turned into. */
export const siUnitOf = (unit: Unit): SiUnit => (isGasFlow(unit) ? 'mol/s' : UNITS[unit].si);

/** [UN2] Moles per second of one standard cubic centimetre per minute: n = p·V / (R·T). */
export const molPerSOfSccm = (referenceC: FlowReferenceC): number =>
  (STANDARD_PRESSURE_PA * 1e-6) / (60 * GAS_CONSTANT * (ZERO_CELSIUS_K + referenceC));

/** Gain and bias to SI, worked out once so that each value costs one multiplication. */
export function linear(unit: Unit, context: UnitContext = {}): Linear {
  if (!isGasFlow(unit)) return UNITS[unit];
  const perSccm = molPerSOfSccm(context.referenceC ?? 0) * (context.correctionFactor ?? 1);
  return { gain: perSccm * sccmOf(unit, context), bias: 0 };
}

function sccmOf(unit: GasFlowUnit, context: UnitContext): number {
  if (unit === 'sccm') return 1;
  if (unit === 'slm') return 1000;
  if (context.fullScaleSccm === undefined) {
    throw new Fault('invalid', "A flow in percent of full scale needs its gas line's fullScaleSccm in the template.");
  }
  return context.fullScaleSccm / 100;
}

/** [UN5] As `linear`, and refuses a unit that does not measure this signal. */
export function linearFor(si: SiUnit, unit: Unit, context: UnitContext = {}): Linear {
  if (siUnitOf(unit) !== si) {
    throw new Fault(
      'invalid',
      `The unit ${unit} is of ${siUnitOf(unit)}, but the signal is of ${si || 'no unit'}: name a unit of the same quantity.`,
    );
  }
  return linear(unit, context);
}

export function toSi(value: number, unit: Unit, context: UnitContext = {}): number {
  const { gain, bias } = linear(unit, context);
  return value * gain + bias;
}

export function fromSi(si: number, unit: Unit, context: UnitContext = {}): number {
  const { gain, bias } = linear(unit, context);
  return (si - bias) / gain;
}

/** [UN6] Pa·m³/s of a molar flow whose gas has this temperature. */
export const throughputPaM3PerS = (molPerS: number, gasC = 0): number => molPerS * GAS_CONSTANT * (ZERO_CELSIUS_K + gasC);
export const molPerSOfThroughput = (paM3PerS: number, gasC = 0): number => paM3PerS / (GAS_CONSTANT * (ZERO_CELSIUS_K + gasC));

/** [UN6] Rate of rise: pressure gained in a closed volume, as throughput. */
export const riseThroughputPaM3PerS = (rise: { volumeM3: number; risePa: number; durationS: number }): number =>
  (rise.volumeM3 * rise.risePa) / rise.durationS;

const SYMBOLS: Partial<Record<Unit, string>> = { degC: '°C', percent: '%', 'percent-of-full-scale': '%', '1': '', 'm3/s': 'm³/s' };
export const unitSymbol = (unit: Unit): string => SYMBOLS[unit] ?? unit;

/** [UN7] A number for people, such as `250 mTorr`. */
export function displayed(si: number | null, unit: Unit, context: UnitContext = {}): string {
  if (si === null || !Number.isFinite(si)) return '–';
  const value = fromSi(si, unit, context);
  const magnitude = value === 0 ? 0 : Math.floor(Math.log10(Math.abs(Number(value.toPrecision(3)))));
  const text = magnitude < -3 || magnitude > 5 ? value.toExponential(2) : value.toFixed(Math.min(6, Math.max(0, 2 - magnitude)));
  const symbol = unitSymbol(unit);
  return symbol ? `${text} ${symbol}` : text;
}

const STANDARD_L_PER_MOL = (1000 * GAS_CONSTANT * ZERO_CELSIUS_K) / STANDARD_PRESSURE_PA;

/** At 0 °C and 101325 Pa. */
export const standardLitres = (mol: number): number => mol * STANDARD_L_PER_MOL;
