/**
 * The words by which controllers call the quantities that Glowfleet understands: trade words and their usual abbreviations, no maker's naming.
 * German ones are put into these by german-words.ts.
 * One row per signal; a gas line's number is taken from the name itself.
 */
import type { SignalKind, SignalName, SiUnit } from './signal.ts';

export type SignalWords = {
  readonly signal: SignalName | `gas.N.${'flow' | 'flowSetPoint' | 'valveOpen'}`;
  readonly kind: SignalKind;
  /** What its unit must measure, where the server names one; '' for no unit. */
  readonly unit: SiUnit;
  /** One of each list must be among the words of the name. */
  readonly all: readonly (readonly string[])[];
  /** These make it more likely, and these rule it out. */
  readonly better?: readonly string[];
  readonly none?: readonly string[];
  /** The boolean says the opposite when one of these stands in its place. */
  readonly opposite?: readonly string[];
};

const SET = ['setpoint', 'set', 'sp', 'target', 'demand', 'setting', 'command', 'cmd'];
const LIMIT = [
  'limit',
  'max',
  'min',
  'high',
  'low',
  'alarm',
  'warning',
  'fault',
  'error',
  'trip',
  'total',
  'totalizer',
  'timeout',
  'delay',
];
const RUNNING = ['running', 'run', 'on', 'rotating', 'active'];
const FLOW = ['flow', 'mfc', 'massflow'];
const POWER = ['power', 'pwr', 'watt', 'rf', 'generator'];
const FORWARD = ['forward', 'fwd', 'pf', 'delivered', 'output', 'incident'];
const METER = ['hours', 'hourmeter', 'runtime', 'meter', 'hrs'];

