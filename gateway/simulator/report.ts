/**
 * From state to tags: the controller's view of itself, in its own units, told only when it has changed by more than a small deadband. What a
 * flow controller reports is what its sensor sees, not what flows. Live, a deadband is near the instrument's noise; in a long history it is
 * several times wider, and edges are kept by the short steps around them.
 */
import { ALARMS } from './alarm-catalogue.ts';
import { type PlantPhase, UNTOLD } from './chamber-state.ts';
import { GAS_DEVICES, recipeOf } from './design.ts';
import { noise } from './random.ts';
import { quantity, QUANTITY_COUNT } from './tag-list.ts';
import type { Unit } from './unit.ts';

const PHASE_CODES: Readonly<Record<PlantPhase, number>> = {
  idle: 0,
  load: 5,
  'pump-down': 10,
  'gas-stabilisation': 20,
  plasma: 30,
  purge: 40,
  'vent-delay': 50,
  vent: 60,
  'wait-unload': 70,
  unload: 75,
  'leak-test': 80,
  hold: 90,
};
const MODES = { auto: 1, manual: 2, maintenance: 3 } as const;
const Q = {
  heartbeat: quantity('heartbeat'),
  pressure: quantity('pressure'),
  atmosphere: quantity('atmosphere'),
  vacuum: quantity('vacuum'),
  doorClosed: quantity('doorClosed'),
  doorOpen: quantity('doorOpen'),
  temperature: quantity('temperature'),
  pumpRunning: quantity('pumpRunning'),
  boosterRunning: quantity('boosterRunning'),
  chamberValve: quantity('chamberValve'),
  bodyTemperature: quantity('bodyTemperature'),
  flow: quantity('flow0'),
  rfEnabled: quantity('rfEnabled'),
  forward: quantity('forward'),
  reflected: quantity('reflected'),
  rfSet: quantity('rfSet'),
  matchC1: quantity('matchC1'),
  matchC2: quantity('matchC2'),
  ventValve: quantity('ventValve'),
  step: quantity('step'),
  stepCount: quantity('stepCount'),
  stepDuration: quantity('stepDuration'),
  stepElapsed: quantity('stepElapsed'),
  phaseCode: quantity('phaseCode'),
  mode: quantity('mode'),
  waterFlow: quantity('waterFlow'),
  compressedAir: quantity('compressedAir'),
  nitrogen: quantity('nitrogen'),
  pumpHours: quantity('pumpHours'),
  rfHours: quantity('rfHours'),
  cycles: quantity('cycles'),
  word1: quantity('word1'),
  word2: quantity('word2'),
  recipe: quantity('recipe'),
  loadId: quantity('loadId'),
} as const;
const PA_PER_MTORR = 101.325 / 760;
const HISTORY_HEARTBEAT_MS = 60_000;

/** As if nothing had been told yet: after a controller's restart everything is told again. */
export function forget(u: Unit): void {
  u.c.told = new Array<number>(QUANTITY_COUNT).fill(UNTOLD);
  u.c.toldText = new Array<string>(QUANTITY_COUNT).fill('\u0000');
}

/** `settled`: the chamber goes over to long steps, so the values now told will stand for a while. */
export function report(u: Unit, settled: boolean): void {
  const { c } = u;
  if (c.silentUntil !== null) return;
  if (c.told[Q.heartbeat] === UNTOLD) ALARMS.forEach((_, alarm) => tellAlarm(u, alarm, c.alarmOn[alarm]!));
  reportSwitches(u);
  reportSequence(u);
  reportGas(u, settled);
  reportRf(u, settled);
  reportSlow(u);
}

function reportSwitches(u: Unit): void {
  const { c } = u;
  const open = c.doorOpen || c.doorFlickerUntil !== null;
  flag(u, Q.doorClosed, !open);
  flag(u, Q.doorOpen, open);
  flag(u, Q.atmosphere, c.atmosphere);
  flag(u, Q.vacuum, c.vacuum);
  flag(u, Q.pumpRunning, c.pumpRunning);
  flag(u, Q.boosterRunning, c.boosterRunning && c.pumpRunning);
  flag(u, Q.chamberValve, c.chamberValve);
  flag(u, Q.ventValve, c.ventValve);
  flag(u, Q.rfEnabled, c.rfEnabled);
}

function reportSequence(u: Unit): void {
  const { c, world } = u;
  text(u, Q.recipe, c.recipe);
  text(u, Q.loadId, c.loadId ?? '');
  number(u, Q.phaseCode, PHASE_CODES[c.phase], 0);
  number(u, Q.mode, MODES[c.mode], 0);
  const recipe = recipeOf(c.run?.recipe ?? c.recipe);
  const running = c.phase === 'plasma';
  number(u, Q.step, running ? c.step + 1 : 0, 0);
  number(u, Q.stepCount, recipe.steps.length, 0);
  number(u, Q.stepDuration, running ? recipe.steps[c.step]!.seconds : 0, 0);
  const live = world.state.pace === 'live';
  number(u, Q.stepElapsed, running ? Math.floor((c.at - c.stepAt) / 1000) : 0, live ? 0 : 1e9);
  const told = c.told[Q.heartbeat]!;
  if (live || told === UNTOLD || (c.heartbeat - told) * 1000 >= HISTORY_HEARTBEAT_MS) number(u, Q.heartbeat, c.heartbeat, 0);
}

