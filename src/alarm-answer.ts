/** The shapes of the alarm journal and of the alarm statistics as pages and API get them. */
import * as z from 'zod/mini';
import { alarmRow } from './contract.ts';
import { ALARM_PRIORITIES, SUPPRESSIONS } from './equipment.ts';
import { targetLine } from './kpi.ts';

const at = z.int();
const ms = z.int();
const maybe = z.nullable(z.number());

/**
 * Letters in the manner of ISA-18.2; `B/C` stands, `E/F` is latched, and the machine tells no acknowledgement. E and F are latched: returned to normal,
 * held until a reset. G shelved, H suppressed by design, I out of service.
 */
export const ALARM_STATES = ['A', 'B', 'C', 'D', 'B/C', 'E', 'F', 'E/F', 'G', 'H', 'I'] as const;
export type AlarmState = (typeof ALARM_STATES)[number];
const ACKNOWLEDGEMENTS = ['acknowledged', 'awaited', 'never', 'not told'] as const;
const CONFIRMATIONS = ['confirmed', 'awaited', 'never', 'not told'] as const;

/** An activation and what became of it. */
export const journalRow = z.extend(alarmRow, {
  seq: z.int(),
  state: z.enum(ALARM_STATES),
  /** What kept it from being annunciated when it was activated. */
  suppressedAs: z.array(z.enum(SUPPRESSIONS)),
  /** From activation to clearing; null while it stands. */
  standingMs: z.nullable(ms),
  acknowledgement: z.enum(ACKNOWLEDGEMENTS),
  acknowledgedAt: z.nullable(at),
  /** From activation to acknowledgement; null where there is none, or none is told. */
  acknowledgeMs: z.nullable(ms),
  confirmation: z.enum(CONFIRMATIONS),
  confirmedAt: z.nullable(at),
  /** When somebody reset it at the machine, which held it latched; null where it was not, or that was not told. */
  resetAt: z.nullable(at),
  /** The machine keeps it as a branch: it waited for an acknowledgement of its own after the alarm came again. */
  branch: z.boolean(),
  /** The alarm that began the episode, null when this one came alone or is a repeat. */
  firstOut: z.nullable(z.object({ code: z.string(), text: z.string(), at, isThis: z.boolean() })),
});
export type JournalRow = z.infer<typeof journalRow>;

export const JOURNAL_KINDS = [
  'all',
  'alarms',
  'counted',
  'standing',
  'latched',
  'suppressed',
  'shelved',
  'by design',
  'out of service',
  'notices',
  'found standing',
] as const;
export type JournalKind = (typeof JOURNAL_KINDS)[number];

const delaySetting = z.object({
  kind: z.enum(['on-delay', 'off-delay']),
  ms,
  /** Alarms that would have been left, and activations that would not have been told. */
  left: z.int(),
  removed: z.int(),
  /** Of those left: how many would have been told later, by `ms` each. */
  delayed: z.int(),
});
export type DelaySetting = z.infer<typeof delaySetting>;

export const delayAdvice = z.object({
  activations: z.int(),
  settings: z.array(delaySetting),
  offDelay: z.nullable(delaySetting),
  onDelay: z.nullable(delaySetting),
  text: z.string(),
});
export type DelayAdvice = z.infer<typeof delayAdvice>;

export const bout = z.object({ from: at, to: at, activations: z.int() });

export const badActor = z.object({
  chamber: z.string(),
  code: z.string(),
  text: z.string(),
  priority: z.enum(ALARM_PRIORITIES),
  activations: z.int(),
  /** Of all activations, 0..1. */
  share: z.number(),
  standingMs: ms,
  /** Of the activations that were seen from begin to end. */
  medianActiveMs: maybe,
  fleeting: z.int(),
  chatter: z.object({
    /** Times that three came within less than a minute. */
    hits: z.int(),
    /** Ten or more in an hour, active for less than ten seconds each (median). */
    slow: z.boolean(),
    /** Mean of 1/run length, per second; null with no run. */
    index: maybe,
    byIndex: z.boolean(),
  }),
  /** When it was busy, the busiest first. */
  bouts: z.array(bout),
  advice: z.nullable(delayAdvice),
});
export type BadActor = z.infer<typeof badActor>;

