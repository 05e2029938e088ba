/**
 * [DS4] A gas line's number is the number in its name; several lines without one are numbered in order of name.
 */
import type { FoundVariable } from './found.ts';
import { wordsOf } from './name-words.ts';
import { GAS_LINES } from './signal.ts';
import { siUnitOf } from './units.ts';

const LINE_WORDS = ['gas', 'mfc', 'flow', 'line', 'channel', 'ch', 'durchfluss', 'linie', 'kanal', 'leitung', 'mdr'];

/** [DS4] Of every variable about gas: which of the four lines. */
export function gasLines(variables: readonly FoundVariable[], depth: number): ReadonlyMap<FoundVariable, number> {
  const found = new Map<FoundVariable, number>();
  for (const variable of variables) {
    const words = variable.path.slice(depth).flatMap(wordsOf);
    const at = words.findIndex((word, i) => LINE_WORDS.includes(word) && /^\d+$/.test(words[i + 1] ?? ''));
    const number = Number(words[at + 1]);
    if (at >= 0 && (GAS_LINES as readonly number[]).includes(number)) found.set(variable, number);
  }
  if (found.size > 0) return found;
  const folders = [...new Set(variables.filter(isGas).map(folderOf))].sort();
  for (const variable of variables) {
    const line = folders.indexOf(folderOf(variable)) + 1;
    if (line > 0 && line <= GAS_LINES.length) found.set(variable, line);
  }
  return found;
}

const isGas = ({ path, unit, type }: FoundVariable): boolean =>
  type !== 'boolean' && unit !== null && siUnitOf(unit) === 'mol/s' && path.length > 0;
const folderOf = ({ path }: FoundVariable): string => path.slice(0, -1).join('/');