function reportGas(u: Unit, settled: boolean): void {
  const { c, design, world } = u;
  const live = world.state.pace === 'live';
  const seen =
    c.gauge > 2020
      ? 2000
      : Math.min(2000, Math.max(1, c.gauge * (1 + 0.006 * wander(u) + 0.004 * noise(c.dice.noise)) + (live ? noise(c.dice.noise) : 0)));
  const toPa = design.bay === 'Cedar' ? PA_PER_MTORR : 1;
  const band = live ? Math.max(0.5, seen * 0.005) : settled ? seen * 0.008 : Math.max(3, seen * 0.04);
  number(u, Q.pressure, round(seen * toPa, design.bay === 'Cedar' ? 100 : 10), band * toPa);
  for (let i = 0; i < 4; i++) {
    const device = GAS_DEVICES[i]!;
    const at = Q.flow + 3 * i;
    const scale = (design.flowInPercent ? 100 / device.fullScale : 1) / device.factor;
    // Finer than any band that a flow is judged by: a value that is never told cannot be seen to settle.
    const part = live ? 0.001 : settled ? 0.003 : 0.006;
    const blur = c.gasValve[i] || live ? noise(c.dice.noise) * 0.0012 : 0;
    const shown = c.flow[i]! / c.health.flowTruth[i]! + (c.health.flowZero[i]! + blur) * device.fullScale * device.factor;
    number(
      u,
      at,
      round(shown * scale, design.flowInPercent ? 100 : 10),
      part * device.fullScale * (design.flowInPercent ? 100 / device.fullScale : 1),
    );
    number(u, at + 1, round(c.flowSet[i]! * scale, 100), 0);
    flag(u, at + 2, c.gasValve[i]!);
  }
}

/** Slow sway of pressure, as real chambers have: of no cause, of its own period in each. */
const wander = ({ c, design }: Unit): number => Math.sin(c.at / (31_000 + 3_700 * (design.index % 12)));

function reportRf(u: Unit, settled: boolean): void {
  const { c, design, world } = u;
  const live = world.state.pace === 'live';
  const max = design.size.rfMaxW;
  number(u, Q.rfSet, Math.round(c.rfSet), 0);
  if (!c.rfEnabled) {
    number(u, Q.forward, 0, 0);
    number(u, Q.reflected, 0, 0);
    if (c.told[Q.matchC1] === UNTOLD) reportMatch(u, 0, 0.2);
    return;
  }
  const blur = 1 + 0.0015 * noise(c.dice.noise);
  const part = live ? 0.001 : settled ? 0.005 : 0.02;
  number(u, Q.forward, Math.round(c.forward * blur), part * max);
  number(u, Q.reflected, Math.round(c.reflected * blur), part * max);
  reportMatch(u, c.forward > 0 ? c.reflected / c.forward : 0, live ? 0.2 : 4);
}

/** Capacitors move with power and follow what comes back; without RF they stay where they were. */
function reportMatch(u: Unit, swing: number, deadband: number): void {
  const share = u.c.forward / u.design.size.rfMaxW;
  number(u, Q.matchC1, round(34 + 16 * share + 40 * swing, 10), deadband);
  number(u, Q.matchC2, round(63 - 9 * share + 25 * swing, 10), deadband);
}

function reportSlow(u: Unit): void {
  const { c, world } = u;
  const live = world.state.pace === 'live';
  const supply = world.state.supply;
  number(u, Q.temperature, round(c.temperature, 10), live ? 0.15 : 1.5);
  number(u, Q.bodyTemperature, round(c.bodyTemperature, 10), live ? 0.3 : 4);
  number(u, Q.waterFlow, round(c.waterFlow, 100), live ? 0.02 : 0.3);
  number(u, Q.compressedAir, Math.round(supply.compressedAirKPa), live ? 2 : 15);
  number(u, Q.nitrogen, Math.round(supply.nitrogenKPa), live ? 2 : 15);
  number(u, Q.pumpHours, round(Math.floor(c.pumpHours * 10) / 10, 10), live ? 0 : 1);
  number(u, Q.rfHours, round(Math.floor(c.rfHours * 10) / 10, 10), live ? 0 : 1);
  number(u, Q.cycles, c.cycles, 0);
  number(u, Q.word1, c.word[0], 0);
  number(u, Q.word2, c.word[1], 0);
}

/** An alarm changes at once, in whichever way the chamber tells alarms. Words are told with the next report. */
export function tellAlarm(u: Unit, alarm: number, on: boolean): void {
  const { c, design, layout, world } = u;
  if (c.silentUntil !== null) return;
  if (design.alarmsBy === 'condition') world.sink.condition(design.index, alarm, on, c.at, c.at + design.skewMs);
  else if (layout.alarmTag[alarm]! >= 0) world.sink.tag(design.index, layout.alarmTag[alarm]!, on, c.at, c.at + design.skewMs);
}

function number(u: Unit, q: number, value: number, deadband: number): void {
  const told = u.c.told[q]!;
  if (value === told || (Math.abs(value - told) <= deadband && told !== UNTOLD)) return;
  u.c.told[q] = value;
  const tag = u.layout.tagOf[q]!;
  if (tag >= 0) u.world.sink.tag(u.design.index, tag, value, u.c.at, u.c.at + u.design.skewMs);
}

function flag(u: Unit, q: number, value: boolean): void {
  const as = value ? 1 : 0;
  if (u.c.told[q] === as) return;
  u.c.told[q] = as;
  const tag = u.layout.tagOf[q]!;
  if (tag >= 0) u.world.sink.tag(u.design.index, tag, value, u.c.at, u.c.at + u.design.skewMs);
}

function text(u: Unit, q: number, value: string): void {
  if (u.c.toldText[q] === value) return;
  u.c.toldText[q] = value;
  const tag = u.layout.tagOf[q]!;
  if (tag >= 0) u.world.sink.tag(u.design.index, tag, value, u.c.at, u.c.at + u.design.skewMs);
}

const round = (value: number, parts: number): number => Math.round(value * parts) / parts;
