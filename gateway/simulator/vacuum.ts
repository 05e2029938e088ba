/**
 * Vacuum of one chamber. Gas balance V·dp/dt = ΣQ − S·p (handbook), solved exactly over a step for constant Q and S, so that it is stable at
 * any step length. mTorr, L, L/s; 1 sccm (0 °C) is 12.667 mTorr·L/s at 0 °C and 13.83 at a chamber of 25 °C.
 */
import { type ChamberState, ATMOSPHERE } from './chamber-state.ts';
import type { Size } from './design.ts';

export const SCCM_MTORR_LS = 13.83;

/** Rotary pump alone at high pressure, blended with the booster below some Torr, less what flows back near the ultimate pressure. */
export function pumpSpeed(size: Size, pressure: number, health: { pumpSpeed: number; ultimate: number }, booster = true): number {
  const low = booster ? 0.9 * size.boosterLs : size.rotaryLs * 0.55;
  const blend = 1 + (pressure / 5000) * Math.sqrt(pressure / 5000);
  return health.pumpSpeed * (size.rotaryLs + (low - size.rotaryLs) / blend) * Math.max(5e-4, 1 - health.ultimate / pressure);
}

/** Pump and line in series: 1/S = 1/Sp + 1/C (handbook). */
export function effectiveSpeed(
  size: Size,
  pressure: number,
  health: { pumpSpeed: number; ultimate: number; foreline?: number },
  booster = true,
): number {
  const pump = pumpSpeed(size, pressure, health, booster);
  const line = (health.foreline ?? 1) * (size.molecularLs + size.viscousLs * pressure);
  return (pump * line) / (pump + line);
}

/** Pressure after `seconds` at constant load Q (mTorr·L/s) and speed S (L/s). */
export function pressureAfter(pressure: number, load: number, speed: number, volumeL: number, seconds: number): number {
  if (speed <= 0) return Math.min(ATMOSPHERE, pressure + (load * seconds) / volumeL);
  const settled = load / speed;
  return settled + (pressure - settled) * Math.exp((-speed * seconds) / volumeL);
}

/** Air through a leak: choked, so constant, until half an atmosphere. */
export const leakLoad = (rateMTorrMin: number, volumeL: number, pressure: number): number =>
  ((rateMTorrMin * volumeL) / 60) * Math.min(1, (1 - pressure / ATMOSPHERE) / 0.5);

/** Vent gas through its valve: choked flow to 53 % of an atmosphere, then falling to none. `supply`: house nitrogen, part of normal. */
export function ventLoad(volumeL: number, pressure: number, supply: number): number {
  const ratio = pressure / ATMOSPHERE;
  return ((supply * volumeL * ATMOSPHERE) / 75) * Math.sqrt(1 - Math.min(1, Math.max(0, (ratio - 0.53) / 0.47)));
}

/** Water and boards: falls with pumping time, rises with temperature. */
export const outgassing = (c: ChamberState): number => ((c.outgas * 60) / (60 + c.pumpedS)) * Math.exp(0.02 * (c.temperature - 25));

/** Dissociation: one molecule becomes more where the plasma burns. */
function dissociation(c: ChamberState, size: Size): number {
  return c.lit ? 1 + 0.12 * Math.min(1, (c.forward - c.reflected) / (0.7 * size.rfMaxW)) : 1;
}

export function stepVacuum(c: ChamberState, size: Size, dt: number, nitrogen: number): void {
  if (c.doorOpen) {
    c.pressure = c.gauge = ATMOSPHERE;
    c.argon = c.carbonTetrafluoride = 0;
    return;
  }
  const pumping = c.chamberValve && c.pumpRunning;
  if (!pumping && c.pressure >= ATMOSPHERE) return;
  const flow = c.flow[0]! + c.flow[1]! + c.flow[2]! + c.flow[3]!;
  const gas = flow * SCCM_MTORR_LS * dissociation(c, size);
  const other = outgassing(c) + leakLoad(c.health.leakMTorrMin, size.volumeL, c.pressure);
  const vent = c.ventValve ? ventLoad(size.volumeL, c.pressure, nitrogen) : 0;
  const speed = pumping ? effectiveSpeed(size, c.pressure, c.health, c.boosterRunning) : 0;
  mix(c, gas, gas + other + vent, dt, size.volumeL, flow);
  c.pressure = pressureAfter(c.pressure, gas + other + vent, speed, size.volumeL, dt);
  if (c.pumpedS >= 0) c.pumpedS += dt;
  const seen = Math.min(ATMOSPHERE, c.pressure * (1 - 0.4 * c.argon + 0.3 * c.carbonTetrafluoride));
  c.gauge += (seen - c.gauge) * (1 - Math.exp(-dt));
}

/** Shares of argon and CF4 in the chamber, for the heat-loss gauge that reads them wrong (argon ×0.6; CF4 ×1.3, a guess). */
function mix(c: ChamberState, gas: number, load: number, dt: number, volumeL: number, flow: number): void {
  if (load <= 0) return;
  const follow = 1 - Math.exp(-dt / Math.max(0.5, (c.pressure * volumeL) / load));
  const share = flow > 0 ? gas / load / flow : 0;
  c.argon += (share * c.flow[3]! - c.argon) * follow;
  c.carbonTetrafluoride += (share * c.flow[1]! - c.carbonTetrafluoride) * follow;
}
