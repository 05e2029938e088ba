/**
 * The controller's sequence: what the chamber does from the start button to atmosphere, step by step, and what it does when stopped. It knows
 * limits and timers, no people and no shifts.
 */
import { ALARM } from './alarm-catalogue.ts';
import { cause, causeFor } from './alarm-lines.ts';
import { ATMOSPHERE, type Outcome } from './chamber-state.ts';
import {
  BASE_MTORR,
  GAS_DEVICES,
  IGNITION_LIMIT_S,
  PUMP_DOWN_LIMIT_S,
  PUMP_DOWN_SLOW_S,
  purgeS,
  type Recipe,
  recipeOf,
  STABILISE_LIMIT_S,
  VENT_DELAY_S,
} from './design.ts';
import { between, logNormal, uniform } from './random.ts';
import { hasGas } from './tag-list.ts';
import { endRun, enterPhase } from './truth-record.ts';
import type { Unit } from './unit.ts';

const ATMOSPHERE_SWITCH = 0.983 * ATMOSPHERE;
const VACUUM_SWITCH = 20_000;
const RARE_ABORT = 1 / 250;
const RARE_SKIPPED_PURGE = 1 / 800;

export function startRun(u: Unit, recipeName: string, load: string | null): void {
  const { c, world } = u;
  const recipe = recipeOf(recipeName);
  const dice = c.dice.process;
  const fill = load === null ? 0 : between(dice, 0.6, 1);
  const planned = recipe.steps.reduce((sum, each) => sum + each.seconds, 0);
  const abortAt = uniform(dice) < RARE_ABORT ? c.at + 1000 * Math.round(between(dice, 60, planned + 160)) : null;
  const skips = uniform(dice) < RARE_SKIPPED_PURGE;
  c.run = {
    recipe: recipeName,
    load,
    from: c.at,
    outcome: 'completed',
    abortAt: load === null ? null : abortAt,
    skipPurge: load !== null && skips,
  };
  if (c.vacuumSkips > 0 && load !== null) {
    c.vacuumSkips--;
    c.run.skipPurge = true;
  }
  c.recipe = recipeName;
  c.outgas = (1500 + 7500 * fill * (c.health.wetness ?? 1)) * logNormal(dice, 1, 0.22);
  c.pumpedS = 0;
  c.cycles++;
  c.chamberValve = true;
  c.handling = false;
  c.startAt = null;
  applyDrift(u);
  if (world.state.pace === 'history') c.nextAt = c.at + 1000;
  enterPhase(u, 'pump-down');
}

/** Slow faults take hold between runs: pump wear and drift of a flow controller. */
function applyDrift(u: Unit): void {
  const { c, design, world } = u;
  for (const fault of world.state.faults) {
    if (fault.chamber !== design.index) continue;
    const days = (c.at - fault.from) / 86_400_000;
    if (fault.fault === 'pump-wear') c.health.pumpSpeed = Math.max(0.3, Math.exp((-fault.size / 100) * days));
    if (fault.fault === 'mfc-drift') c.health.flowTruth[fault.line] = Math.max(0.2, 1 + (fault.size / 100) * days);
  }
}

export function stepSequence(u: Unit): void {
  const { c } = u;
  const seconds = (c.at - c.phaseAt) / 1000;
  if (c.run?.abortAt != null && c.at >= c.run.abortAt) {
    c.run.abortAt = null;
    if (isEarly(u)) return abort(u, 'aborted');
  }
  switch (c.phase) {
    case 'pump-down':
      return pumpDown(u, seconds);
    case 'gas-stabilisation':
      return stabilise(u, seconds);
    case 'plasma':
      return plasma(u);
    case 'leak-test':
      return seconds >= recipeOf(c.run!.recipe).leakTestS ? shutValve(u) : undefined;
    case 'purge':
      return purge(u, seconds);
    case 'vent-delay':
      return seconds >= VENT_DELAY_S ? openVent(u) : undefined;
    case 'vent':
      return c.pressure >= ATMOSPHERE_SWITCH ? vented(u) : undefined;
    default:
      return;
  }
}

/** Before the last step's end: a stop now loses the run. */
export const isEarly = (u: Unit): boolean =>
  u.c.phase === 'pump-down' || u.c.phase === 'gas-stabilisation' || u.c.phase === 'plasma' || u.c.phase === 'leak-test';

function pumpDown(u: Unit, seconds: number): void {
  const { c } = u;
  cause(u, ALARM.slow, seconds >= PUMP_DOWN_SLOW_S);
  if (c.gauge < BASE_MTORR) {
    cause(u, ALARM.slow, false);
    const recipe = recipeOf(c.run!.recipe);
    if (recipe.leakTestS > 0) {
      c.chamberValve = false;
      return enterPhase(u, 'leak-test');
    }
    enterPhase(u, 'gas-stabilisation');
    c.stableAt = c.at;
    return setGas(u, recipe, 0);
  }
  if (seconds >= PUMP_DOWN_LIMIT_S) {
    causeFor(u, ALARM.pumpdownTimeout, 60_000);
    abort(u, 'aborted');
  }
}

function setGas(u: Unit, recipe: Recipe, step: number): void {
  const { c, design } = u;
  const gas = recipe.steps[step]!.gas;
  for (let i = 0; i < 4; i++) {
    c.flowSet[i] = hasGas(design, i) ? gas[i]! : 0;
    c.gasValve[i] = c.flowSet[i]! > 0;
  }
}

function stabilise(u: Unit, seconds: number): void {
  const { c } = u;
  if (!inBand(u)) c.stableAt = c.at;
  if (seconds >= 20 && c.at - c.stableAt >= 5000 && hasWater(u)) return startStep(u, 0);
  if (seconds >= STABILISE_LIMIT_S) {
    causeFor(u, ALARM.stabilise, 60_000);
    abort(u, 'aborted');
  }
}

