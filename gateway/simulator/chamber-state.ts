/**
 * Everything that is true of one chamber at one moment, as plain values: a snapshot is a copy of it. Trade units as in design.ts; times are
 * plant time, epoch ms.
 */
import { ALARMS } from './alarm-catalogue.ts';
import { type ChamberDesign } from './design.ts';
import { between, type Stream, stream } from './random.ts';

export const ATMOSPHERE = 760_000;

export type PlantPhase =
  | 'idle'
  | 'load'
  | 'pump-down'
  | 'gas-stabilisation'
  | 'plasma'
  | 'purge'
  | 'vent-delay'
  | 'vent'
  | 'wait-unload'
  | 'unload'
  | 'leak-test'
  | 'hold';
export type Outcome = 'completed' | 'aborted' | 'interrupted';

export type Run = {
  recipe: string;
  load: string | null;
  from: number;
  outcome: Outcome;
  /** Short of this time the operator lets it run; then he stops it. */
  abortAt: number | null;
  skipPurge: boolean;
};

/** Why nobody can run it. `repairAt`: somebody comes; `readyAt`: it may run again. */
export type Stop = { kind: 'failure' | 'maintenance'; reason: string; repairAt: number; readyAt: number; alarms: number[]; begun: boolean };

export type Health = {
  /** Pump speed as a part of new. */
  pumpSpeed: number;
  ultimate: number;
  leakMTorrMin: number;
  /** Delivered flow over shown flow, by gas line. */
  flowTruth: number[];
  flowZero: number[];
  /** Largest share of full scale a clogged line lets through. */
  clog: number[];
  /** Water in the loads, times the usual; 1 unless told. */
  wetness?: number;
  /** Conductance of the fore-line, part of new; 1 unless told. */
  foreline?: number;
  /** Swing of reflected power, part of forward. */
  hunting: number;
  reflectedFloor: number;
  matchSeconds: number;
};

export type ChamberState = {
  at: number;
  nextAt: number;
  phase: PlantPhase;
  phaseAt: number;
  step: number;
  stepAt: number;
  stableAt: number;
  run: Run | null;
  /** Recipe and load on the controller's screen. */
  recipe: string;
  loadId: string | null;
  handling: boolean;
  startAt: number | null;
  mode: 'auto' | 'manual' | 'maintenance';
  stop: Stop | null;
  service: string[];
  /** Planned maintenance waits for the chamber: its length; 0 none. */
  maintenanceDueMs: number;
  silentUntil: number | null;
  doorOpen: boolean;
  doorFlickerUntil: number | null;
  chamberValve: boolean;
  ventValve: boolean;
  gasValve: boolean[];
  flowSet: number[];
  pumpRunning: boolean;
  boosterRunning: boolean;
  rfEnabled: boolean;
  rfSet: number;
  pressure: number;
  gauge: number;
  argon: number;
  carbonTetrafluoride: number;
  flow: number[];
  pumpedS: number;
  outgas: number;
  forward: number;
  reflected: number;
  lit: boolean;
  litAt: number;
  overReflectedS: number;
  match: number[];
  temperature: number;
  bodyTemperature: number;
  waterFlow: number;
  atmosphere: boolean;
  vacuum: boolean;
  heartbeat: number;
  pumpHours: number;
  rfHours: number;
  cycles: number;
  productiveMs: number;
  failsAfterMs: number;
  spuriousAt: number;
  chatterAt: number | null;
  chatterAlarm: number;
  idleSince: number;
  vacuumSkips: number;
  alarmRaw: boolean[];
  alarmRawAt: number[];
  alarmOn: boolean[];
  alarmSince: number[];
  /** Alarms that end by themselves. */
  alarmEnds: { alarm: number; at: number }[];
  pendingAlarms: number;
  word: [number, number];
  health: Health;
  told: number[];
  toldText: string[];
  dice: { physics: Stream; noise: Stream; failure: Stream; process: Stream };
};

export const UNTOLD = -1e300;

export function newChamber(design: ChamberDesign, seed: number, at: number): ChamberState {
  const dice = {
    physics: stream(seed, `physics ${design.id}`),
    noise: stream(seed, `noise ${design.id}`),
    failure: stream(seed, `failure ${design.id}`),
    process: stream(seed, `process ${design.id}`),
  };
  const build = stream(seed, `build ${design.id}`);
  return {
    at,
    nextAt: at,
    phase: 'idle',
    phaseAt: at,
    step: 0,
    stepAt: at,
    stableAt: at,
    run: null,
    recipe: design.recipes[0] as string,
    loadId: null,
    handling: false,
    startAt: null,
    mode: 'auto',
    stop: null,
    service: [],
    maintenanceDueMs: 0,
    silentUntil: null,
    doorOpen: false,
    doorFlickerUntil: null,
    chamberValve: false,
    ventValve: false,
    gasValve: [false, false, false, false],
    flowSet: [0, 0, 0, 0],
    pumpRunning: true,
    boosterRunning: true,
    rfEnabled: false,
    rfSet: 0,
    pressure: ATMOSPHERE,
    gauge: ATMOSPHERE,
    argon: 0,
    carbonTetrafluoride: 0,
    flow: [0, 0, 0, 0],
    pumpedS: 0,
    outgas: 0,
    forward: 0,
    reflected: 0,
    lit: false,
    litAt: 0,
    overReflectedS: 0,
    match: [35, 60],
    temperature: 24,
    bodyTemperature: 52,
    waterFlow: design.size.waterLmin,
    atmosphere: true,
    vacuum: false,
    heartbeat: 0,
    pumpHours: Math.round(between(build, 4000, 21000)),
    rfHours: Math.round(between(build, 1500, 9000)),
    cycles: Math.round(between(build, 4000, 30000)),
    productiveMs: 0,
    failsAfterMs: 0,
    spuriousAt: at,
    chatterAt: null,
    chatterAlarm: 0,
    idleSince: at,
    vacuumSkips: 0,
    alarmRaw: ALARMS.map(() => false),
    alarmRawAt: ALARMS.map(() => 0),
    alarmOn: ALARMS.map(() => false),
    alarmSince: ALARMS.map(() => 0),
    alarmEnds: [],
    pendingAlarms: 0,
    word: [0, 0],
    health: newHealth(build),
    told: [],
    toldText: [],
    dice,
  };
}

function newHealth(build: Stream): Health {
  return {
    pumpSpeed: between(build, 0.97, 1.03),
    ultimate: 8,
    leakMTorrMin: between(build, 3, 8),
    flowTruth: [0, 1, 2, 3].map(() => between(build, 0.985, 1.015)),
    flowZero: [0, 1, 2, 3].map(() => between(build, -0.002, 0.002)),
    clog: [1, 1, 1, 1],
    hunting: 0,
    reflectedFloor: between(build, 0.012, 0.022),
    matchSeconds: between(build, 1, 1.6),
  };
}
