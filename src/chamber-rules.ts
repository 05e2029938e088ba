/**
 * What the reducer must know about one chamber, as plain values: drawn from the site file once, never changed by a reading.
 */
import type { AlarmPriority, Phase } from './equipment.ts';

/** What an active alarm does to the chamber. `down`: it cannot run until repaired. `stop`: it aborts the run. `none`: told, no effect. */
type AlarmEffect = 'none' | 'stop' | 'down';

/** Steps of the plasma alone, the first is 1; or all steps, of the sequence (pump-down is 1) or of all runs one after another. */
export const STEP_COUNTS = ['plasma-steps', 'all-steps'] as const;
export type StepCounts = (typeof STEP_COUNTS)[number];

export type AlarmDefinition = {
  readonly code: string;
  readonly text: string;
  readonly priority: AlarmPriority;
  readonly effect: AlarmEffect;
  readonly notice: boolean;
};

export type GasLineRules = {
  readonly kind: string;
  readonly fullScaleMolPerS: number;
  /** CF4 and the like: a purge must follow before the chamber is vented. */
  readonly fluorinated: boolean;
};

export type ChamberRules = {
  readonly chamber: string;
  readonly alarms: Readonly<Record<string, AlarmDefinition>>;
  /** By gas line number 1..4. */
  readonly gases: Readonly<Partial<Record<1 | 2 | 3 | 4, GasLineRules>>>;
  readonly rfMaxW: number;
  /** Pump-down is over when pressure is below this and gas flows. */
  readonly basePressurePa: number;
  /** The controller's phase numbers, or null when it exposes none and phases are recognised from signals alone. */
  readonly phaseCodes: Readonly<Record<string, Phase>> | null;
  /** What the controller's step number counts; null: nobody said (plasma-step.ts [PS4]). */
  readonly stepCounts: StepCounts | null;
  /** Recipe names whose runs are engineering time; `*` stands for any characters. */
  readonly engineeringRecipes: readonly string[];
  /** Door open longer than this without a run is standby, not handling. */
  readonly handlingLimitMs: number;
  /** A hole in the word of the server up to this long is bridged; longer is unobserved. */
  readonly bridgeMs: number;
  /** A heartbeat that stands still this long is frozen. */
  readonly frozenMs: number;
  /** In maintenance mode its alarms that tell no state of their own count as out of service. */
  readonly outOfServiceInMaintenance: boolean;
  /** Shortest purge after fluorinated gas. */
  readonly shortestPurgeMs: number;
};

export const DEFAULT_RULES = {
  stepCounts: null,
  engineeringRecipes: ['CND-*', 'TRL-*', 'LKT-*'],
  handlingLimitMs: 30 * 60_000,
  bridgeMs: 10_000,
  frozenMs: 15_000,
  shortestPurgeMs: 20_000,
  outOfServiceInMaintenance: false,
} as const;
