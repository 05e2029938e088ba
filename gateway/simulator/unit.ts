/**
 * One chamber among the rest of the plant: its design, its state, what it exposes, and the plant around it. Not part of a snapshot; built
 * around the state when a plant is made or restored.
 */
import type { ChamberState } from './chamber-state.ts';
import type { ChamberDesign } from './design.ts';
import type { PlantSink, TruthLine } from './plant-port.ts';
import type { Layout } from './tag-list.ts';
import type { PlantState } from './plant-state.ts';

export type World = {
  readonly state: PlantState;
  readonly units: readonly Unit[];
  readonly truth: (line: TruthLine) => void;
  sink: PlantSink;
  /** Steps one chamber to its own time `at`. */
  readonly step: (u: Unit, at: number) => void;
};

export type Unit = {
  readonly design: ChamberDesign;
  readonly c: ChamberState;
  readonly layout: Layout;
  readonly world: World;
};

/** Brings a chamber's own clock to now before something from outside changes it, and has it look again within this second. */
export function toNow(u: Unit): void {
  const { now } = u.world.state;
  if (now > u.c.at) u.world.step(u, now);
  u.c.nextAt = now;
}
