/**
 * The facts the books are made of. One reducer emits them, the store keeps them for ever, every page and number derives from them.
 * [EV1] Identity is (chamber, kind, at, key): the same fact seen twice has the same id, so a replay inserts nothing new.
 */
import * as z from 'zod/mini';
import {
  ALARM_PRIORITIES,
  BOUNDARY_SOURCES,
  DOWNTIME_KINDS,
  EQUIPMENT_STATES,
  PHASES,
  RUN_OUTCOMES,
  SUPPRESSIONS,
  TOLD_STATES,
  WORKED_ON,
} from './equipment.ts';
import { runRecord } from './run-facts.ts';

const at = z.int();
const base = { chamber: z.string(), at };

const phaseSpan = z.object({
  phase: z.enum(PHASES),
  /** 1-based plasma step, null outside plasma. */
  step: z.nullable(z.int()),
  from: at,
  to: at,
  source: z.enum(BOUNDARY_SOURCES),
});
export type PhaseSpan = z.infer<typeof phaseSpan>;

/** A phase (or a plasma step) began. */
const phaseEvent = z.object({
  ...base,
  kind: z.literal('phase'),
  phase: z.enum(PHASES),
  step: z.nullable(z.int()),
  stepCount: z.nullable(z.int()),
  source: z.enum(BOUNDARY_SOURCES),
  run: z.nullable(z.string()),
});

/** A run began: pump-down onset. `run` is `<chamber>/<start as ISO 8601 UTC>`. */
const runStartedEvent = z.object({
  ...base,
  kind: z.literal('run-started'),
  run: z.string(),
  recipe: z.nullable(z.string()),
  load: z.nullable(z.string()),
  source: z.enum(BOUNDARY_SOURCES),
});

/** A run ended. `at` is its end (chamber back at atmosphere, or the moment it was given up). Holds the whole run in one fact. */
export const runEndedEvent = z.object({
  ...base,
  kind: z.literal('run-ended'),
  run: z.string(),
  startedAt: at,
  outcome: z.enum(RUN_OUTCOMES),
  recipe: z.nullable(z.string()),
  load: z.nullable(z.string()),
  /** True for conditioning, trials and leak tests: no product load. */
  engineering: z.boolean(),
  /** Door closed before this run, when seen: cycle time runs from here to the next run's. */
  doorClosedAt: z.nullable(at),
  phases: z.array(phaseSpan),
  /** Milliseconds of the run during which the chamber was observed. */
  observedMs: z.int(),
  /** The unobserved spans inside it, the first 200; absent in facts of before they were kept. */
  holes: z.optional(z.array(z.object({ from: at, to: at }))),
});
export type RunEnded = z.infer<typeof runEndedEvent>;

/** An equipment state began and holds until the chamber's next such event. `nonscheduled` comes from the calendar, not from here. */
const equipmentStateEvent = z.object({
  ...base,
  kind: z.literal('equipment-state'),
  state: z.enum(EQUIPMENT_STATES),
  /** Sub-reason in plain trade words: 'run', 'load or unload', 'waiting for unload', 'idle', 'repair', 'tripped: RF_FAULT', 'no data' ... */
  reason: z.string(),
  source: z.enum(BOUNDARY_SOURCES),
  run: z.nullable(z.string()),
});

/**
 * An alarm (or a notice) became active, returned to normal, was seen acknowledged or confirmed at the machine, or what keeps it from being
 * annunciated changed. `latched`: it has returned to normal, and the machine holds it until somebody resets it there; `reset`: that is over. `branched`: an earlier activation waits for an acknowledgement of its own. Reconnect replays are not activations.
 */