/** Interlock: no RF without cooling water. */
export const hasWater = ({ c, design }: Unit): boolean => c.waterFlow > 0.3 * design.size.waterLmin;

/** Every flow within 5 % of set point or 1 % of full scale, as the device sees it. */
function inBand(u: Unit): boolean {
  const { c } = u;
  for (let i = 0; i < 4; i++) {
    const full = GAS_DEVICES[i]!.fullScale * GAS_DEVICES[i]!.factor;
    if (Math.abs(c.flow[i]! / c.health.flowTruth[i]! - c.flowSet[i]!) > Math.max(0.05 * c.flowSet[i]!, 0.01 * full)) return false;
  }
  return true;
}

function startStep(u: Unit, step: number): void {
  const { c, design } = u;
  const recipe = recipeOf(c.run!.recipe);
  c.step = step;
  c.stepAt = c.at;
  c.rfSet = Math.round(recipe.steps[step]!.power * design.size.rfMaxW);
  setGas(u, recipe, step);
  c.rfEnabled = step === 0 || recipe.pauseS === 0;
  enterPhase(u, 'plasma', step + 1);
}

function plasma(u: Unit): void {
  const { c } = u;
  const recipe = recipeOf(c.run!.recipe);
  const seconds = (c.at - c.stepAt) / 1000;
  const pause = c.step === 0 ? 0 : recipe.pauseS;
  if (!c.rfEnabled && seconds >= pause) c.rfEnabled = true;
  if (c.rfEnabled && !c.lit && seconds >= pause + IGNITION_LIMIT_S) {
    causeFor(u, ALARM.ignition, 60_000);
    return abort(u, 'aborted');
  }
  if (c.overReflectedS >= 5) {
    causeFor(u, ALARM.reflectedTrip, 60_000);
    return abort(u, 'aborted');
  }
  if (seconds < recipe.steps[c.step]!.seconds) return;
  if (c.step + 1 < recipe.steps.length) return startStep(u, c.step + 1);
  stopProcess(u);
  if (c.run!.skipPurge) shutValve(u);
  else enterPhase(u, 'purge');
}

/** RF and process gas off. */
function stopProcess(u: Unit): void {
  const { c } = u;
  c.rfEnabled = false;
  c.rfSet = 0;
  c.lit = false;
  c.forward = c.reflected = 0;
  c.flowSet.fill(0);
  c.gasValve.fill(false);
  cause(u, ALARM.reflected, false);
}

/** Half pumped empty, half flushed with nitrogen. */
function purge(u: Unit, seconds: number): void {
  const { c } = u;
  const whole = purgeS(recipeOf(c.run!.recipe));
  if (!c.gasValve[2] && seconds >= whole / 2) {
    c.gasValve[2] = true;
    c.flowSet[2] = 500;
  }
  if (seconds >= whole) shutValve(u);
}

function shutValve(u: Unit): void {
  const { c } = u;
  c.chamberValve = false;
  c.flowSet.fill(0);
  c.gasValve.fill(false);
  enterPhase(u, 'vent-delay');
}

function openVent(u: Unit): void {
  u.c.ventValve = true;
  enterPhase(u, 'vent');
}

function vented(u: Unit): void {
  const { c } = u;
  c.ventValve = false;
  const load = c.run?.load ?? null;
  endRun(u);
  if (c.stop?.begun === true || load === null) enterPhase(u, 'idle');
  else {
    enterPhase(u, 'wait-unload');
    cause(u, ALARM.waiting, true);
  }
  c.idleSince = c.at;
}

/** Stops the run in order: RF and gas off, purge if gas had flowed, vent. */
export function abort(u: Unit, outcome: Outcome): void {
  const { c } = u;
  if (c.run === null || !isEarly(u)) return;
  const flowed = c.phase === 'gas-stabilisation' || c.phase === 'plasma';
  c.run.outcome = outcome;
  stopProcess(u);
  cause(u, ALARM.slow, false);
  if (flowed) enterPhase(u, 'purge');
  else shutValve(u);
}

/** Everything falls shut where it stands: supply or controller lost. The run hangs until somebody vents it. */
export function interrupt(u: Unit): void {
  const { c } = u;
  stopProcess(u);
  c.chamberValve = c.ventValve = false;
  if (c.run === null) return;
  c.run.outcome = 'interrupted';
  c.run.abortAt = null;
  enterPhase(u, 'hold');
}

/** By hand: bring a hung chamber to atmosphere. */
export function ventByHand(u: Unit): void {
  if (u.c.phase === 'hold') shutValve(u);
}

export function setSwitches(u: Unit): void {
  const { c } = u;
  c.atmosphere = c.pressure >= ATMOSPHERE_SWITCH;
  c.vacuum = c.pressure < VACUUM_SWITCH;
}

/** Alarms that the controller draws from its own measurements. */
export function watchProcess(u: Unit): void {
  const { c, design } = u;
  if (c.lit) natural(u, ALARM.reflected, c.reflected > 0.12 * c.forward && c.at - c.litAt > 10_000);
  natural(u, ALARM.pressureHigh, c.lit && c.at - c.litAt > 15_000 && c.gauge > 480);
  natural(u, ALARM.water, c.waterFlow < 0.5 * design.size.waterLmin);
}

/** Leaves an alarm alone that is there for a reason of its own. */
function natural(u: Unit, alarm: number, present: boolean): void {
  if (present === u.c.alarmRaw[alarm] || u.c.alarmEnds.some((each) => each.alarm === alarm)) return;
  cause(u, alarm, present);
}
