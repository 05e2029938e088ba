/** Runs whose chamber, load, recipe or outcome hold every word that was typed. */
import type { RunRow } from '../src/contract.ts';

export function findRuns(runs: readonly RunRow[], words: string, nameOf: (chamber: string) => string): readonly RunRow[] {
  const wanted = words.toLowerCase().split(/\s+/).filter(Boolean);
  return runs.filter((run) => {
    const text = [nameOf(run.chamber), run.load, run.recipe, run.outcome].join(' ').toLowerCase();
    return wanted.every((word) => text.includes(word));
  });
}
