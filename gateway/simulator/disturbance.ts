/**
 * Faults and events of the house, begun by order or by the story, and undone when their time is over or when maintenance has put them right.
 * Each changes a cause (a leak rate, a supply, a contact, a link); what follows from it is left to the physics and the sequence.
 */
import { ALARM, ALARMS } from './alarm-catalogue.ts';
import { cause, causeFor } from './alarm-lines.ts';
import type { FaultName, FaultOrder } from './plant-port.ts';
import type { ActiveFault } from './plant-state.ts';
import { between, integer, uniform } from './random.ts';
import { abort, interrupt, isEarly } from './sequence.ts';
import { dropHandling, trip } from './upkeep.ts';
import { recordState } from './truth-record.ts';
import { toNow, type Unit, type World } from './unit.ts';

const MINUTE = 60_000;
type Spec = {
  readonly size: number;
  /** Sizes beyond these are drawn in: no order makes the physics absurd. */
  readonly within: readonly [number, number];
  readonly durationMs: number | null;
  readonly house?: boolean;
};

/** Usual size and duration of each fault, in its own trade unit. */
export const USUAL: Readonly<Record<FaultName, Spec>> = {
  leak: { size: 140, within: [0, 5000], durationMs: null }, // mTorr/min
  'mfc-drift': { size: -3, within: [-100, 100], durationMs: null }, // % per day
  'match-hunting': { size: 22, within: [0, 60], durationMs: 16 * 60 * MINUTE }, // % of forward
  'pump-wear': { size: 5.5, within: [0, 100], durationMs: null }, // % per day
  'rf-trip': { size: 0, within: [0, 0], durationMs: 0 },
  'chattering-switch': { size: 1, within: [1, 2], durationMs: 12 * 60 * MINUTE }, // 1 door, 2 water
  'house-gas': { size: 45, within: [5, 100], durationMs: 30 * MINUTE, house: true }, // % of nitrogen left
  'cooling-water': { size: 10, within: [0, 100], durationMs: 41 * MINUTE, house: true }, // % of flow left
  'power-dip': { size: 4, within: [0, 4], durationMs: 0, house: true }, // controllers that restart
  'controller-restart': { size: 1, within: [0, 1], durationMs: 0 }, // 1 counters go to zero, 0 they stay
  'link-drop': { size: 0, within: [0, 0], durationMs: 2 * MINUTE },
  'half-open-link': { size: 0, within: [0, 0], durationMs: 3 * MINUTE },
  'skip-purge': { size: 1, within: [1, 100], durationMs: 0 }, // runs
  'operator-abort': { size: 0, within: [0, 0], durationMs: 0 },
  'alarm-burst': { size: 14, within: [1, 200], durationMs: 0 }, // activations in five minutes
};

function beginFault(world: World, order: FaultOrder): void {
  const { state } = world;
  const usual = USUAL[order.fault];
  const chamber = world.units.findIndex((u) => u.design.id === order.chamber);
  const place = chamber >= 0 ? chamber : null;
  const durationMs = order.durationMs ?? usual.durationMs;
  const until = durationMs === null ? null : state.now + durationMs;
  const line = place !== null && world.units[place]!.design.sizeName === 'S' ? 3 : 1;
  const fault: ActiveFault = {
    fault: order.fault,
    chamber: place,
    size: clamp(order.size ?? usual.size, usual.within),
    from: state.now,
    until,
    line,
  };
  if (place === null) beginHouse(world, fault);
  else beginChamber(world.units[place]!, fault);
  if (until !== null && until <= state.now) return writeFault(world, fault, state.now);
  state.faults.push(fault);
}

const clamp = (size: number, [least, most]: readonly [number, number]): number => Math.min(most, Math.max(least, size));

/** Throws at an order that names no chamber of the hall, or none where one is needed. */
export function checkOrder(world: World, { fault, chamber }: FaultOrder): void {
  const [first, last] = [world.units[0]!.design.id, world.units.at(-1)!.design.id];
  if (chamber === null && USUAL[fault].house !== true) throw new RangeError(`${fault} strikes one chamber: name it, ${first} to ${last}`);
  if (chamber !== null && !world.units.some((u) => u.design.id === chamber))
    throw new RangeError(`no chamber ${chamber}: the hall has ${first} to ${last}`);
}

