/**
 * The simulated plant: one hall of chambers, its people, its house supplies, stepped on a fixed grid of seconds. The same seed and the same
 * orders tell the same story, however `advance` is cut. It knows nothing of the rules its watchers use.
 */
import { shiftAt } from './calendar.ts';
import { newChamber } from './chamber-state.ts';
import { stepChamber } from './chamber-step.ts';
import { chamberDesign } from './design.ts';
import { checkOrder, stepFaults, writeFault } from './disturbance.ts';
import { arriveLots, crewOf, stepPeople } from './people.ts';
import type { FaultOrder, Plant, PlantSink, SimulatedChamber, TruthLine } from './plant-port.ts';
import type { PlantState } from './plant-state.ts';
import { exponential, stream } from './random.ts';
import { forget } from './report.ts';
import { stepStory } from './story.ts';
import { layoutOf } from './tag-list.ts';
import { closeTruth, recordState } from './truth-record.ts';
import type { Unit, World } from './unit.ts';
import { nextFailure, nextSpurious } from './upkeep.ts';

export type Pace = PlantState['pace'];
export interface SimulatedPlant extends Plant {
  /** `history`: long steps where nothing happens, fewest tag changes. `live` (as made): one second, small deadbands. */
  setPace(pace: Pace): void;
  /** Servers whose link is away at present. */
  readonly linksAway: readonly string[];
  /** Tells every value again with the next step, for a listener that starts now. */
  retell(): void;
  /** The record stops here: ends every open phase and state now, tells alarms and faults that still stand (`to` null). */
  closeTruth(): void;
}

export type PlantOrder = {
  readonly seed: number;
  /** Epoch ms of the first second. */
  readonly from: number;
  /** How many; 12 unless told. Beyond 12 the bays repeat. */
  readonly chambers?: number;
  readonly pace?: Pace;
  readonly truth?: (line: TruthLine) => void;
};

const silence: PlantSink = { tag: () => undefined, condition: () => undefined, link: () => undefined };

export function createPlant(order: PlantOrder): SimulatedPlant {
  const world = worldOf(newState(order), order.truth ?? (() => undefined));
  for (const u of world.units) {
    nextFailure(u);
    nextSpurious(u);
  }
  return plantOf(world);
}

/** Continues exactly where `snapshot` was taken. */
export function restorePlant(snapshot: unknown, truth: (line: TruthLine) => void = () => undefined): SimulatedPlant {
  return plantOf(worldOf(structuredClone(snapshot) as PlantState, truth));
}

function newState(order: PlantOrder): PlantState {
  const { seed } = order;
  const now = Math.floor(order.from / 1000) * 1000;
  const count = order.chambers ?? 12;
  const chambers = Array.from({ length: count }, (_, index) => newChamber(chamberDesign(index), seed, now));
  const shift = shiftAt(now);
  const dice = { people: stream(seed, 'people'), work: stream(seed, 'work'), faults: stream(seed, 'faults'), links: stream(seed, 'links') };
  return {
    seed,
    pace: order.pace ?? 'live',
    now,
    chambers,
    shift,
    crew: 0,
    lotNumber: 4000,
    open: chambers.map(() => ({
      phase: 'idle',
      step: null,
      phaseAt: now,
      state: shift === null ? 'nonscheduled' : 'standby',
      reason: shift === null ? 'calendar' : 'idle',
      stateAt: now,
    })),
    operators: Array.from({ length: Math.max(1, Math.round(count / 4)) }, () => ({ task: null })),
    queue: { surface: [], drill: [] },
    nextLot: { surface: 0, drill: 0 },
    supply: { compressedAirKPa: 600, nitrogenKPa: 450, waterNorth: 1, waterSouth: 1 },
    faults: [],
    orders: [],
    later: [],
    story: { weekFrom: 0, done: now },
    links: [],
    nextLinkDrop: now + exponential(dice.links, 8 * 3_600_000),
    dice,
  };
}

function worldOf(state: PlantState, truth: (line: TruthLine) => void): World {
  const units: Unit[] = [];
  const world: World = { state, units, truth, sink: silence, step: stepChamber };
  state.chambers.forEach((c, index) => {
    const design = chamberDesign(index);
    units.push({ design, c, layout: layoutOf(design), world });
    if (c.told.length === 0) forget(units[index]!);
  });
  return world;
}

function plantOf(world: World): SimulatedPlant {
  const { state, units } = world;
  const chambers: SimulatedChamber[] = units.map(({ design, layout }) => ({
    id: design.id,
    bay: design.bay,
    server: design.server,
    tags: layout.tags,
    conditions: layout.conditions,
  }));
  return {
    get now() {
      return state.now;
    },
    get linksAway() {
      return state.links.map(({ server }) => server);
    },
    chambers,
    advance(to, sink) {
      world.sink = sink;
      while (state.now + 1000 <= to) second(world);
      world.sink = silence;
    },
    inject(order: FaultOrder) {
      checkOrder(world, order);
      state.orders.push({ ...order });
    },
    snapshot: () => structuredClone(state),
    setPace(pace) {
      state.pace = pace;
      for (const { c } of units) c.nextAt = Math.min(c.nextAt, state.now + 1000);
    },
    retell: () => units.forEach(forget),
    closeTruth() {
      for (const u of units) closeTruth(u, state.now);
      for (const fault of state.faults) writeFault(world, fault, null);
    },
  };
}

/** House first, then people, then the chambers in order. */
function second(world: World): void {
  const { state, units } = world;
  state.now += 1000;
  if (state.now % 60_000 === 0) minute(world);
  stepFaults(world);
  stepPeople(world, state.now);
  for (const u of units) if (u.c.nextAt <= state.now) stepChamber(u, state.now);
}

function minute(world: World): void {
  const { state, units } = world;
  const before = state.shift;
  if (before === null || state.now >= before.to) state.shift = shiftAt(state.now);
  state.crew = crewOf(world);
  if ((before === null) !== (state.shift === null)) for (const u of units) recordState(u, state.now);
  arriveLots(world, state.now);
  stepStory(world, state.now);
}
