/** Drift as the page says it: short heads for a wide table, and for each verdict a sign, a word and whether it asks for an eye. */
import type { DriftCell } from '../src/drift-answer.ts';
import { MISSING } from './format.ts';

/** Groups and columns in the order of the gateway's figures; a figure not named here stands under its own name. */
const HEADS: Readonly<Record<string, readonly [group: string, head: string]>> = {
  'pump-down': ['Pump-down', 'total'],
  'pump-down-first': ['Pump-down', 'first part'],
  'pump-down-middle': ['Pump-down', 'middle'],
  'pump-down-tail': ['Pump-down', 'tail'],
  'empty-tail': ['Pump-down', 'tail, empty'],
  'base-pressure': ['Vacuum', 'base'],
  'rate-of-rise': ['Vacuum', 'rise'],
  'plasma-pressure': ['Vacuum', 'in plasma'],
  'flow-zero': ['Gas', 'flow zero'],
  'flow-deviation': ['Gas', 'flow error'],
  'reflected-fraction': ['RF', 'reflected'],
  'delivered-energy': ['RF', 'energy'],
  'ignition-delay': ['RF', 'ignition'],
  purge: ['Sequence', 'purge'],
  vent: ['Sequence', 'vent'],
};

export const headOf = (name: string): string => HEADS[name]?.[1] ?? name;
export const groupOf = (name: string): string => HEADS[name]?.[0] ?? '';

/** Neighbours of one group, with how many columns it spans. */
export function groups(names: readonly string[]): { readonly group: string; readonly span: number }[] {
  const out: { group: string; span: number }[] = [];
  for (const name of names) {
    const last = out.at(-1);
    if (last?.group === groupOf(name)) last.span += 1;
    else out.push({ group: groupOf(name), span: 1 });
  }
  return out;
}

type CellFace = { readonly sign: string; readonly word: string; readonly tone: 'shifted' | 'odd' | 'quiet' };

/** Shape and word say it, so that it is read without colour. */
export function cellFace(cell: DriftCell): CellFace {
  switch (cell.state) {
    case 'no-figure':
      return { sign: MISSING, word: 'no such figure', tone: 'quiet' };
    case 'learning':
      return { sign: `${cell.learned?.runs}/${cell.learned?.needed}`, word: 'learning', tone: 'quiet' };
    case 'steady':
      return { sign: '·', word: 'steady', tone: 'quiet' };
    case 'odd-run':
      return { sign: '○', word: 'odd run', tone: 'odd' };
    case 'shifted':
      return { sign: isUp(cell) ? '▲' : '▼', word: cell.size ?? 'shifted', tone: 'shifted' };
  }
}

const isUp = ({ value, usual }: DriftCell): boolean => (value ?? 0) > (usual ?? 0);

/** As an explanation names it. */
const numberOf = ({ name, line, recipe }: DriftCell): string => `${name}/${line ?? ''}/${recipe ?? ''}`;
export const changeOf = (cell: DriftCell): string => `drift-change/${numberOf(cell)}`;
export const usualOf = (cell: DriftCell): string => `drift-usual/${numberOf(cell)}`;

/** Of which recipe or gas line the cell speaks. */
export const ofWhat = ({ recipe, gas, line }: DriftCell): string =>
  [gas ?? (line === null ? null : `gas ${line}`), recipe].filter((part) => part !== null).join(', ');
