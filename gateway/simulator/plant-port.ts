/**
 * What the simulated OPC UA server needs of the simulated plant. The plant knows physics and people; it knows no protocol and none of
 * Glowfleet's rules. Values are the controller's own: its units, its names, its clock.
 */
export type RawValue = number | boolean | string;

export type SimulatedTag = {
  /** Identifier inside the plant's namespace, such as 'PC-01/Chamber/Pressure': the server's node is ns=<plant>;s=<this>. */
  readonly path: string;
  readonly type: 'Double' | 'Boolean' | 'Int32' | 'UInt32' | 'UInt64' | 'String';
  /** Engineering unit as the controller words it ('mTorr', 'sccm', 'W', 'degC'); null where none. */
  readonly unit: string | null;
  /** Engineering range low, high for analog tags. */
  readonly range: readonly [number, number] | null;
  readonly description: string;
};

/** An alarm that a chamber exposes as an OPC UA condition (Cedar bay only). */
export type SimulatedCondition = { readonly name: string; readonly message: string; readonly severity: number };

export type SimulatedChamber = {
  readonly id: string;
  readonly bay: string;
  /** Chambers with the same server name share one OPC UA endpoint. */
  readonly server: string;
  readonly tags: readonly SimulatedTag[];
  readonly conditions: readonly SimulatedCondition[];
};

/** Whatever the plant says while time passes. `at` is plant time; device clock error is in `sourceAt`. */
export type PlantSink = {
  tag(chamber: number, tag: number, value: RawValue, at: number, sourceAt: number): void;
  condition(chamber: number, condition: number, active: boolean, at: number, sourceAt: number): void;
  /** The network or controller of a chamber: 'drop' cuts its server's link, 'half-open' swallows packets, 'restart' kills and restarts the server. */
  link(server: string, state: 'up' | 'drop' | 'half-open' | 'restart', at: number): void;
};

/** What really happened, for the judge: one JSON line each. Written by the plant itself, never derived from its tags. */
export type TruthLine =
  | {
      readonly kind: 'phase';
      readonly chamber: string;
      readonly phase: string;
      readonly step: number | null;
      readonly from: number;
      readonly to: number;
    }
  | {
      readonly kind: 'run';
      readonly chamber: string;
      readonly load: string | null;
      readonly recipe: string;
      readonly from: number;
      readonly to: number;
      readonly outcome: 'completed' | 'aborted' | 'interrupted';
      readonly engineering: boolean;
    }
  | {
      readonly kind: 'state';
      readonly chamber: string;
      readonly state: string;
      readonly reason: string;
      readonly from: number;
      readonly to: number;
    }
  | { readonly kind: 'alarm'; readonly chamber: string; readonly code: string; readonly from: number; readonly to: number | null }
  | { readonly kind: 'fault'; readonly chamber: string | null; readonly fault: string; readonly from: number; readonly to: number | null }
  | { readonly kind: 'link'; readonly server: string; readonly state: string; readonly from: number; readonly to: number | null };

export const FAULT_NAMES = [
  'leak',
  'mfc-drift',
  'match-hunting',
  'pump-wear',
  'rf-trip',
  'chattering-switch',
  'house-gas',
  'cooling-water',
  'power-dip',
  'controller-restart',
  'link-drop',
  'half-open-link',
  'skip-purge',
  'operator-abort',
  'alarm-burst',
] as const;
export type FaultName = (typeof FAULT_NAMES)[number];

/** `chamber` null for facility events; `size` in the fault's own trade unit (mTorr/min, % per day ...); duration null until repaired. */
export type FaultOrder = {
  readonly fault: FaultName;
  readonly chamber: string | null;
  readonly size: number | null;
  readonly durationMs: number | null;
};

export interface Plant {
  readonly now: number;
  readonly chambers: readonly SimulatedChamber[];
  /** Moves plant time on, telling every change in order of time. Same seed, same orders, same steps: same story. */
  advance(to: number, sink: PlantSink): void;
  inject(order: FaultOrder): void;
  /** Everything, as plain JSON: restorePlant(snapshot) continues exactly. */
  snapshot(): unknown;
}
