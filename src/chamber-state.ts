/**
 * Everything the reducer remembers of one chamber: plain JSON data, so that a stored copy continues exactly.
 */
import type { Span } from './calendar.ts';
import type { BoundarySource, EquipmentState, Phase, Suppression } from './equipment.ts';
import type { PhaseSpan } from './event.ts';
import type { Flag } from './flag.ts';
import type { Counts } from './run-counts.ts';

/** The last good raw values of the signals that decide anything. Null: never heard, or bad. */
export type Inputs = {
  readonly pressurePa: number | null;
  readonly atmosphere: boolean | null;
  readonly doorClosed: boolean | null;
  readonly pumpRunning: boolean | null;
  readonly chamberValveOpen: boolean | null;
  readonly ventValveOpen: boolean | null;
  readonly forwardW: number | null;
  readonly forwardSetPointW: number | null;
  readonly flow1: number | null;
  readonly flow2: number | null;
  readonly flow3: number | null;
  readonly flow4: number | null;
  readonly gasValve1: boolean | null;
  readonly gasValve2: boolean | null;
  readonly gasValve3: boolean | null;
  readonly gasValve4: boolean | null;
  readonly flowSetPoint1: number | null;
  readonly flowSetPoint2: number | null;
  readonly flowSetPoint3: number | null;
  readonly flowSetPoint4: number | null;
  readonly recipe: string | null;
  readonly recipeStep: number | null;
  readonly stepCount: number | null;
  readonly stepDurationS: number | null;
  readonly phaseCode: number | null;
  readonly mode: string | null;
  readonly itemState: string | null;
  readonly load: string | null;
};

export const FLAG_NAMES = [
  'atmosphere',
  'doorOpen',
  'pumping',
  'pumpStopped',
  'lowPressure',
  'gas',
  'processGas',
  'fluorine',
  'rf',
  'rfCalled',
  'venting',
  'ventOnPump',
  'gasOnDoor',
] as const;
export type FlagName = (typeof FLAG_NAMES)[number];
export type Flags = { readonly [K in FlagName]: Flag };

/** The sequence as the signals alone tell it. */
export type Sequence = {
  readonly phase: Phase;
  readonly since: number;
  /** The phase before this one. */
  readonly before: Phase;
  /** RF burned since the last pump-down. */
  readonly lit: boolean;
  /** A pump-down began and the chamber is not back at atmosphere. */
  readonly inRun: boolean;
  /** Fluorinated gas flowed since the last pump-down. */
  readonly fluorinated: boolean;
};

export type Presence = {
  /** `lost`: nobody knows what the chamber does. `settling`: heard again, values still coming in. */
  readonly word: 'never' | 'heard' | 'lost' | 'settling';
  /** Last time heard. */
  readonly heardAt: number;
  /** The link said it is silent and has not yet said it is alive: holes are measured strictly. */
  readonly silent: boolean;
  /** Begin of the running hole. */
  readonly lostAt: number;
  /** First word after the hole, and when the values are taken as settled. */
  readonly firstHeardAt: number;
  readonly settledAt: number;
  readonly beat: number | null;
  readonly beatAt: number;
  /** Usual time between heartbeats, ms; 0 until it was seen to change. */
  readonly beatMs: number;
  readonly frozen: boolean;
  /** No signal that tells what the chamber does is good. */
  readonly blind: boolean;
};

export type OpenRun = {
  readonly run: string;
  readonly startedAt: number;
  readonly source: BoundarySource;
  readonly recipe: string | null;
  readonly load: string | null;
  readonly engineering: boolean;
  readonly doorClosedAt: number | null;
  /** Closed stretches; the running one is the chamber's phase. */
  readonly phases: readonly PhaseSpan[];
  /** Of stretches beyond those kept: the last plasma step, its time, and all their plasma. Absent while all are kept. */
  readonly unkept?: { readonly step: number | null; readonly stepMs: number; readonly plasmaMs: number };
  readonly unobservedMs: number;
  /** The holes that sum is of, in order; the first 200. */
  readonly holes: readonly Span[];
  /** An alarm that stops the run stood while it still had to work. */
  readonly stopped: boolean;
  /** It stood still, unfinished, after a hole in the word: the controller or its power was gone. */
  readonly interrupted: boolean;
  /** Its beginning or the end of its plasma fell into a hole. */
  readonly blind: boolean;
  /** Last plasma step's nominal and number, as the controller told them. */
  readonly stepCount: number | null;
  readonly stepDurationMs: number | null;
};

