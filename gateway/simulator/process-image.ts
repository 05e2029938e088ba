/**
 * The process image: the last value of every tag, the last state of every condition and link. A server that starts, or starts again, serves it
 * at once, as a controller does from its memory.
 */
import type { PlantSink, RawValue, SimulatedChamber } from './plant-port.ts';

export type LastValue = { readonly value: RawValue; readonly at: number; readonly sourceAt: number };
export type LastCondition = { readonly active: boolean; readonly at: number; readonly sourceAt: number };
/** A controller that restarts is away until its link is told to be up. */
export type LinkState = 'up' | 'drop' | 'half-open';

export type ProcessImage = PlantSink & {
  valueOf(chamber: number, tag: number): LastValue | null;
  conditionOf(chamber: number, condition: number): LastCondition | null;
  linkOf(server: string): LinkState;
  /** How far this chamber's own clock is off, ms. */
  clockOffsetMs(chamber: number): number;
};

export function processImage(chambers: readonly SimulatedChamber[]): ProcessImage {
  const tags = chambers.map((): LastValue[] => []);
  const conditions = chambers.map((): LastCondition[] => []);
  const links = new Map<string, LinkState>();
  const offset = chambers.map(() => 0);
  return {
    tag(chamber, tag, value, at, sourceAt) {
      offset[chamber] = sourceAt - at;
      (tags[chamber] as LastValue[])[tag] = { value, at, sourceAt };
    },
    condition(chamber, condition, active, at, sourceAt) {
      (conditions[chamber] as LastCondition[])[condition] = { active, at, sourceAt };
    },
    link: (server, state) => void links.set(server, state === 'restart' ? 'drop' : state),
    valueOf: (chamber, tag) => tags[chamber]?.[tag] ?? null,
    conditionOf: (chamber, condition) => conditions[chamber]?.[condition] ?? null,
    linkOf: (server) => links.get(server) ?? 'up',
    clockOffsetMs: (chamber) => offset[chamber] ?? 0,
  };
}
