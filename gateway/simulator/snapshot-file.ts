/**
 * The plant's memory on disk, written whole and put in place at once, so that a kill at any moment leaves the old file or the new one.
 */
import { readFile, rename, writeFile } from 'node:fs/promises';

const FORMAT = 1;

export type PlantMemory = { readonly seed: number; readonly chambers: number; readonly plant: unknown };

export async function savePlant(file: string, memory: PlantMemory): Promise<void> {
  await writeFile(`${file}.new`, JSON.stringify({ format: FORMAT, ...memory }));
  await rename(`${file}.new`, file);
}

/** null when there is none. Throws one sentence with the cure when it cannot be used. */
export async function savedPlant(file: string, wanted: { readonly seed: number; readonly chambers: number }): Promise<PlantMemory | null> {
  const text = await readFile(file, 'utf8').catch((error: NodeJS.ErrnoException) => {
    if (error.code === 'ENOENT') return null;
    throw error;
  });
  if (text === null) return null;
  const memory = readable(text);
  if (memory?.format !== FORMAT) throw new Error(`The plant snapshot ${file} cannot be read: delete it to begin a new story.`);
  if (memory.seed !== wanted.seed || memory.chambers !== wanted.chambers) {
    throw new Error(
      `The plant snapshot ${file} belongs to --seed ${memory.seed} --chambers ${memory.chambers}: start with these, or delete it to begin a new story.`,
    );
  }
  return memory;
}

function readable(text: string): (PlantMemory & { format: number }) | null {
  try {
    return JSON.parse(text) as PlantMemory & { format: number };
  } catch {
    return null;
  }
}
