/** A run's record in words: verdicts, phases, and its quantities in the units of the site. */
import type { Phase } from '../../src/equipment.ts';
import { PHASE_WORDS } from '../../src/phase-words.ts';
import type { RunBand, RunVerdict } from '../../src/run-answer.ts';
import type { ReportPlace } from './place.ts';
import { figures, inUnit, MISSING, percent, unitSign } from './words.ts';

const WATT_HOUR_J = 3600;

type Units = ReportPlace['units'];

/** Never pass or good: what was measured lies within its limits, or not, or nobody can tell. */
export const VERDICT_WORDS: Record<RunVerdict, string> = {
  'within-limits': 'Within limits',
  'outside-limits': 'Outside limits',
  'not-enough-data': 'Not enough data',
};

export const phaseWords = (phase: Phase, step: number | null): string =>
  phase === 'plasma' && step !== null ? `plasma ${step}` : PHASE_WORDS[phase];

export type Gas = { readonly line: number; readonly kind: string };
export type Quantity = { readonly words: string; readonly unit: string };

/** 'O2 flow' in sccm, 'forward power' in W. */
export function quantityOf(signal: string, gases: readonly Gas[], units: Units): Quantity {
  const line = /^gas\.(\d)\.flow/.exec(signal)?.[1];
  if (line !== undefined)
    return { words: `${gases.find((gas) => gas.line === Number(line))?.kind ?? `gas ${line}`} flow`, unit: units.flow };
  if (signal === 'chamber.pressure') return { words: 'pressure', unit: units.pressure };
  if (signal === 'rf.forward') return { words: 'forward power', unit: 'W' };
  return signal === 'rf.reflected' ? { words: 'reflected power', unit: 'W' } : { words: signal, unit: '' };
}

/** Figures of a band come in SI and leave in what people read. */
export function bandUnit(unit: RunBand['unit'], units: Units): { readonly sign: string; readonly text: (si: number | null) => string } {
  switch (unit) {
    case 'Pa':
      return { sign: unitSign(units.pressure), text: (si) => inUnit(si, units.pressure) };
    case 'Pa/s':
      return { sign: `${unitSign(units.pressure)}/s`, text: (si) => inUnit(si, units.pressure) };
    case 'mol/s':
      return { sign: unitSign(units.flow), text: (si) => inUnit(si, units.flow) };
    case 'J':
      return { sign: 'Wh', text: (si) => figures(si === null ? null : si / WATT_HOUR_J) };
    case '1':
      return { sign: '%', text: (si) => (si === null ? MISSING : figures(100 * si)) };
    default:
      return { sign: unit, text: figures };
  }
}

export const wattHours = (joules: number | null): string => (joules === null ? MISSING : `${figures(joules / WATT_HOUR_J)} Wh`);
/** What is nominal leaves out what a step waits before its first call for RF. */
export const ofNominal = (joules: number | null, nominal: number | null): string =>
  joules === null || nominal === null || nominal <= 0 ? '' : `${percent(joules / nominal)} of set power from call for RF on`;