export const SIGNAL_WORDS: readonly SignalWords[] = [
  {
    signal: 'controller.heartbeat',
    kind: 'count',
    unit: '1',
    all: [['heartbeat', 'watchdog', 'lifebit', 'alive', 'lifecounter', 'livecounter']],
    none: ['timeout', 'time', 'limit', 'delay'],
  },
  {
    signal: 'chamber.pressure',
    kind: 'analog',
    unit: 'Pa',
    all: [['pressure', 'press', 'vacuum', 'gauge', 'manometer']],
    better: ['chamber', 'process', 'actual', 'pv', 'gauge', 'vacuum'],
    none: [
      ...SET,
      ...LIMIT,
      'water',
      'air',
      'cda',
      'nitrogen',
      'n2',
      'foreline',
      'supply',
      'exhaust',
      'base',
      'argon',
      'house',
      'line',
      'inlet',
    ],
  },
  { signal: 'chamber.atmosphereSwitch', kind: 'boolean', unit: '', all: [['atmosphere', 'atm', 'vented']], none: ['valve'] },
  {
    signal: 'chamber.vacuumSwitch',
    kind: 'boolean',
    unit: '',
    all: [
      ['vacuum', 'vac'],
      ['switch', 'ok', 'good', 'reached', 'ready'],
    ],
    none: ['pump', 'valve', 'atmosphere', 'atm', 'vented'],
  },
  {
    signal: 'chamber.doorClosed',
    kind: 'boolean',
    unit: '',
    all: [['door', 'lid', 'hatch']],
    better: ['closed', 'shut', 'close', 'chamber'],
    opposite: ['open', 'opened'],
    none: [...LIMIT, 'cabinet', 'panel', 'lock', 'locked', 'cmd'],
  },
  {
    signal: 'chamber.temperature',
    kind: 'analog',
    unit: 'K',
    all: [['temperature', 'temp']],
    better: ['chamber', 'electrode', 'wall'],
    none: [...SET, ...LIMIT, 'pump', 'water', 'oil', 'body', 'cabinet', 'generator', 'match', 'ambient'],
  },
  {
    signal: 'pump.running',
    kind: 'boolean',
    unit: '',
    all: [['pump'], RUNNING],
    better: ['vacuum', 'main', 'rotary'],
    none: [...LIMIT, 'roots', 'booster', 'blower', 'water', 'oil', 'valve', 'cmd'],
  },
  { signal: 'pump.roots.running', kind: 'boolean', unit: '', all: [['roots', 'booster', 'blower'], RUNNING], none: [...LIMIT, 'cmd'] },
  {
    signal: 'pump.chamberValveOpen',
    kind: 'boolean',
    unit: '',
    all: [
      ['valve', 'vlv'],
      ['chamber', 'pump', 'isolation', 'iso', 'gate', 'main', 'roughing', 'rough', 'vacuum'],
    ],
    better: ['open', 'opened'],
    opposite: ['closed', 'shut'],
    none: [...LIMIT, 'vent', 'gas', 'soft', 'slow', 'purge', 'cmd', 'throttle'],
  },
  {
    signal: 'pump.bodyTemperature',
    kind: 'analog',
    unit: 'K',
    all: [
      ['pump', 'roots'],
      ['temperature', 'temp'],
    ],
    better: ['body'],
    none: [...SET, ...LIMIT, 'oil'],
  },
  {
    signal: 'gas.N.flow',
    kind: 'analog',
    unit: 'mol/s',
    all: [FLOW],
    better: ['actual', 'pv', 'gas'],
    none: [...SET, ...LIMIT, 'water', 'cooling', 'range', 'scale', 'purge'],
  },
  {
    signal: 'gas.N.flowSetPoint',
    kind: 'analog',
    unit: 'mol/s',
    all: [FLOW, SET],
    better: ['gas'],
    none: [...LIMIT, 'water', 'cooling', 'range', 'scale'],
  },
  {
    signal: 'gas.N.valveOpen',
    kind: 'boolean',
    unit: '',
    all: [
      ['valve', 'vlv'],
      ['gas', 'mfc'],
    ],
    better: ['open'],
    opposite: ['closed', 'shut'],
    none: [...LIMIT, 'vent', 'cmd'],
  },
  {
    signal: 'rf.enabled',
    kind: 'boolean',
    unit: '',
    all: [
      ['rf', 'generator', 'hf'],
      ['enabled', 'enable', 'on', 'active'],
    ],
    none: [...LIMIT, 'interlock', 'water'],
  },
  {
    signal: 'rf.forward',
    kind: 'analog',
    unit: 'W',
    all: [FORWARD],
    better: [...POWER, 'actual', 'pv'],
    none: [...SET, ...LIMIT, 'reflected', 'refl', 'valve'],
  },
  {
    signal: 'rf.reflected',
    kind: 'analog',
    unit: 'W',
    all: [['reflected', 'refl', 'reverse', 'pr']],
    better: POWER,
    none: [...SET, ...LIMIT],
  },
  {
    signal: 'rf.forwardSetPoint',
    kind: 'analog',
    unit: 'W',
    all: [[...FORWARD, ...POWER], SET],
    better: FORWARD,
    none: ['reflected', 'refl', 'limit', 'alarm'],
  },
  {
    signal: 'rf.matchC1',
    kind: 'analog',
    unit: '1',
    all: [
      ['c1', 'load', 'cap1'],
      ['match', 'matching', 'matchbox', 'tuner', 'capacitor', 'cap1', 'c1'],
    ],
    none: SET,
  },
  {
    signal: 'rf.matchC2',
    kind: 'analog',
    unit: '1',
    all: [
      ['c2', 'tune', 'cap2'],
      ['match', 'matching', 'matchbox', 'tuner', 'capacitor', 'cap2', 'c2'],
    ],
    none: SET,
  },
  {
    signal: 'vent.valveOpen',
    kind: 'boolean',
    unit: '',
    all: [
      ['vent', 'venting'],
      ['valve', 'vlv', 'open'],
    ],
    opposite: ['closed', 'shut'],
    none: [...LIMIT, 'cmd', 'pump', 'gas'],
  },
  {
    signal: 'recipe.name',
    kind: 'text',
    unit: '',
    all: [['recipe', 'program', 'process']],
    better: ['name', 'id'],
    none: ['step', 'version', 'operator', 'comment'],
  },
  {
    signal: 'recipe.step',
    kind: 'count',
    unit: '1',
    all: [['step', 'segment']],
    better: ['number', 'no', 'current', 'actual', 'recipe'],
    none: ['count', 'steps', 'total', 'duration', 'time', 'elapsed', 'remaining'],
  },
  {
    signal: 'recipe.stepCount',
    kind: 'count',
    unit: '1',
    all: [
      ['stepcount', 'steps', 'count'],
      ['step', 'steps', 'recipe', 'stepcount'],
    ],
    none: ['time', 'cycle'],
  },
  {
    signal: 'recipe.stepDuration',
    kind: 'analog',
    unit: 's',
    all: [['step'], ['duration', 'time', 'setpoint', 'preset']],
    better: ['duration', 'set', 'setpoint'],
    none: ['elapsed', 'remaining', 'actual'],
  },
  {
    signal: 'recipe.stepElapsed',
    kind: 'analog',
    unit: 's',
    all: [['step'], ['elapsed', 'actual', 'passed']],
    better: ['time'],
    none: ['remaining', 'duration'],
  },
  {
    signal: 'sequence.phaseCode',
    kind: 'count',
    unit: '1',
    all: [['phase', 'sequence', 'state', 'status']],
    better: ['code', 'sequence', 'phase', 'machine'],
    none: ['alarm', 'word', 'step', 'valve', 'pump', 'rf', 'fault', 'mode', 'connection'],
  },
  {
    signal: 'sequence.mode',
    kind: 'text',
    unit: '',
    all: [['mode']],
    better: ['operation', 'operating', 'machine', 'current'],
    none: ['rf', 'match', 'control'],
  },
  {
    signal: 'machine.itemState',
    kind: 'text',
    unit: '',
    all: [['machinery'], ['item'], ['state']],
    better: ['current'],
  },
  {
    signal: 'load.id',
    kind: 'text',
    unit: '',
    all: [['load', 'lot', 'batch', 'charge']],
    better: ['id', 'number', 'no', 'name'],
    none: ['capacitor', 'match', 'recipe'],
  },
  { signal: 'utility.waterFlow', kind: 'analog', unit: 'm3/s', all: [['water', 'cooling', 'coolant'], ['flow']], none: [...SET, ...LIMIT] },
  {
    signal: 'utility.compressedAirPressure',
    kind: 'analog',
    unit: 'Pa',
    all: [['air', 'cda']],
    better: ['pressure', 'press', 'compressed'],
    none: [...SET, ...LIMIT, 'flow', 'valve'],
  },
  {
    signal: 'utility.nitrogenPressure',
    kind: 'analog',
    unit: 'Pa',
    all: [['nitrogen', 'n2']],
    better: ['pressure', 'press', 'supply'],
    none: [...SET, ...LIMIT, 'flow', 'valve'],
  },
  { signal: 'meter.pumpHours', kind: 'analog', unit: 's', all: [['pump'], METER], none: LIMIT },
  { signal: 'meter.rfHours', kind: 'analog', unit: 's', all: [['rf', 'plasma', 'generator', 'hf'], METER], none: LIMIT },
  {
    signal: 'meter.cycles',
    kind: 'count',
    unit: '1',
    all: [
      ['cycles', 'cycle', 'runs', 'batches'],
      ['meter', 'count', 'counter', 'total', 'cycles'],
    ],
    none: ['time', 'step'],
  },
];

/** Without these nothing can be recognised: power, pressure, and something that tells pumping, venting or gas. */
export const CORE_SIGNALS: readonly SignalName[] = [
  'chamber.pressure',
  'rf.forward',
  'gas.1.flow',
  'chamber.doorClosed',
  'pump.chamberValveOpen',
  'vent.valveOpen',
  'sequence.phaseCode',
];
