/**
 * The people of the hall: loaders in three shifts who walk, load, unload, take breaks and hand over, and the work that arrives for them. The
 * chamber that has waited longest is served first.
 */
import { cause } from './alarm-lines.ts';
import { ALARM } from './alarm-catalogue.ts';
import { localOf } from './calendar.ts';
import type { Load, Operator, Task } from './plant-state.ts';
import { between, exponential, integer, logNormal, pick, uniform } from './random.ts';
import { recordState, enterPhase } from './truth-record.ts';
import { toNow, type Unit, type World } from './unit.ts';

const MINUTE = 60_000;
/** A finished load goes before a chamber that only stands empty. */
const UNLOAD_FIRST_MS = 14 * 24 * 60 * MINUTE;
const HANDOVER_MS = 10 * MINUTE;
const CREW = { early: 3, late: 3, night: 2 } as const;

export function crewOf(world: World): number {
  const { shift } = world.state;
  return shift === null ? 0 : Math.max(1, Math.round((CREW[shift.kind] * world.units.length) / 12));
}

/** Every second: whoever is done goes on, whoever is free takes the next work. */
export function stepPeople(world: World, at: number): void {
  const { state } = world;
  for (let place = 0; place < state.operators.length; place++) {
    const person = state.operators[place]!;
    if (person.task !== null) work(world, person, at);
    if (person.task === null && place < state.crew && isFree(world, place, at)) person.task = nextTask(world, at);
  }
}

/** Not in handover and not on a break: 15 minutes after two hours, 30 after four and a half, staggered. */
function isFree(world: World, place: number, at: number): boolean {
  const shift = world.state.shift;
  if (shift === null) return false;
  const into = at - shift.from;
  if (into < HANDOVER_MS || shift.to - at < HANDOVER_MS) return false;
  const own = into - place * 35 * MINUTE;
  return !(own >= 120 * MINUTE && own < 135 * MINUTE) && !(own >= 270 * MINUTE && own < 300 * MINUTE);
}

function nextTask(world: World, at: number): Task | null {
  let best: Unit | null = null;
  let since = Infinity;
  for (const u of world.units) {
    if (!wantsPerson(u, at) || world.state.operators.some((person) => person.task?.chamber === u.design.index)) continue;
    const waiting = u.c.phase === 'wait-unload' ? u.c.phaseAt - UNLOAD_FIRST_MS : u.c.idleSince;
    if (waiting < since) [best, since] = [u, waiting];
  }
  if (best === null) return null;
  const dice = world.state.dice.people;
  const startAt = at + 1000 * Math.round(between(dice, 15, 60));
  if (best.c.phase === 'wait-unload') return { kind: 'unload', chamber: best.design.index, startAt, endAt: 0, load: null, started: false };
  if (best.c.service.length > 0) return { kind: 'service', chamber: best.design.index, startAt, endAt: 0, load: null, started: false };
  return { kind: 'load', chamber: best.design.index, startAt, endAt: 0, load: takeLoad(world, best), started: false };
}

function wantsPerson(u: Unit, at: number): boolean {
  const { c } = u;
  if (c.stop !== null || c.silentUntil !== null) return false;
  if (c.phase === 'wait-unload') return true;
  if (c.phase !== 'idle' || c.startAt !== null || c.handling || c.maintenanceDueMs > 0) return false;
  return c.service.length > 0 || findLoad(u, at) >= 0;
}

const queueOf = (u: Unit): Load[] => (u.design.sizeName === 'S' ? u.world.state.queue.surface : u.world.state.queue.drill);

function findLoad(u: Unit, at: number): number {
  const queue = queueOf(u);
  for (let i = 0; i < queue.length && i < 40; i++) if (queue[i]!.readyAt <= at && u.design.recipes.includes(queue[i]!.recipe)) return i;
  return -1;
}

function takeLoad(world: World, u: Unit): Load | null {
  const index = findLoad(u, world.state.now);
  return index < 0 ? null : (queueOf(u).splice(index, 1)[0] ?? null);
}

