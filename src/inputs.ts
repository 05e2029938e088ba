/**
 * From readings to the raw values that decide, and from those to the wanted value of each flag. Thresholds with hysteresis: trade practice, no source.
 * [IN1] Bad, uncertain and non-finite values never enter: the last good one stays.
 * [IN2] Gas is on above 40 sccm in sum (each line less 1 % of full scale for its zero error) and off below 20 sccm; a line whose valve is shut
 *       flows nothing.
 * [IN3] RF is on above 2 % of the generator's power and off below 1 %; so is the call for it, by its set point.
 * [IN4] The atmosphere switch decides what atmosphere is; without one the gauge does, if it can see that far.
 * [IN6] The machine's own item state tells what a chamber does only where none of its signals and no phase does.
 * [IN5] Text from a server is capped in length; empty text is none.
 */
import type { ChamberRules } from './chamber-rules.ts';
import type { FlagName, Inputs } from './chamber-state.ts';
import type { Reading } from './reading.ts';
import { GAS_LINES } from './signal.ts';
import type { GasLine, SignalName } from './signal.ts';

/** One standard cubic centimetre a minute (0 °C, 101 325 Pa) in mol/s: 1e-6 m³ × 101 325 Pa / (8.314462618 J/(mol K) × 273.15 K) / 60 s. */
export const SCCM = (1e-6 * 101_325) / (8.314462618 * 273.15) / 60;
const GAS_ON = 40 * SCCM;
const GAS_OFF = 20 * SCCM;
const ATMOSPHERE_PA = 90_000;
const NOT_ATMOSPHERE_PA = 66_661;
const LONGEST_TEXT = 80;

export type Slot = {
  readonly key: keyof Inputs;
  readonly kind: 'number' | 'boolean' | 'text';
  readonly flags: readonly FlagName[];
  /** Tells what the chamber does, by a flag or by the controller's phase. */
  readonly telling: boolean;
  /** Decides by itself, not through flags: step and phase numbers. */
  readonly alone: boolean;
};
const ALONE: readonly (keyof Inputs)[] = ['recipeStep', 'stepCount', 'stepDurationS', 'phaseCode'];
const slot = (key: keyof Inputs, kind: Slot['kind'], ...flags: FlagName[]): Slot => ({
  key,
  kind,
  flags,
  telling: flags.length > 0 || key === 'phaseCode' || key === 'itemState',
  alone: ALONE.includes(key),
});
const GAS_FLAGS = ['gas', 'processGas', 'fluorine', 'gasOnDoor'] as const;

/** Which raw value each signal feeds, and which flags hang on it. */
const SLOTS: Partial<Record<SignalName, Slot>> = {
  'chamber.pressure': slot('pressurePa', 'number', 'lowPressure', 'atmosphere'),
  'chamber.atmosphereSwitch': slot('atmosphere', 'boolean', 'atmosphere'),
  'chamber.doorClosed': slot('doorClosed', 'boolean', 'doorOpen', 'gasOnDoor'),
  'pump.running': slot('pumpRunning', 'boolean', 'pumping', 'pumpStopped'),
  'pump.chamberValveOpen': slot('chamberValveOpen', 'boolean', 'pumping', 'ventOnPump'),
  'vent.valveOpen': slot('ventValveOpen', 'boolean', 'venting', 'ventOnPump'),
  'rf.forward': slot('forwardW', 'number', 'rf'),
  'rf.forwardSetPoint': slot('forwardSetPointW', 'number', 'rfCalled'),
  'gas.1.flow': slot('flow1', 'number', ...GAS_FLAGS),
  'gas.2.flow': slot('flow2', 'number', ...GAS_FLAGS),
  'gas.3.flow': slot('flow3', 'number', ...GAS_FLAGS),
  'gas.4.flow': slot('flow4', 'number', ...GAS_FLAGS),
  'gas.1.valveOpen': slot('gasValve1', 'boolean', ...GAS_FLAGS),
  'gas.2.valveOpen': slot('gasValve2', 'boolean', ...GAS_FLAGS),
  'gas.3.valveOpen': slot('gasValve3', 'boolean', ...GAS_FLAGS),
  'gas.4.valveOpen': slot('gasValve4', 'boolean', ...GAS_FLAGS),
  'gas.1.flowSetPoint': slot('flowSetPoint1', 'number'),
  'gas.2.flowSetPoint': slot('flowSetPoint2', 'number'),
  'gas.3.flowSetPoint': slot('flowSetPoint3', 'number'),
  'gas.4.flowSetPoint': slot('flowSetPoint4', 'number'),
  'recipe.name': slot('recipe', 'text'),
  'recipe.step': slot('recipeStep', 'number'),
  'recipe.stepCount': slot('stepCount', 'number'),
  'recipe.stepDuration': slot('stepDurationS', 'number'),
  'sequence.phaseCode': slot('phaseCode', 'number'),
  'sequence.mode': slot('mode', 'text'),
  'machine.itemState': slot('itemState', 'text'),
  'load.id': slot('load', 'text'),
};
const SLOT_OF = new Map<string, Slot>(Object.entries(SLOTS));

export const TELLING: readonly (keyof Inputs)[] = [...SLOT_OF.values()].filter(({ telling }) => telling).map(({ key }) => key);