/** Watching set points for a new plasma step where no tag tells the step. */
export type StepWatch = {
  /** Set points (or actuals) that mark the running step: forward W, then four flows; or the controller's number alone. Null while settling. */
  readonly marks: readonly (number | null)[] | null;
  readonly marksAt: number;
  readonly changedAt: number;
};

/** What was heard of an alarm: standing since, or null when at rest. Counted: its begin was seen. */
export type AlarmStand = {
  readonly since: number | null;
  /** Whether it stands was told at all. */
  readonly heard: boolean;
  readonly counted: boolean;
  /** Not annunciated, for whatever reason. */
  readonly suppressed: boolean;
  /** The reasons, in the order of `SUPPRESSIONS`. */
  readonly suppressedAs: readonly Suppression[];
  /** When that last changed; null while nothing holds, or when it was not told as a fact. */
  readonly suppressedSince: number | null;
  /** When a timed shelving ends. */
  readonly shelvedUntil: number | null;
  /** Null until the server said so; some never do. */
  readonly acknowledged: boolean | null;
  readonly confirmed: boolean | null;
  /** Held by the machine until it is reset there; absent until the server said so, and in states of an older program. */
  readonly latched?: boolean;
  /** Earlier activations that wait for an acknowledgement or a confirmation of their own, by the time they began. */
  readonly branches: readonly number[];
};

/** Why the chamber cannot run, and whether maintenance has had it and given it back. */
export type Stop = { readonly since: number; readonly text: string; readonly serviced: boolean; readonly handedBack: boolean };

export type Learned = {
  readonly recipe: string;
  /** Durations in ms of completed runs by `phase/step`, oldest first, at most 20 each. */
  readonly durations: Readonly<Record<string, readonly number[]>>;
};

type EquipmentHeld = {
  readonly state: EquipmentState;
  readonly reason: string;
  /** Of its fact in the books: later facts do not go before it. */
  readonly since: number;
  /** When it really began: neither a bridged hole nor another sub-reason of a downtime begins it anew. */
  readonly heldSince: number;
  readonly run: string | null;
};

export type ChamberState = {
  /** Of this shape: stored-state.ts. */
  readonly version: number;
  /** Newest event time heard. */
  readonly now: number;
  /** When something is to be decided even if no signal changes. */
  readonly due: number;
  readonly inputs: Inputs;
  /** Telling signals whose last word was not good: their value in `inputs` is old. */
  readonly bad: readonly (keyof Inputs)[];
  readonly flags: Flags;
  readonly presence: Presence;
  readonly sequence: Sequence;
  /** The controller's own phase, and one it has just taken and not yet held. */
  readonly tagPhase: Phase | null;
  readonly tagNext: { readonly phase: Phase; readonly at: number } | null;
  /** What it is doing, by tag or by signals. */
  readonly phase: Phase;
  readonly phaseSince: number;
  readonly phaseSource: BoundarySource;
  readonly step: number | null;
  readonly stepWatch: StepWatch;
  /** No boundary may be set before this: the end of the last hole. */
  readonly floor: number;
  readonly run: OpenRun | null;
  /** The last run's stretches, for the screen until the chamber is opened. */
  readonly lastRun: OpenRun | null;
  readonly doorClosedAt: number | null;
  readonly equipment: EquipmentHeld;
  /** The state that held when a hole began, in case it turns out short enough to bridge. */
  readonly before: EquipmentHeld | null;
  readonly mode: string;
  readonly modeSince: number;
  /** When the machine's own item state last changed. */
  readonly itemSince: number;
  readonly down: Stop | null;
  readonly stopped: Stop | null;
  readonly releasedAt: number;
  readonly alarms: Readonly<Record<string, AlarmStand>>;
  readonly mismatchSince: number;
  readonly mismatchTold: boolean;
  readonly purgeTold: boolean;
  readonly learned: readonly Learned[];
  readonly counts: Counts;
};
