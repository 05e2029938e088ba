/** Finding runs among those the page has read, and saying honestly how many that are. */
import type { RunRow } from '../src/contract.ts';
import { count } from './format.ts';

/** How many runs stand on the page, of how many; `cutAt` where the gateway has more than it was asked for. */
export function countWords(found: number, shown: number, cutAt: number | null): string {
  const of =
    cutAt === null ? count(found, 'run') : `${count(found, 'run')} among the newest ${cutAt}; there are older ones, the CSV has all`;
  return shown < found ? `first ${shown} of ${of}` : of;
}

/** Runs whose chamber, load, recipe or outcome hold every word that was typed. */
export function findRuns(runs: readonly RunRow[], words: string, nameOf: (chamber: string) => string): readonly RunRow[] {
  const wanted = words.toLowerCase().split(/\s+/).filter(Boolean);
  return runs.filter((run) => {
    const text = [nameOf(run.chamber), run.load, run.recipe, run.outcome].join(' ').toLowerCase();
    return wanted.every((word) => text.includes(word));
  });
}
