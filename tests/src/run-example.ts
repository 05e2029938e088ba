/**
 * A run made by hand, told once a second where something changes: two plasma steps of 100 s in one chamber, numbers that can be checked in the head.
 * Seconds count from the pump-down's start. `tell` lays other words over it.
 */
import { DEFAULT_RULES, type ChamberRules } from '../../src/chamber-rules.ts';
import type { EventOf, RunEnded } from '../../src/event.ts';
import type { Sample } from '../../src/integral.ts';
import type { RunRecordInput } from '../../src/run-record-input.ts';
import type { SignalName } from '../../src/signal.ts';
import { molPerSOfSccm, TORR_PA } from '../../src/units.ts';

export const START = Date.UTC(2026, 10, 25, 6);
export const sccm = (flow: number): number => flow * molPerSOfSccm(0);
export const mTorr = (pressure: number): number => (pressure * TORR_PA) / 1000;
export const at = (s: number): number => START + Math.round(1000 * s);

export const RULES: ChamberRules = {
  ...DEFAULT_RULES,
  chamber: 'PC-01',
  alarms: {},
  gases: {
    1: { kind: 'O2', fullScaleMolPerS: sccm(1000), fluorinated: false },
    2: { kind: 'CF4', fullScaleMolPerS: sccm(500), fluorinated: true },
  },
  rfMaxW: 2000,
  basePressurePa: mTorr(100),
  phaseCodes: null,
};

type Told = readonly (readonly [s: number, value: number | null])[];
export type Words = Partial<Record<SignalName, Told>>;

/** Pump-down 0..100, gas 100..130, plasma 130..230 (1000 W, O2 alone) and 230..330 (1500 W, with CF4), purge ..390, vent delay ..395, vent ..455. */
export const PHASES: readonly (readonly [RunEnded['phases'][number]['phase'], number | null, number, number])[] = [
  ['pump-down', null, 0, 100],
  ['gas-stabilisation', null, 100, 130],
  ['plasma', 1, 130, 230],
  ['plasma', 2, 230, 330],
  ['purge', null, 330, 390],
  ['vent-delay', null, 390, 395],
  ['vent', null, 395, 455],
];

/** Falls straight in its logarithm from 2 Torr at 40 s to 90 mTorr at 100 s. */
const pumpDown = (): Told => {
  const fall = Math.log(2000 / 90) / 60;
  return Array.from({ length: 61 }, (_, i) => [40 + i, mTorr(2000 * Math.exp(-fall * i))] as const);
};

export const WORDS: Words = {
  'chamber.pressure': [[-500, mTorr(2001)], ...pumpDown(), [101, mTorr(200)], [131, mTorr(220)], [331, mTorr(50)], [396, mTorr(2000)]],
  'gas.1.flow': [
    [-500, sccm(2)],
    [101, sccm(500)],
    [330, sccm(2)],
  ],
  'gas.1.flowSetPoint': [
    [-500, 0],
    [100, sccm(500)],
    [330, 0],
  ],
  'gas.1.valveOpen': [
    [-500, 0],
    [100, 1],
    [330, 0],
  ],
  'gas.2.flow': [
    [-500, 0],
    [231, sccm(100)],
    [330, 0],
  ],
  'gas.2.flowSetPoint': [
    [-500, 0],
    [230, sccm(100)],
    [330, 0],
  ],
  'gas.2.valveOpen': [
    [-500, 0],
    [230, 1],
    [330, 0],
  ],
  'rf.enabled': [
    [-500, 0],
    [130, 1],
    [330, 0],
  ],
  'rf.forwardSetPoint': [
    [-500, 0],
    [130, 1000],
    [230, 1500],
    [330, 0],
  ],
  'rf.forward': [
    [-500, 0],
    [130, 500],
    [132, 1000],
    [230, 1500],
    [330, 0],
  ],
  'rf.reflected': [
    [-500, 0],
    [130, 450],
    [132, 10],
    [230, 15],
    [330, 0],
  ],
  'recipe.stepDuration': [
    [-500, 0],
    [130, 100],
    [330, 0],
  ],
  'meter.pumpHours': [[-500, 360_000]],
  'meter.rfHours': [
    [-500, 36_000],
    [300, 36_360],
  ],
  'meter.cycles': [[-500, 41]],
};

export type Change = {
  readonly tell?: Words;
  readonly without?: readonly SignalName[];
  readonly run?: Partial<RunEnded>;
  readonly alarms?: readonly EventOf<'alarm'>[];
  readonly findings?: readonly EventOf<'finding'>[];
};

export function runExample({ tell = {}, without = [], run = {}, alarms = [], findings = [] }: Change = {}): RunRecordInput {
  const words = Object.entries({ ...WORDS, ...tell }).filter(([signal]) => !without.includes(signal as SignalName));
  const series = new Map(words.map(([signal, told]) => [signal as SignalName, told.map(([s, value]): Sample => ({ at: at(s), value }))]));
  const phases = PHASES.map(([phase, step, from, to]) => ({ phase, step, from: at(from), to: at(to), source: 'tag' as const }));
  const fact: RunEnded = {
    kind: 'run-ended',
    chamber: 'PC-01',
    at: at(455),
    run: `PC-01/${new Date(START).toISOString()}`,
    startedAt: START,
    outcome: 'completed',
    recipe: 'DSM-EP-25',
    load: 'QM-26-04117-A',
    engineering: false,
    doorClosedAt: at(-20),
    phases,
    observedMs: 455_000,
    ...run,
  };
  return { run: fact, series, rules: RULES, alarms, findings, counts: { pumpMs: 1, rfMs: 2, runs: 3, unobservedMs: 4 } };
}

/** Other words of one signal in [from, to); at `to` it says again what it says without them. */
export function between(signal: SignalName, from: number, to: number, told: Told): Words {
  const old = WORDS[signal] ?? [];
  const held = old.findLast(([s]) => s <= to)?.[1] ?? null;
  return { [signal]: [...old.filter(([s]) => s < from), ...told, [to, held], ...old.filter(([s]) => s > to)] };
}
