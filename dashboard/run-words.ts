/** Runs in words: outcomes, verdicts, what deviated, and a figure with its unit. */
import type { RunRow } from '../src/contract.ts';
import type { RunVerdict } from '../src/run-answer.ts';
import type { DeviationCode } from '../src/run-facts.ts';
import { displayed, isUnit } from '../src/units.ts';
import { MISSING } from './format.ts';

export const OUTCOME_WORDS: Readonly<Record<RunRow['outcome'], string>> = {
  completed: 'completed',
  aborted: '× aborted',
  interrupted: '× interrupted',
  'not-fully-observed': '⁄⁄ not fully seen',
};

export const VERDICT_WORDS: Readonly<Record<RunVerdict, string>> = {
  'within-limits': 'within limits',
  'outside-limits': 'outside limits',
  'not-enough-data': 'not enough data',
};

export const DEVIATION_WORDS: Readonly<Record<DeviationCode, string>> = {
  'flow-out-of-band': 'gas flow out of band',
  'power-out-of-band': 'forward power out of band',
  'energy-low': 'RF energy low',
  'energy-high': 'RF energy high',
  'step-short': 'step too short',
  'reflected-high': 'reflected power high',
  'ignition-slow': 'slow ignition',
  'rf-dropouts': 'RF dropouts',
  'gas-not-stable': 'gas not stable before RF',
  'base-not-reached': 'base pressure not reached',
  'purge-short': 'purge too short',
  'not-fully-observed': 'not fully observed',
};

/** Quiet in a table: nothing for none, a dash for a run without a record. */
export function deviationsText(codes: readonly DeviationCode[] | null): string {
  return codes === null ? MISSING : codes.map((code) => DEVIATION_WORDS[code]).join(', ');
}

export type SiteUnits = { readonly pressure: string; readonly flow: string };

const WATT_HOUR_J = 3600;
const PER_MINUTE = 60;

/** A figure of run-figure.ts, SI, in the units of the site. */
export function figureText(si: number | null, unit: string, units: SiteUnits): string {
  if (si === null) return MISSING;
  if (unit === 's') return `${si.toFixed(si < 100 ? 1 : 0)} s`;
  if (unit === 'J') return `${digits(si / WATT_HOUR_J)} Wh`;
  if (unit === '1') return `${(100 * si).toFixed(2)} %`;
  if (unit === 'W') return `${si.toFixed(0)} W`;
  if (unit === 'Pa/s') return `${quantityText(si * PER_MINUTE, units.pressure)}/min`;
  return quantityText(si, unit === 'Pa' ? units.pressure : units.flow);
}

export const quantityText = (si: number | null, unit: string): string => (isUnit(unit) ? displayed(si, unit) : String(si ?? MISSING));

const digits = (value: number): string => value.toFixed(value < 100 ? 1 : 0);