/** [IN6] No signal by which phases are recognised was ever heard. */
export const tellsNoPhase = (inputs: Inputs): boolean => TELLING.every((key) => key === 'itemState' || inputs[key] === null);

export const slotOf = (signal: string): Slot | undefined => SLOT_OF.get(signal);

export const NO_INPUTS: Inputs = {
  pressurePa: null,
  atmosphere: null,
  doorClosed: null,
  pumpRunning: null,
  chamberValveOpen: null,
  ventValveOpen: null,
  forwardW: null,
  forwardSetPointW: null,
  flow1: null,
  flow2: null,
  flow3: null,
  flow4: null,
  gasValve1: null,
  gasValve2: null,
  gasValve3: null,
  gasValve4: null,
  flowSetPoint1: null,
  flowSetPoint2: null,
  flowSetPoint3: null,
  flowSetPoint4: null,
  recipe: null,
  recipeStep: null,
  stepCount: null,
  stepDurationS: null,
  phaseCode: null,
  mode: null,
  itemState: null,
  load: null,
};

/** [IN1] [IN5] The value fit to enter, or undefined. */
export function goodValue({ kind }: Slot, { quality, value }: Reading): number | boolean | string | null | undefined {
  if (quality !== 'good') return undefined;
  if (kind === 'number') return typeof value === 'number' && Number.isFinite(value) ? value : undefined;
  if (kind === 'boolean') return typeof value === 'boolean' ? value : undefined;
  if (value === null) return null;
  return typeof value === 'string' ? value.slice(0, LONGEST_TEXT).trim() || null : undefined;
}

/** What the raw values say of a flag, given what it is now; null when they say nothing. */
export function wanted(name: FlagName, inputs: Inputs, rules: ChamberRules, on: boolean | null): boolean | null {
  switch (name) {
    case 'atmosphere':
      return inputs.atmosphere ?? threshold(inputs.pressurePa, ATMOSPHERE_PA, NOT_ATMOSPHERE_PA, on);
    case 'doorOpen':
      return inputs.doorClosed === null ? null : !inputs.doorClosed;
    case 'pumping':
      return inputs.chamberValveOpen === null ? null : inputs.chamberValveOpen && inputs.pumpRunning !== false;
    case 'pumpStopped':
      return inputs.pumpRunning === null ? null : !inputs.pumpRunning;
    case 'lowPressure':
      return inputs.pressurePa === null ? null : inputs.pressurePa < rules.basePressurePa * (on ? 4.5 : 3);
    case 'gas':
      return threshold(gasFlow(inputs, rules, anyGas), GAS_ON, GAS_OFF, on);
    case 'processGas':
      return threshold(gasFlow(inputs, rules, notNitrogen), GAS_ON, GAS_OFF, on);
    case 'fluorine':
      return threshold(gasFlow(inputs, rules, isFluorinated), GAS_ON, GAS_OFF, on);
    case 'rf':
      return threshold(inputs.forwardW, 0.02 * rules.rfMaxW, 0.01 * rules.rfMaxW, on);
    case 'rfCalled':
      return threshold(inputs.forwardSetPointW, 0.02 * rules.rfMaxW, 0.01 * rules.rfMaxW, on);
    case 'venting':
      return inputs.ventValveOpen;
    case 'ventOnPump':
      return inputs.ventValveOpen === null || inputs.chamberValveOpen === null ? null : inputs.ventValveOpen && inputs.chamberValveOpen;
    case 'gasOnDoor':
      return inputs.doorClosed === null ? null : !inputs.doorClosed && anyLineOn(inputs, rules);
  }
}

function threshold(value: number | null, above: number, below: number, on: boolean | null): boolean | null {
  if (value === null) return null;
  return on ? value >= below : value > above;
}

const anyGas = (): boolean => true;
const notNitrogen = (rules: ChamberRules, line: GasLine): boolean => rules.gases[line]?.kind !== 'N2';
const isFluorinated = (rules: ChamberRules, line: GasLine): boolean => rules.gases[line]?.fluorinated === true;

/** What flows in a line; nothing once its valve is shut, whatever the flow controller's slow sensor still shows. */
function flowOf(inputs: Inputs, line: GasLine): number | null {
  switch (line) {
    case 1:
      return inputs.gasValve1 === false ? 0 : inputs.flow1;
    case 2:
      return inputs.gasValve2 === false ? 0 : inputs.flow2;
    case 3:
      return inputs.gasValve3 === false ? 0 : inputs.flow3;
    case 4:
      return inputs.gasValve4 === false ? 0 : inputs.flow4;
  }
}

/** [IN2] Sum over the lines taken, zero errors off. */
function gasFlow(inputs: Inputs, rules: ChamberRules, taken: (rules: ChamberRules, line: GasLine) => boolean): number | null {
  let sum: number | null = null;
  for (const line of GAS_LINES) {
    const flow = flowOf(inputs, line);
    if (flow === null || !taken(rules, line)) continue;
    sum = (sum ?? 0) + Math.max(0, flow - 0.01 * (rules.gases[line]?.fullScaleMolPerS ?? 0));
  }
  return sum;
}

function anyLineOn(inputs: Inputs, rules: ChamberRules): boolean {
  return GAS_LINES.some((line) => (flowOf(inputs, line) ?? 0) > Math.max(GAS_OFF, 0.02 * (rules.gases[line]?.fullScaleMolPerS ?? 0)));
}
