/**
 * The one chamber of the scenarios: a drill chamber of the demo plant, with and without a phase tag.
 */
import type { ChamberRules } from '../../src/chamber-rules.ts';
import { DEFAULT_RULES } from '../../src/chamber-rules.ts';
import { SCCM } from '../../src/inputs.ts';

const alarm = (code: string, text: string, effect: 'none' | 'stop' | 'down', priority: 'high' | 'medium' | 'low' = 'high') => ({
  code,
  text,
  effect,
  priority,
  notice: false,
});

export const rulesBySignals: ChamberRules = {
  ...DEFAULT_RULES,
  chamber: 'PC-01',
  alarms: {
    RF_FAULT: alarm('RF_FAULT', 'RF generator fault', 'down'),
    PUMP_FAULT: alarm('PUMP_FAULT', 'Vacuum pump tripped', 'down'),
    NO_IGNITION: alarm('NO_IGNITION', 'Plasma did not light', 'stop'),
    RF_REFL_HIGH: alarm('RF_REFL_HIGH', 'Reflected power high', 'none', 'medium'),
    WAITING: { ...alarm('WAITING', 'Finished, waiting for unload', 'none', 'low'), notice: true },
  },
  gases: {
    1: { kind: 'O2', fullScaleMolPerS: 1500 * SCCM, fluorinated: false },
    2: { kind: 'CF4', fullScaleMolPerS: 500 * SCCM, fluorinated: true },
    3: { kind: 'N2', fullScaleMolPerS: 500 * SCCM, fluorinated: false },
  },
  rfMaxW: 4000,
  basePressurePa: 13.3,
  phaseCodes: null,
  stepCounts: 'plasma-steps',
};

export const rulesByTag: ChamberRules = {
  ...rulesBySignals,
  phaseCodes: {
    '0': 'idle',
    '5': 'load',
    '10': 'pump-down',
    '20': 'gas-stabilisation',
    '30': 'plasma',
    '40': 'purge',
    '50': 'vent-delay',
    '60': 'vent',
    '70': 'wait-unload',
    '75': 'unload',
    '80': 'leak-test',
    '90': 'hold',
  },
};