function work(world: World, person: Operator, at: number): void {
  const task = person.task!;
  const u = world.units[task.chamber]!;
  const lost = u.c.stop !== null || u.c.silentUntil !== null || (task.started && task.kind !== 'service' && !u.c.handling);
  if (lost) {
    if (task.load !== null) queueOf(u).unshift(task.load);
    person.task = null;
  } else if (!task.started && at >= task.startAt) begin(world, u, task, at);
  else if (task.started && at >= task.endAt) person.task = finish(world, u, task, at);
}

function begin(world: World, u: Unit, task: Task, at: number): void {
  const { c } = u;
  const dice = world.state.dice.people;
  const fill = uniform(dice);
  toNow(u);
  task.started = true;
  if (task.kind === 'service') {
    task.endAt = at + 1000 * integer(dice, 30, 60);
    return;
  }
  c.handling = true;
  c.doorOpen = true;
  if (task.kind === 'unload') {
    task.endAt = at + 1000 * Math.round(logNormal(dice, 120 + 150 * fill, 0.3));
    cause(u, ALARM.waiting, false);
    enterPhase(u, 'unload');
    return;
  }
  task.endAt = at + 1000 * Math.round(logNormal(dice, 210 + 260 * fill, 0.3));
  c.recipe = task.load?.recipe ?? c.recipe;
  c.loadId = task.load?.id ?? null;
  enterPhase(u, 'load');
}

function finish(world: World, u: Unit, task: Task, at: number): Task | null {
  const { c } = u;
  const dice = world.state.dice.people;
  toNow(u);
  if (task.kind === 'unload') return unloaded(world, u, at);
  if (task.kind === 'service') {
    const recipe = c.service.shift();
    if (recipe !== undefined && c.phase === 'idle' && !c.doorOpen) {
      c.recipe = recipe;
      c.loadId = null;
      c.startAt = c.at;
    }
    return null;
  }
  c.doorOpen = false;
  c.startAt = c.at + 1000 * integer(dice, 2, 5);
  enterPhase(u, 'idle');
  return null;
}

/** Goes on with the next load at once when there is one and the shift is long enough; else shuts the door. */
function unloaded(world: World, u: Unit, at: number): Task | null {
  const { c } = u;
  c.loadId = null;
  const shift = world.state.shift;
  const goesOn = shift !== null && shift.to - at > 2 * HANDOVER_MS && c.maintenanceDueMs === 0 && c.service.length === 0;
  const load = goesOn && uniform(world.state.dice.people) < 0.85 ? takeLoad(world, u) : null;
  c.idleSince = c.at;
  if (load === null) {
    c.doorOpen = false;
    c.handling = false;
    enterPhase(u, 'idle');
    return null;
  }
  const task: Task = { kind: 'load', chamber: u.design.index, startAt: at, endAt: 0, load, started: false };
  begin(world, u, task, at);
  recordState(u, c.at);
  return task;
}

const SURFACE = [
  ['ACT-AR-07', 60],
  ['CLN-OA-10', 40],
] as const;
const DRILL = [
  ['DSM-PI-25', 39],
  ['DSM-EP-25', 39],
  ['ETB-RF-43', 22],
] as const;

/** Every minute: lots that have come. */
export function arriveLots(world: World, at: number): void {
  const { state } = world;
  if (state.shift === null) return;
  const pace = state.shift.kind === 'night' ? 0.7 : 1.15;
  const scale = world.units.length / 12;
  const dice = state.dice.work;
  for (const family of ['surface', 'drill'] as const) {
    state.nextLot[family] -= (MINUTE / 3_600_000) * pace * scale;
    while (state.nextLot[family] <= 0) {
      state.nextLot[family] += exponential(dice, family === 'surface' ? 0.5 : 0.46);
      const recipe = pick<string>(dice, family === 'surface' ? SURFACE : DRILL);
      const count = integer(dice, 1, family === 'surface' ? 5 : 4);
      const lot = `QM-${String(localOf(at).getUTCFullYear() % 100).padStart(2, '0')}-${String(state.lotNumber++).padStart(5, '0')}`;
      for (let i = 0; i < count; i++) state.queue[family].push({ id: `${lot}-${'ABCDE'[i]}`, recipe, readyAt: at });
    }
  }
}
