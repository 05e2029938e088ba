/**
 * One step of one chamber, and how long the next may be. Live every second; in a long history ten seconds in a settled plasma and a minute
 * when idle, but never past a moment at which something is due, so that phases begin and end on the same second.
 */
import { ALARMS } from './alarm-catalogue.ts';
import { stepAlarms } from './alarm-lines.ts';
import type { Stop } from './chamber-state.ts';
import { recipeOf } from './design.ts';
import { stepFlow, stepHeat, stepRf } from './plasma.ts';
import { forget, report } from './report.ts';
import { hasWater, setSwitches, startRun, stepSequence, watchProcess } from './sequence.ts';
import { recordState } from './truth-record.ts';
import type { Unit } from './unit.ts';
import { RESET_MS, stepUpkeep } from './upkeep.ts';
import { stepVacuum } from './vacuum.ts';

const LONG_PLASMA_MS = 10_000;
const LONG_IDLE_MS = 60_000;
const SETTLING_MS = 25_000;

/** The share of its water a chamber gets. */
const water = (u: Unit): number => (u.design.loop === 'north' ? u.world.state.supply.waterNorth : u.world.state.supply.waterSouth);

export function stepChamber(u: Unit, at: number): void {
  const { c } = u;
  const dtMs = at - c.at;
  c.at = at;
  if (dtMs > 0) integrate(u, dtMs / 1000);
  setSwitches(u);
  if (c.startAt !== null && at >= c.startAt) start(u);
  stepSequence(u);
  stepUpkeep(u, dtMs);
  if (c.silentUntil !== null && at >= c.silentUntil) {
    c.silentUntil = null;
    forget(u);
  }
  watchProcess(u);
  stepAlarms(u);
  setSwitches(u);
  const next = stepMs(u);
  report(u, next > 2000 && dtMs <= 2000);
  c.nextAt = at + next;
}

function integrate(u: Unit, dt: number): void {
  const { c, design, world } = u;
  const share = water(u);
  stepFlow(c, dt);
  stepRf(c, design.size, dt);
  stepVacuum(c, design.size, dt, world.state.supply.nitrogenKPa / 450);
  stepHeat(c, design.size, dt, share);
  const wanted = design.size.waterLmin * share;
  c.waterFlow += (wanted - c.waterFlow) * (1 - Math.exp(-dt / 6));
  if (c.silentUntil === null) c.heartbeat += Math.round(dt);
  if (c.pumpRunning) c.pumpHours += dt / 3600;
  if (c.lit) c.rfHours += dt / 3600;
}

/** The start button is pressed; without cooling water the controller waits. */
function start(u: Unit): void {
  const { c } = u;
  if (c.doorOpen || c.stop !== null) return;
  if (!hasWater(u)) {
    c.handling = false;
    return recordState(u, c.at);
  }
  startRun(u, c.recipe, c.loadId);
}

/** How long until the next look, ms: whole seconds. */
function stepMs(u: Unit): number {
  const { c, world } = u;
  if (world.state.pace === 'live') return 1000;
  let ms = calmMs(u);
  if (ms <= 1000) return 1000;
  if (c.startAt !== null) ms = Math.min(ms, c.startAt - c.at);
  if (c.chatterAt !== null) ms = Math.min(ms, c.chatterAt - c.at);
  if (c.stop !== null) ms = Math.min(ms, stopDueMs(c.stop, c.at));
  if (c.run?.abortAt != null) ms = Math.min(ms, c.run.abortAt - c.at);
  for (const each of c.alarmEnds) ms = Math.min(ms, each.at - c.at);
  if (c.pendingAlarms > 0) ms = Math.min(ms, alarmDueMs(u));
  return Math.max(1000, Math.ceil(ms / 1000) * 1000);
}

function stopDueMs(stop: Stop, at: number): number {
  if (!stop.begun) return stop.repairAt - at;
  return (at < stop.readyAt - RESET_MS ? stop.readyAt - RESET_MS : stop.readyAt) - at;
}

function calmMs(u: Unit): number {
  const { c, design } = u;
  if (c.silentUntil !== null || c.doorFlickerUntil !== null) return 1000;
  if (Math.abs(c.waterFlow - design.size.waterLmin * water(u)) > 0.02 * design.size.waterLmin) return 1000;
  switch (c.phase) {
    case 'plasma': {
      const young = !c.lit || c.at - c.litAt < SETTLING_MS || c.at - c.stepAt < SETTLING_MS || c.health.hunting > 0 || c.overReflectedS > 0;
      if (young) return 1000;
      return Math.min(LONG_PLASMA_MS, c.stepAt + 1000 * recipeOf(c.run!.recipe).steps[c.step]!.seconds - c.at);
    }
    case 'leak-test':
      return 1000;
    case 'idle':
    case 'load':
    case 'unload':
    case 'wait-unload':
      return LONG_IDLE_MS;
    case 'hold':
      return 5000;
    default:
      return 1000;
  }
}

function alarmDueMs(u: Unit): number {
  const { c } = u;
  let ms = LONG_IDLE_MS;
  for (let i = 0; i < ALARMS.length; i++) {
    if (c.alarmRaw[i] === c.alarmOn[i]) continue;
    const delay = c.alarmRaw[i] ? ALARMS[i]!.onS : ALARMS[i]!.offS;
    ms = Math.min(ms, c.alarmRawAt[i]! + delay * 1000 - c.at);
  }
  return ms;
}
