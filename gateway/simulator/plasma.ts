/**
 * Gas flow, RF and heat of one chamber: flow controllers with lag and truth error, generator with slew, ignition as a hazard that depends on
 * pressure and power, a match that settles or hunts, and the warming of electrodes.
 */
import type { ChamberState } from './chamber-state.ts';
import { GAS_DEVICES, type Size } from './design.ts';
import { uniform } from './random.ts';

export function stepFlow(c: ChamberState, dt: number): void {
  const follow = 1 - Math.exp(-dt / 1.2);
  for (let i = 0; i < 4; i++) {
    const device = GAS_DEVICES[i]!;
    const wanted = c.gasValve[i]
      ? Math.min(c.flowSet[i]! * c.health.flowTruth[i]!, 1.1 * device.fullScale * device.factor * c.health.clog[i]!)
      : 0;
    const now = c.flow[i]!;
    c.flow[i] = wanted === 0 && now < 0.01 ? 0 : now + (wanted - now) * follow;
  }
}

export function stepRf(c: ChamberState, size: Size, dt: number): void {
  if (!c.rfEnabled) {
    c.forward = c.reflected = 0;
    c.lit = false;
    c.overReflectedS = 0;
    return;
  }
  const slew = (size.rfMaxW / 5) * dt;
  const wanted = c.lit ? c.rfSet : Math.min(c.rfSet, (0.25 * size.rfMaxW) / 0.9);
  c.forward += Math.max(-slew, Math.min(slew, wanted - c.forward));
  const fraction = c.lit ? litFraction(c, dt) : strike(c, size, dt);
  c.reflected = c.forward * fraction;
  c.overReflectedS = c.lit && c.reflected > 0.15 * size.rfMaxW ? c.overReflectedS + dt : 0;
}

function strike(c: ChamberState, size: Size, dt: number): number {
  const window = c.pressure > 40 && c.pressure < 900 ? 1 : 0.02;
  const hazard = (1.2 * window * c.forward) / (c.forward + 0.12 * size.rfMaxW);
  if (uniform(c.dice.physics) >= 1 - Math.exp(-hazard * dt)) return 0.9;
  c.lit = true;
  c.litAt = c.at;
  c.match[0] = 0.45;
  return 0.45;
}

/** `match[0]` holds the settling reflected fraction while lit; capacitor positions on screen are drawn from it. */
function litFraction(c: ChamberState, dt: number): number {
  const floor = c.health.reflectedFloor;
  const settled = floor + (c.match[0]! - floor) * Math.exp(-dt / c.health.matchSeconds);
  c.match[0] = settled;
  const seconds = (c.at - c.litAt) / 1000;
  const bout = 0.6 + 0.4 * Math.sin((2 * Math.PI * seconds) / 240);
  const hunting = c.health.hunting > 0 ? c.health.hunting * bout * (0.5 + 0.5 * Math.sin((2 * Math.PI * seconds) / 9)) : 0;
  const arc = dt <= 2 && uniform(c.dice.physics) < 0.0025 * dt ? 0.35 : 0;
  return Math.max(arc, settled + hunting);
}

/** Electrode and wall temperature, exact over a step; loses heat faster with the door open, and badly without cooling water. */
export function stepHeat(c: ChamberState, size: Size, dt: number, water: number): void {
  const loss = size.lossWK * (c.doorOpen ? 2.2 : 1) * (0.3 + 0.7 * water);
  const settled = 24 + (0.6 * Math.max(0, c.forward - c.reflected)) / loss;
  c.temperature = settled + (c.temperature - settled) * Math.exp((-loss * dt) / size.heatJK);
  const body = c.pumpRunning ? (c.chamberValve ? 64 : 52) + (1 - water) * 30 : 24;
  c.bodyTemperature = body + (c.bodyTemperature - body) * Math.exp(-dt / 1500);
}