const alarmFlood = z.object({
  from: at,
  to: at,
  /** Most in trailing ten minutes, and all while it lasted, those that led to it included. */
  peak: z.int(),
  activations: z.int(),
  startedBefore: z.boolean(),
  goesOn: z.boolean(),
  first: z.nullable(z.object({ chamber: z.string(), code: z.string(), text: z.string(), at })),
  top: z.array(z.object({ chamber: z.string(), code: z.string(), text: z.string(), count: z.int() })),
});
export type AlarmFlood = z.infer<typeof alarmFlood>;

/** An alarm that was kept from being annunciated. */
const alarmSuppressed = z.object({
  chamber: z.string(),
  code: z.string(),
  text: z.string(),
  as: z.enum(SUPPRESSIONS),
  /** May lie before the window. */
  from: at,
  /** Null while it holds. */
  to: z.nullable(at),
  /** End of a timed shelving. */
  until: z.nullable(at),
  beginSeen: z.boolean(),
  /** Within the window and observed. */
  ms,
  /** Activations meanwhile, counted in no rate. */
  activations: z.int(),
});
export type AlarmSuppressed = z.infer<typeof alarmSuppressed>;

const suppressionLoad = z.object({
  as: z.enum(SUPPRESSIONS),
  alarms: z.int(),
  times: z.int(),
  /** Alarm time: of all alarms together, within the window and observed. */
  ms,
  activations: z.int(),
  /** How many hold at the end of the window. */
  atEnd: z.int(),
});
export type SuppressionLoad = z.infer<typeof suppressionLoad>;

/** Per period of ten minutes or an hour; null where nobody observed anything. */
export const alarmCounts = z.object({ from: at, periodMs: ms, counts: z.array(z.nullable(z.int())) });
export type AlarmCounts = z.infer<typeof alarmCounts>;

/** The alarms of one operator position or one chamber over the window. */
export const alarmLoad = z.object({
  name: z.string(),
  kind: z.enum(['position', 'chamber']),
  chambers: z.array(z.string()),
  /** Mean of the chambers, and its part of the window. */
  observedMs: z.number(),
  coverage: maybe,
  activations: z.int(),
  /** Journalled, not counted. */
  notices: z.int(),
  suppressed: z.int(),
  foundStanding: z.int(),
  /** By what alarms were kept from being annunciated: shelved, by design, out of service, not told which. */
  suppressions: z.array(suppressionLoad),
  suppressedAlarms: z.array(alarmSuppressed),
  peakAt: z.nullable(at),
  lines: z.array(targetLine),
  mix: z.array(z.object({ priority: z.enum(ALARM_PRIORITIES), activations: z.int(), share: maybe, target: z.number() })),
  /** How bunched the alarms came. */
  bunching: z.object({
    /** Variance over mean of fixed ten-minute counts; 1 where each comes by itself. */
    dispersion: maybe,
    /** Share of periods above ten to expect of this mean if each came by itself, and if as bunched as these. */
    aboveTenAlone: maybe,
    aboveTenBunched: maybe,
  }),
  counts: alarmCounts,
  floods: z.array(alarmFlood),
  stale: z.array(z.object({ chamber: z.string(), code: z.string(), text: z.string(), since: at, observedMs: ms, stands: z.boolean() })),
  worst: z.array(badActor),
});
export type AlarmLoad = z.infer<typeof alarmLoad>;

export const alarmStatistics = z.object({ from: at, to: at, positions: z.array(alarmLoad), chambers: z.array(alarmLoad) });
export type AlarmStatistics = z.infer<typeof alarmStatistics>;
