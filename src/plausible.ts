/**
 * Do a chamber's values of one moment go together? What cannot be true at once is a tag bound to the wrong node, inverted, or in the wrong unit.
 * The bounds are wide, of vacuum practice, from memory, no source: they find an order of magnitude, not a drift.
 * [PB1] A quantity outside what can be there is in the wrong unit or from the wrong node.
 * [PB2] Door, switches, valves and pressure that exclude each other are told, on each of the tags that contradict.
 * [PB3] A step number that shows another count than the site file says (step-counts.ts), and one of which the file does not say it, is told.
 * [PB4] What is not known excludes nothing.
 */
import type { StepCounts } from './chamber-rules.ts';
import type { SignalValue } from './reading.ts';
import type { SignalName } from './signal.ts';
import { burnsNow, stepCountsSeen } from './step-counts.ts';

type Doubt = { readonly signals: readonly SignalName[]; readonly text: string };
export type ChamberLimits = { readonly rfMaxW: number; readonly stepCounts: StepCounts | null };

const UNIT = 'Compare with the screen of the machine, and correct the unit or the node.';
const SENSE = 'Correct the node, or turn one around with inverted.';

const BAR = 100_000;
const CELSIUS = 273.15;
/** SI, from and to. */
const BOUNDS: readonly (readonly [signal: SignalName, from: number, to: number, words: string])[] = [
  ['chamber.pressure', -100, 1.3 * BAR, 'A vacuum chamber is between 0 and 1.3 bar'],
  ['utility.compressedAirPressure', 0.5 * BAR, 20 * BAR, 'Compressed air has 0.5 to 20 bar'],
  ['utility.nitrogenPressure', 0.2 * BAR, 50 * BAR, 'A nitrogen supply has 0.2 to 50 bar'],
  ['chamber.temperature', CELSIUS - 60, CELSIUS + 600, 'A chamber has -60 to 600 °C'],
  ['pump.bodyTemperature', CELSIUS - 20, CELSIUS + 200, 'A pump has -20 to 200 °C'],
];
/** Between the two nothing is said: chambers are vented a little above or below the day's air pressure. */
const SURELY_VACUUM_PA = 0.5 * BAR;
const SURELY_AIR_PA = 0.8 * BAR;

type Values = ReadonlyMap<SignalName, SignalValue>;

export function doubtsOf(values: Values, limits: ChamberLimits): readonly Doubt[] {
  return [...outOfBounds(values), ...overPower(values, limits), ...contradictions(values), ...stepCounts(values, limits)];
}

const numberOf = (values: Values, signal: SignalName): number | null => {
  const value = values.get(signal);
  return typeof value === 'number' ? value : null;
};

/** [PB1] */
function outOfBounds(values: Values): Doubt[] {
  return BOUNDS.flatMap(([signal, from, to, words]) => {
    const value = numberOf(values, signal);
    return value === null || (value >= from && value <= to) ? [] : [{ signals: [signal], text: `${words}. ${UNIT}` }];
  });
}

/** [PB1] */
function overPower(values: Values, { rfMaxW }: ChamberLimits): Doubt[] {
  const power = numberOf(values, 'rf.forward');
  if (power === null || power <= 1.2 * rfMaxW) return [];
  return [
    { signals: ['rf.forward'], text: `The generator gives at most ${rfMaxW} W by the site file. Correct rfMaxW, the unit or the node.` },
  ];
}

/** [PB3] */
function stepCounts(values: Values, { rfMaxW, stepCounts: said }: ChamberLimits): Doubt[] {
  const step = numberOf(values, 'recipe.step');
  if (step === null) return [];
  const vent = values.get('vent.valveOpen');
  const burns = burnsNow({
    pressurePa: numberOf(values, 'chamber.pressure'),
    ventOpen: typeof vent === 'boolean' ? vent : null,
    forwardW: numberOf(values, 'rf.forward'),
    rfMaxW,
  });
  const seen = stepCountsSeen({ step, stepCount: numberOf(values, 'recipe.stepCount'), burns, words: [] });
  const doubt = (text: string): Doubt[] => [{ signals: ['recipe.step'], text }];
  const because = seen === null ? '' : ` Now ${seen.reason}: ${seen.counts} is likely.`;
  if (said === null)
    return doubt(
      `The site file does not say what it counts, so no run is told aborted by it. Say counts: plasma-steps or all-steps.${because}`,
    );
  if (seen === null || seen.counts === said) return [];
  const cost = said === 'plasma-steps' ? 'every run would be told aborted' : 'a run that was cut short may be told completed';
  return doubt(
    `The site file says counts: ${said}, but ${seen.reason}. If it counts ${MEANS[seen.counts]}, say counts: ${seen.counts}; else ${cost}.`,
  );
}

const MEANS: Readonly<Record<StepCounts, string>> = { 'plasma-steps': 'the steps of the plasma alone', 'all-steps': 'the whole sequence' };

/** [PB2] */
function contradictions(values: Values): Doubt[] {
  const pressurePa = numberOf(values, 'chamber.pressure');
  const [isVacuum, isAir] = [pressurePa !== null && pressurePa < SURELY_VACUUM_PA, pressurePa !== null && pressurePa > SURELY_AIR_PA];
  const is = (signal: SignalName, value: boolean): boolean => values.get(signal) === value;
  const rules: readonly (readonly [boolean, SignalName, SignalName, string])[] = [
    [
      isVacuum && is('chamber.doorClosed', false),
      'chamber.doorClosed',
      'chamber.pressure',
      'The door is open and the chamber under vacuum',
    ],
    [
      isVacuum && is('chamber.atmosphereSwitch', true),
      'chamber.atmosphereSwitch',
      'chamber.pressure',
      'The switch says atmosphere, the pressure vacuum',
    ],
    [
      isAir && is('chamber.vacuumSwitch', true),
      'chamber.vacuumSwitch',
      'chamber.pressure',
      'The switch says vacuum, the pressure atmosphere',
    ],
    [
      is('chamber.doorClosed', false) && is('chamber.atmosphereSwitch', false),
      'chamber.doorClosed',
      'chamber.atmosphereSwitch',
      'The door is open and the switch denies atmosphere',
    ],
    [
      is('vent.valveOpen', true) && is('pump.chamberValveOpen', true),
      'vent.valveOpen',
      'pump.chamberValveOpen',
      'Vent valve and pump valve are open at once',
    ],
    [
      is('chamber.doorClosed', false) && is('pump.chamberValveOpen', true),
      'chamber.doorClosed',
      'pump.chamberValveOpen',
      'Door and pump valve are open at once',
    ],
    [is('chamber.doorClosed', false) && is('rf.enabled', true), 'chamber.doorClosed', 'rf.enabled', 'RF is on with the door open'],
  ];
  return rules.flatMap(([holds, one, other, words]) =>
    holds ? [{ signals: [one, other], text: `${words}: ${one} against ${other}. ${SENSE}` }] : [],
  );
}
