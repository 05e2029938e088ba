/**
 * Everything that is true of the hall at one moment, as plain values: chambers, people, work, house supplies, faults and what the truth
 * record has open.
 */
import type { ChamberState } from './chamber-state.ts';
import type { FaultName } from './plant-port.ts';
import type { Stream } from './random.ts';

/** One load of a lot, waiting for a chamber. */
export type Load = { readonly id: string; readonly recipe: string; readonly readyAt: number };

export type Task = {
  kind: 'unload' | 'load' | 'service';
  chamber: number;
  /** Working from here; before it the person walks. */
  startAt: number;
  endAt: number;
  load: Load | null;
  started: boolean;
};

export type Operator = { task: Task | null };

export type ActiveFault = { fault: FaultName; chamber: number | null; size: number; from: number; until: number | null; line: number };

export type OpenTruth = { phase: string; step: number | null; phaseAt: number; state: string; reason: string; stateAt: number };

export type PlantState = {
  seed: number;
  /** `history` takes long steps where nothing happens and tells the fewest changes. */
  pace: 'live' | 'history';
  /** The last whole second done. */
  now: number;
  chambers: ChamberState[];
  open: OpenTruth[];
  shift: { kind: 'early' | 'late' | 'night'; from: number; to: number } | null;
  operators: Operator[];
  /** Operators now on shift. */
  crew: number;
  queue: { surface: Load[]; drill: Load[] };
  lotNumber: number;
  nextLot: { surface: number; drill: number };
  supply: { compressedAirKPa: number; nitrogenKPa: number; waterNorth: number; waterSouth: number };
  faults: ActiveFault[];
  /** Ordered from outside or by the story, carried out at the next second. */
  orders: { fault: FaultName; chamber: string | null; size: number | null; durationMs: number | null }[];
  /** Things that will happen to one chamber at a set time. */
  later: { at: number; chamber: number; what: 'dip' | 'water' | 'restart' | 'air' | 'alarm'; value: number }[];
  /** `quiet`: nothing of the story happens; maintenance and service do. */
  story: { weekFrom: number; done: number; quiet?: boolean };
  links: { server: string; state: string; from: number; until: number }[];
  nextLinkDrop: number;
  dice: { people: Stream; work: Stream; faults: Stream; links: Stream };
};