function beginHouse(world: World, fault: ActiveFault): void {
  const dice = world.state.dice.faults;
  const supply = world.state.supply;
  if (fault.fault === 'power-dip') return powerDip(world, fault.size);
  if (fault.fault === 'house-gas') supply.nitrogenKPa = 4.5 * fault.size;
  if (fault.fault === 'cooling-water') waterLost(world, fault, 'south');
  for (const u of world.units) {
    toNow(u);
    if (fault.fault === 'house-gas') schedule(world, u, between(dice, 60, 240), 'alarm', ALARM.nitrogen);
  }
}

function beginChamber(u: Unit, fault: ActiveFault): void {
  const { c, world } = u;
  const now = world.state.now;
  toNow(u);
  switch (fault.fault) {
    case 'leak':
      c.health.leakMTorrMin += fault.size;
      return;
    case 'match-hunting':
      c.health.hunting = fault.size / 100;
      return;
    case 'rf-trip':
      return trip(u, ALARM.rf, null);
    case 'chattering-switch':
      c.chatterAlarm = fault.size === 2 ? ALARM.water : ALARM.door;
      c.chatterAt = now + 1000;
      return;
    case 'cooling-water':
      return waterLost(world, fault, u.design.loop);
    case 'controller-restart':
      return restartController(u, fault.size >= 1);
    case 'link-drop':
      return beginLink(world, u.design.server, 'drop', (fault.until ?? now + 2 * MINUTE) - now);
    case 'half-open-link':
      return beginLink(world, u.design.server, 'half-open', (fault.until ?? now + 3 * MINUTE) - now);
    case 'skip-purge':
      c.vacuumSkips += Math.max(1, fault.size);
      return;
    case 'operator-abort':
      if (isEarly(u)) abort(u, 'aborted');
      return;
    case 'alarm-burst':
      return burst(u, fault.size);
    case 'power-dip':
      return powerDip(world, fault.size);
    case 'house-gas':
      return beginHouse(world, fault);
    default:
      return; // pump wear and drift take hold at the next run
  }
}

export function stepFaults(world: World): void {
  const { state } = world;
  if (state.orders.length > 0) for (const order of state.orders.splice(0)) beginFault(world, order);
  if (state.faults.some((fault) => isOver(fault.until, state.now))) {
    for (const fault of state.faults) if (isOver(fault.until, state.now)) endFault(world, fault);
    state.faults = state.faults.filter((fault) => !isOver(fault.until, state.now));
  }
  if (state.links.some((link) => link.until <= state.now)) {
    for (const link of state.links) if (link.until <= state.now) endLink(world, link);
    state.links = state.links.filter((link) => link.until > state.now);
  }
  if (state.later.some((event) => event.at <= state.now)) {
    const due = state.later.filter((event) => event.at <= state.now);
    state.later = state.later.filter((event) => event.at > state.now);
    for (const event of due) happen(world, world.units[event.chamber]!, event);
  }
}

const isOver = (until: number | null, now: number): boolean => until !== null && until <= now;

function endFault(world: World, fault: ActiveFault): void {
  writeFault(world, fault, world.state.now);
  const u = fault.chamber === null ? null : world.units[fault.chamber]!;
  const supply = world.state.supply;
  for (const each of u === null ? world.units : [u]) toNow(each);
  if (fault.fault === 'house-gas') {
    supply.nitrogenKPa = 450;
    for (const each of world.units) cause(each, ALARM.nitrogen, false);
  }
  if (fault.fault === 'cooling-water') supply.waterNorth = supply.waterSouth = 1;
  if (u === null) return;
  const { health } = u.c;
  if (fault.fault === 'leak') health.leakMTorrMin = Math.max(3, health.leakMTorrMin - fault.size);
  if (fault.fault === 'match-hunting') health.hunting = 0;
  if (fault.fault === 'pump-wear') health.pumpSpeed = 1;
  if (fault.fault === 'mfc-drift') health.flowTruth[fault.line] = 1;
  if (fault.fault === 'chattering-switch') u.c.chatterAt = null;
}

export function writeFault(world: World, fault: ActiveFault, to: number | null): void {
  const chamber = fault.chamber === null ? null : world.units[fault.chamber]!.design.id;
  world.truth({ kind: 'fault', chamber, fault: fault.fault, from: fault.from, to });
}

function schedule(world: World, u: Unit, seconds: number, what: 'dip' | 'water' | 'restart' | 'alarm', value = 0): void {
  world.state.later.push({ at: world.state.now + 1000 * Math.round(seconds), chamber: u.design.index, what, value });
}

