/** A plant that has lived for a while, with everything it told and everything that was true: for tests only. */
import { createPlant, type PlantOrder, type SimulatedPlant } from '../../../gateway/simulator/plant.ts';
import type { PlantSink, RawValue, TruthLine } from '../../../gateway/simulator/plant-port.ts';

export const HOUR = 3_600_000;
export const WEEK = 168 * HOUR;
/** Monday 2 March 2026, 00:00 in Berlin (UTC+1): no change of clocks, no holiday. */
export const MONDAY = Date.UTC(2026, 2, 1, 23);

export type Told = { readonly path: string; readonly value: RawValue; readonly at: number; readonly sourceAt: number };
export type Story = { readonly plant: SimulatedPlant; readonly truth: TruthLine[]; readonly told: Told[]; readonly sink: PlantSink };

export function story(order: Partial<PlantOrder> = {}, keeps: (path: string) => boolean = () => true): Story {
  const truth: TruthLine[] = [];
  const told: Told[] = [];
  const plant = createPlant({ seed: 1, from: MONDAY, ...order, truth: (line) => truth.push(line) });
  const keep = plant.chambers.map((chamber) => chamber.tags.map((tag) => keeps(tag.path)));
  const sink: PlantSink = {
    tag(chamber, tag, value, at, sourceAt) {
      if (keep[chamber]![tag]) told.push({ path: plant.chambers[chamber]!.tags[tag]!.path, value, at, sourceAt });
    },
    condition(chamber, condition, active, at, sourceAt) {
      const { id, conditions } = plant.chambers[chamber]!;
      told.push({ path: `${id}#${conditions[condition]!.name}`, value: active, at, sourceAt });
    },
    link: (server, state, at) => void told.push({ path: `link:${server}`, value: state, at, sourceAt: at }),
  };
  return { plant, truth, told, sink };
}

export type Line<K extends TruthLine['kind']> = Extract<TruthLine, { kind: K }>;
export const lines = <K extends TruthLine['kind']>(truth: readonly TruthLine[], kind: K): Line<K>[] =>
  truth.filter((line): line is Line<K> => line.kind === kind);

export function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.floor(sorted.length / 2)] ?? NaN;
}
