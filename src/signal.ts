/**
 * The quantities Glowfleet understands: one name, one SI unit, one kind. A tag map binds a site's node to one of these.
 * Everything else about a chamber (alarms) is addressed as `alarm.<CODE>`.
 */

export type SignalKind = 'analog' | 'boolean' | 'text' | 'count';
export type SiUnit = 'Pa' | 'mol/s' | 'W' | 'K' | 's' | 'm3/s' | '1' | '';

type Definition = { readonly kind: SignalKind; readonly unit: SiUnit };
const analog = (unit: SiUnit): Definition => ({ kind: 'analog', unit });
const boolean: Definition = { kind: 'boolean', unit: '' };
const text: Definition = { kind: 'text', unit: '' };
const count: Definition = { kind: 'count', unit: '1' };

export const SIGNALS = {
  /** True while the server's word about this chamber is current; false says nothing was heard since the reading's time. */
  'link.alive': boolean,
  /** A counter the controller steps about once a second: frozen means stale data behind a healthy session. */
  'controller.heartbeat': count,
  'chamber.pressure': analog('Pa'),
  'chamber.atmosphereSwitch': boolean,
  'chamber.vacuumSwitch': boolean,
  'chamber.doorClosed': boolean,
  'chamber.temperature': analog('K'),
  'pump.running': boolean,
  'pump.roots.running': boolean,
  'pump.chamberValveOpen': boolean,
  'pump.bodyTemperature': analog('K'),
  'gas.1.flow': analog('mol/s'),
  'gas.1.flowSetPoint': analog('mol/s'),
  'gas.1.valveOpen': boolean,
  'gas.2.flow': analog('mol/s'),
  'gas.2.flowSetPoint': analog('mol/s'),
  'gas.2.valveOpen': boolean,
  'gas.3.flow': analog('mol/s'),
  'gas.3.flowSetPoint': analog('mol/s'),
  'gas.3.valveOpen': boolean,
  'gas.4.flow': analog('mol/s'),
  'gas.4.flowSetPoint': analog('mol/s'),
  'gas.4.valveOpen': boolean,
  'rf.enabled': boolean,
  'rf.forward': analog('W'),
  'rf.reflected': analog('W'),
  'rf.forwardSetPoint': analog('W'),
  'rf.matchC1': analog('1'),
  'rf.matchC2': analog('1'),
  'vent.valveOpen': boolean,
  'recipe.name': text,
  'recipe.step': count,
  'recipe.stepCount': count,
  'recipe.stepDuration': analog('s'),
  'recipe.stepElapsed': analog('s'),
  'sequence.phaseCode': count,
  /** 'auto' | 'manual' | 'maintenance' | 'service' after the tag map's translation. */
  'sequence.mode': text,
  /** 'executing' | 'not-executing' | 'out-of-service' | 'not-available': the item state of OPC 40001-1 after the tag map's translation. */
  'machine.itemState': text,
  'load.id': text,
  'utility.waterFlow': analog('m3/s'),
  'utility.compressedAirPressure': analog('Pa'),
  'utility.nitrogenPressure': analog('Pa'),
  'meter.pumpHours': analog('s'),
  'meter.rfHours': analog('s'),
  'meter.cycles': count,
} as const satisfies Record<string, Definition>;

export type SignalName = keyof typeof SIGNALS;
/** Whether an alarm is active, and beside it what `ALARM_SIDES` lists. */
type AlarmSignal = `alarm.${string}` | `alarm-${Exclude<AlarmSide, 'active'>}.${string}`;
/** Values were lost in the server's queue: since the epoch ms that are its value, until the first value after, which is its time. */
type HoleSignal = 'link.hole';
export type Signal = SignalName | AlarmSignal | HoleSignal;

export const SIGNAL_NAMES = Object.keys(SIGNALS) as readonly SignalName[];
export const GAS_LINES = [1, 2, 3, 4] as const;
export type GasLine = (typeof GAS_LINES)[number];

export const isSignalName = (name: string): name is SignalName => Object.hasOwn(SIGNALS, name);

/**
 * What a signal says of an alarm: its code and which of its sides; null for a quantity. In the order of names the side words come before
 * `alarm.<CODE>`, so that of one instant an activation is judged knowing them.
 * `suppressed`: it is not annunciated, and the machine does not tell why. `shelved` is false, true (until it clears) or the epoch ms of its end.
 * `latched`: the machine holds it until somebody resets it there, though its process may be back to normal (OPC 10000-9, 5.8.2).
 * `branch` tells of an earlier activation: `<its epoch ms> <word>`, with a word of `BRANCH_WORDS`.
 */
export const ALARM_SIDES = [
  'active',
  'acknowledged',
  'confirmed',
  'latched',
  'shelved',
  'suppressed',
  'by-design',
  'out-of-service',
  'branch',
] as const;
export type AlarmSide = (typeof ALARM_SIDES)[number];
export const BRANCH_WORDS = ['branched', 'acknowledged', 'confirmed', 'branch-ended'] as const;
export type BranchWord = (typeof BRANCH_WORDS)[number];

export const alarmSignalOf = (side: AlarmSide, code: string): AlarmSignal =>
  side === 'active' ? `alarm.${code}` : `alarm-${side}.${code}`;

const SIDES: ReadonlyMap<string, AlarmSide> = new Map(
  ALARM_SIDES.map((side) => [side === 'active' ? 'alarm' : `alarm-${side}`, side] as const),
);

export function alarmSignal(signal: string): { readonly side: AlarmSide; readonly code: string } | null {
  if (!signal.startsWith('alarm')) return null;
  const dot = signal.indexOf('.');
  const side = SIDES.get(signal.slice(0, dot));
  return side === undefined ? null : { side, code: signal.slice(dot + 1) };
}
