/** A story's truth without servers and without waiting: the plant run through its days, and what really happened written to a file. */
import { writeFile } from 'node:fs/promises';
import { createPlant } from './plant.ts';
import type { PlantSink, TruthLine } from './plant-port.ts';

const DAY_MS = 86_400_000;
/** A Monday, 00:00 UTC, so that the same seed tells the same story whenever it is run. */
const STORY_FROM = Date.UTC(2026, 10, 2);
const UNHEARD: PlantSink = { tag: () => {}, condition: () => {}, link: () => {} };

export type StoryOrder = { readonly seed: number; readonly days: number; readonly chambers: number; readonly out: string };

/** How many lines were written. */
export async function writeStory({ seed, days, chambers, out }: StoryOrder): Promise<number> {
  const lines: TruthLine[] = [];
  const plant = createPlant({ seed, chambers, from: STORY_FROM, pace: 'history', truth: (line) => void lines.push(line) });
  await writeFile(out, ''); // a folder that is not there is found before the work
  plant.advance(STORY_FROM + days * DAY_MS, UNHEARD);
  plant.closeTruth();
  await writeFile(out, lines.map((line) => `${JSON.stringify(line)}\n`).join(''));
  return lines.length;
}