export const alarmEvent = z.object({
  ...base,
  kind: z.literal('alarm'),
  code: z.string(),
  text: z.string(),
  priority: z.enum(ALARM_PRIORITIES),
  /** Notices (finished, maintenance due) need no quick action and stay out of alarm rates. */
  notice: z.boolean(),
  change: z.enum(['activated', 'cleared', 'acknowledged', 'confirmed', 'suppression', 'latched', 'reset', 'branched', 'branch-ended']),
  /** False when it was found so at first sight: it stands, but nobody saw it begin, so it counts in no rate. */
  counted: z.boolean(),
  /** Shelved, suppressed or out of service at the time: journalled, not counted. */
  suppressed: z.boolean(),
  /** By what. Facts of an older program do not tell it: read them with `suppressionsOf`. */
  suppressedAs: z.optional(z.array(z.enum(SUPPRESSIONS))),
  /** When a timed shelving ends; null for one-shot shelving, which ends when the alarm clears. */
  shelvedUntil: z.optional(z.nullable(at)),
  /** Of a clearing: the machine holds it until a reset. Absent: it does not, or does not tell. */
  latched: z.optional(z.literal(true)),
  /** The earlier activation that this is about, where it is not about the last one. */
  of: z.optional(at),
});
export type AlarmEvent = z.infer<typeof alarmEvent>;

/** A process check worth a person's eye: a purge too short after fluorinated gas, a vent with the pump valve open. */
const findingEvent = z.object({
  ...base,
  kind: z.literal('finding'),
  code: z.enum(['purge-short', 'vent-with-pump-valve-open', 'gas-with-door-open', 'phase-tag-mismatch']),
  text: z.string(),
  run: z.nullable(z.string()),
});

/** What proves a run, made at its end from the same readings: `at` is the run's end. `digest` is over the run's fact and this record. */
const runRecordEvent = z.object({
  ...base,
  kind: z.literal('run-record'),
  run: z.string(),
  record: runRecord,
  digest: z.string(),
});

/**
 * A person says why: from `at` to `to` the chamber's time counts as told. It lies over the observed facts and hides none of them; a later entry
 * lies over an earlier one. `to` null: until the observed state that held when it was entered ends.
 */
export const reasonEvent = z.object({
  ...base,
  kind: z.literal('reason'),
  entry: z.string(),
  to: z.nullable(at),
  state: z.enum(TOLD_STATES),
  reason: z.string(),
  note: z.string(),
  by: z.string(),
  enteredAt: at,
  /** What kind of downtime the reason stands for, kept as it was meant then; null for a reason that is none of them. */
  downtime: z.nullable(z.enum(DOWNTIME_KINDS)),
  /** What maintenance worked on: baselines and counters that hang on it begin anew at the end of the entry. */
  workedOn: z.array(z.enum(WORKED_ON)),
});
export type ReasonEvent = z.infer<typeof reasonEvent>;

/** Takes a reason entry back; both stay in the books. `at` is when it was taken back. */
const reasonWithdrawnEvent = z.object({ ...base, kind: z.literal('reason-withdrawn'), entry: z.string(), by: z.string() });

export const chamberEvent = z.discriminatedUnion('kind', [
  phaseEvent,
  runStartedEvent,
  runEndedEvent,
  equipmentStateEvent,
  alarmEvent,
  findingEvent,
  runRecordEvent,
  reasonEvent,
  reasonWithdrawnEvent,
]);
export type ChamberEvent = z.infer<typeof chamberEvent>;
export type EventKind = ChamberEvent['kind'];
export type EventOf<K extends EventKind> = Extract<ChamberEvent, { kind: K }>;

/** An event with its place in the store's order. */
export type StoredEvent = ChamberEvent & { readonly seq: number };

/** [EV1] The identity of an event. */
export function eventId(event: ChamberEvent): string {
  return `${event.chamber}|${event.kind}|${event.at}|${eventKey(event)}`;
}

function eventKey(event: ChamberEvent): string {
  switch (event.kind) {
    case 'phase':
      return `${event.phase}/${event.step ?? ''}`;
    case 'run-started':
    case 'run-ended':
    case 'run-record':
      return event.run;
    case 'equipment-state':
      return `${event.state}/${event.reason}`;
    case 'alarm':
      return [event.code, event.change, ...(event.change === 'suppression' ? (event.suppressedAs ?? []) : []), event.of ?? []]
        .flat()
        .join('/');
    case 'finding':
      return event.code;
    case 'reason':
    case 'reason-withdrawn':
      return event.entry;
  }
}
