/**
 * The process image: the last value of every tag and the last state of every condition. A server that starts again serves it at once,
 * as a controller does from its memory; a simulator that starts again reads it back beside the plant's snapshot.
 */
import type { PlantSink, RawValue, SimulatedChamber } from './plant-port.ts';

export type LastValue = { readonly value: RawValue; readonly at: number; readonly sourceAt: number };
export type LastCondition = { readonly active: boolean; readonly at: number; readonly sourceAt: number };

/** By tag path and by 'chamber condition' name, so that a plant whose list of tags has grown still finds its own. */
export type SavedImage = {
  readonly tags: Readonly<Record<string, LastValue>>;
  readonly conditions: Readonly<Record<string, LastCondition>>;
};

export type ProcessImage = {
  readonly tag: PlantSink['tag'];
  readonly condition: PlantSink['condition'];
  valueOf(chamber: number, tag: number): LastValue | null;
  conditionOf(chamber: number, condition: number): LastCondition | null;
  /** How far this chamber's own clock is off, ms. */
  clockOffsetMs(chamber: number): number;
  saved(): SavedImage;
};

export function processImage(chambers: readonly SimulatedChamber[], saved?: SavedImage): ProcessImage {
  const tags = chambers.map((chamber) => chamber.tags.map((tag) => saved?.tags[tag.path] ?? null));
  const conditions = chambers.map((chamber) =>
    chamber.conditions.map((condition) => saved?.conditions[key(chamber, condition.name)] ?? null),
  );
  const offset = chambers.map(() => 0);
  return {
    tag(chamber, tag, value, at, sourceAt) {
      offset[chamber] = sourceAt - at;
      (tags[chamber] as LastValue[])[tag] = { value, at, sourceAt };
    },
    condition(chamber, condition, active, at, sourceAt) {
      (conditions[chamber] as LastCondition[])[condition] = { active, at, sourceAt };
    },
    valueOf: (chamber, tag) => tags[chamber]?.[tag] ?? null,
    conditionOf: (chamber, condition) => conditions[chamber]?.[condition] ?? null,
    clockOffsetMs: (chamber) => offset[chamber] ?? 0,
    saved: () => ({
      tags: Object.fromEntries(chambers.flatMap((chamber, c) => chamber.tags.map((tag, t) => [tag.path, tags[c]?.[t]]).filter(isKnown))),
      conditions: Object.fromEntries(
        chambers.flatMap((chamber, c) => chamber.conditions.map((it, i) => [key(chamber, it.name), conditions[c]?.[i]]).filter(isKnown)),
      ),
    }),
  };
}

function key(chamber: SimulatedChamber, condition: string): string {
  return `${chamber.id} ${condition}`;
}

function isKnown(entry: readonly unknown[]): boolean {
  return entry[1] !== null;
}