function powerDip(world: World, restarts: number): void {
  const dice = world.state.dice.faults;
  const first = integer(dice, 0, world.units.length - 1);
  for (const u of world.units) {
    schedule(world, u, between(dice, 0, 3), 'dip', between(dice, 15, 40));
    const turn = (u.design.index - first + world.units.length) % world.units.length;
    if (turn % 3 === 0 && turn / 3 < restarts) schedule(world, u, between(dice, 20, 90), 'restart', u.design.index === 1 ? 1 : 0);
  }
}

function waterLost(world: World, fault: ActiveFault, loop: 'north' | 'south'): void {
  const { supply, dice } = world.state;
  if (loop === 'north') supply.waterNorth = fault.size / 100;
  else supply.waterSouth = fault.size / 100;
  for (const u of world.units) {
    toNow(u);
    if (u.design.loop === loop) schedule(world, u, between(dice.faults, 8, 20), 'water', fault.until ?? world.state.now + 40 * MINUTE);
  }
}

function happen(world: World, u: Unit, event: { what: string; value: number }): void {
  const { c } = u;
  toNow(u);
  if (event.what === 'dip') dip(u, event.value);
  if (event.what === 'restart') restartController(u, event.value === 1);
  if (event.what === 'alarm') {
    if (world.state.supply.nitrogenKPa < 400 || event.value !== ALARM.nitrogen) cause(u, event.value, true);
    if (event.value !== ALARM.nitrogen) causeFor(u, event.value, 20_000);
  }
  if (event.what === 'water' && c.rfEnabled) {
    const readyAt = event.value + MINUTE * between(world.state.dice.faults, 4, 14);
    trip(u, ALARM.rf, { repairAt: event.value, readyAt });
  }
}

function dip(u: Unit, minutes: number): void {
  const { c } = u;
  causeFor(u, ALARM.powerDip, 30_000);
  const repairAt = c.at + 0.5 * minutes * MINUTE;
  for (const alarm of [ALARM.rf, ALARM.pump, ALARM.gauge]) cause(u, alarm, true);
  if (c.stop === null) {
    c.stop = { kind: 'failure', reason: 'power dip', repairAt, readyAt: c.at + minutes * MINUTE, alarms: [], begun: false };
  }
  c.stop.alarms.push(ALARM.rf, ALARM.pump, ALARM.gauge);
  c.pumpRunning = false;
  dropHandling(u);
  interrupt(u);
  recordState(u, c.at);
}

/** The controller is away for a minute, tells nothing, comes back with an empty sequence and, often, with its counters at zero. */
function restartController(u: Unit, countersToZero: boolean): void {
  const { c, design, world } = u;
  const dice = world.state.dice.faults;
  const seconds = integer(dice, 30, 90);
  interrupt(u);
  dropHandling(u);
  cause(u, ALARM.restart, true);
  const times = { repairAt: c.at + MINUTE * between(dice, 3, 8), readyAt: c.at + MINUTE * between(dice, 10, 20) };
  if (c.stop === null) c.stop = { kind: 'failure', reason: 'controller restart', ...times, alarms: [], begun: false };
  c.stop.alarms.push(ALARM.restart);
  c.silentUntil = c.at + 1000 * seconds;
  c.heartbeat = 0;
  if (countersToZero) c.pumpHours = c.rfHours = 0;
  recordState(u, c.at);
  const alone = world.units.every((each) => each === u || each.design.server !== design.server);
  if (alone) beginLink(world, design.server, 'restart', 1000 * seconds);
}

function burst(u: Unit, count: number): void {
  const { world } = u;
  const dice = world.state.dice.faults;
  const harmless = ALARMS.map((entry, index) => ({ entry, index })).filter(({ entry }) => entry.effect === 'none' && entry.severity >= 200);
  for (let i = 0; i < count; i++) {
    const { index } = harmless[Math.floor(uniform(dice) * harmless.length)]!;
    schedule(world, u, 1 + (i * 300) / count, 'alarm', index);
  }
}

export function beginLink(world: World, server: string, state: 'drop' | 'half-open' | 'restart', durationMs: number): void {
  const now = world.state.now;
  if (world.state.links.some((link) => link.server === server)) return;
  world.state.links.push({ server, state, from: now, until: now + Math.max(1000, durationMs) });
  world.sink.link(server, state, now);
}

function endLink(world: World, link: { server: string; state: string; from: number }): void {
  const now = world.state.now;
  world.truth({ kind: 'link', server: link.server, state: link.state, from: link.from, to: now });
  world.sink.link(link.server, 'up', now);
}
