/**
 * The words for a chamber's time and activity. Equipment states in the manner of SEMI E10 (six states, from memory; hierarchy in
 * OPC UA Machine Vision 11.6.1, table 137), plus our own seventh, unobserved.
 */
export const EQUIPMENT_STATES = [
  'productive',
  'standby',
  'engineering',
  'scheduled-downtime',
  'unscheduled-downtime',
  'nonscheduled',
  'unobserved',
] as const;
export type EquipmentState = (typeof EQUIPMENT_STATES)[number];

/**
 * What the chamber is doing. `load` and `unload`: door open with nothing wrong, before and after a run.
 * `wait-unload`: vented, door not opened yet. `parked`: under vacuum with nothing to do. `hold`: sequence stopped inside a run.
 */
export const PHASES = [
  'idle',
  'load',
  'pump-down',
  'gas-stabilisation',
  'plasma',
  'purge',
  'vent-delay',
  'vent',
  'wait-unload',
  'unload',
  'hold',
  'leak-test',
  'parked',
] as const;
export type Phase = (typeof PHASES)[number];

/** The phases between pump-down start and chamber back at atmosphere, in their usual order: process time is their sum. */
export const RUN_PHASES = ['pump-down', 'gas-stabilisation', 'plasma', 'purge', 'vent-delay', 'vent'] as const satisfies readonly Phase[];

/** States that a person may say a time was. That nobody planned to work is the calendar's word, and unobserved stays unobserved. */
export const TOLD_STATES = ['productive', 'standby', 'engineering', 'scheduled-downtime', 'unscheduled-downtime'] as const;
export type ToldState = (typeof TOLD_STATES)[number];

/** Parts that maintenance works on, as far as they change what is measured. */
export const WORKED_ON = ['pump', 'gauge', 'gas', 'match', 'seal', 'electrode'] as const;
export type WorkedOn = (typeof WORKED_ON)[number];

/**
 * What told downtime was, as far as uptimes and repair times tell it apart (contents of SEMI E10's downtime states, from memory). An assist is a
 * stop that an operator cleared at once without repair or part: see interrupts.ts for what the word weighs. Delays are waiting for one's own
 * maintenance, or for the maker's people and parts.
 */
export const DOWNTIME_KINDS = ['repair', 'test', 'user-delay', 'supplier-delay', 'facilities', 'out-of-spec-input', 'assist'] as const;
export type DowntimeKind = (typeof DOWNTIME_KINDS)[number];

/**
 * What keeps an alarm from being annunciated, in the manner of ISA-18.2 (states G, H and I) and OPC 10000-9 (ShelvingState, SuppressedState,
 * OutOfServiceState). `not told which`: the machine says only that one of them does.
 */
export const SUPPRESSIONS = ['shelved', 'by design', 'out of service', 'not told which'] as const;
export type Suppression = (typeof SUPPRESSIONS)[number];

/** Who or what fixed a boundary in time. `gap`: it fell inside time nobody observed. `person`: somebody said so. */
export const BOUNDARY_SOURCES = ['tag', 'signal', 'inferred', 'gap', 'person'] as const;
export type BoundarySource = (typeof BOUNDARY_SOURCES)[number];

export const RUN_OUTCOMES = ['completed', 'aborted', 'interrupted', 'not-fully-observed'] as const;
export type RunOutcome = (typeof RUN_OUTCOMES)[number];

export const ALARM_PRIORITIES = ['high', 'medium', 'low'] as const;
export type AlarmPriority = (typeof ALARM_PRIORITIES)[number];

/** What a site supplies to its chambers. */
export const UTILITY_KINDS = ['power', 'cooling-water', 'compressed-air', 'nitrogen', 'process-gas', 'exhaust'] as const;
export type UtilityKind = (typeof UTILITY_KINDS)[number];
