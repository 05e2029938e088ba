/**
 * The shapes of every number that a page shows: value, base, coverage and bounds together, so that none can be shown without the others.
 */
import * as z from 'zod/mini';
import { ALARM_PRIORITIES, EQUIPMENT_STATES, PHASES } from './equipment.ts';
import { effectiveness, isoFigure, reliabilityNumbers, shiftLoads, targetLine, throughput, waitingPart, waitSpread } from './kpi.ts';

const ms = z.int();

/** A count, null where nobody observed anything: nothing counted is not none. */
const seenCount = z.nullable(z.int());

/** Milliseconds in each of the seven states; they sum to the window (times chambers) exactly. */
export const stateTimes = z.record(z.enum(EQUIPMENT_STATES), ms);
export type StateTimes = z.infer<typeof stateTimes>;

/** A share of time. `value` is over observed time and null when coverage is under 80 %; `low`..`high` hold whatever unobserved time was. */
export const share = z.object({
  name: z.string(),
  /** 0..1, null when there is nothing to divide by or too little was observed. */
  value: z.nullable(z.number()),
  low: z.nullable(z.number()),
  high: z.nullable(z.number()),
  /** The denominator: 'total time', 'operations time'. */
  base: z.string(),
  baseMs: ms,
  /** Observed part of the base, 0..1. */
  coverage: z.nullable(z.number()),
  /** The rule it was computed by, with its source. */
  rule: z.string(),
});
export type Share = z.infer<typeof share>;

/** A spread of durations in ms; percentiles are NIST type 6. */
export const spread = z.object({ n: z.int(), p10: z.number(), p50: z.number(), p90: z.number() });
export type Spread = z.infer<typeof spread>;

export const recipeTimes = z.object({
  recipe: z.string(),
  runs: z.int(),
  /** Pump-down start to vent end. */
  processTime: z.nullable(spread),
  /** Door closed to door closed. */
  cycleTime: z.nullable(spread),
  /** Vented until the door opened, within scheduled and observed time. */
  waitForUnload: z.nullable(waitSpread),
  phases: z.array(z.object({ phase: z.enum(PHASES), step: z.nullable(z.int()), duration: spread })),
});
export type RecipeTimes = z.infer<typeof recipeTimes>;

export const loadCounts = z.object({
  /** Completed product runs: loads, counted where the run ended. */
  completed: z.int(),
  aborted: z.int(),
  interrupted: z.int(),
  notFullyObserved: z.int(),
  /** Conditioning, trials, leak tests. */
  engineering: z.int(),
});
export type LoadCounts = z.infer<typeof loadCounts>;

const worstAlarm = z.object({
  chamber: z.string(),
  code: z.string(),
  text: z.string(),
  priority: z.enum(ALARM_PRIORITIES),
  activations: z.int(),
  /** Of all activations in the window, 0..1. */
  share: z.number(),
  standingMs: ms,
  /** In the manner of ISA-18.2: three activations within a minute happened in the window. */
  chattering: z.boolean(),
});

export const alarmNumbers = z.object({
  activations: z.int(),
  /** Mean per 10 minutes of observed time, null when none was observed. */
  per10Min: z.nullable(z.number()),
  /** Most activations in any trailing 10 minutes, and when that was reached. */
  peak10Min: z.int(),
  peakAt: z.nullable(z.int()),
  /** Flood episodes: from above 10 until below 5 in the trailing 10 minutes. */
  floods: z.array(z.object({ from: z.int(), to: z.int(), peak: z.int() })),
  worst: z.array(worstAlarm),
});
export type AlarmNumbers = z.infer<typeof alarmNumbers>;

/** All that is computed for one chamber, or for the fleet (`chamber` null), over one window. */
export const windowNumbers = z.object({
  chamber: z.nullable(z.string()),
  chambers: z.int(),
  from: z.int(),
  to: z.int(),
  time: stateTimes,
  totalUtilization: share,
  operationalUtilization: share,
  totalUptime: share,
  operationalUptime: share,
  /** Uptime without the downtime that a person's reason says was not the equipment's (not its supplier's) doing. */
  equipmentDependentUptime: share,
  supplierDependentUptime: share,
  loads: loadCounts,
  recipes: z.array(recipeTimes),
  alarms: alarmNumbers,
  reliability: reliabilityNumbers,
  /** OEE by both bases. */
  oee: z.array(effectiveness),
  iso22400: z.array(isoFigure),
  /** Standby by what was waited for. */
  waiting: z.array(waitingPart),
  shiftLoads: z.array(shiftLoads),
  /** All recipes first, then each. */
  throughput: z.array(throughput),
});
export type WindowNumbers = z.infer<typeof windowNumbers>;

const seenLoads = z.object({
  completed: seenCount,
  aborted: seenCount,
  interrupted: seenCount,
  notFullyObserved: seenCount,
  engineering: seenCount,
});

/** The numbers of a window as they are told, made by `onlySeen` of seen.ts. `time` stays a partition: it sums to the window whatever was seen. */
export const seenNumbers = z.extend(windowNumbers, {
  loads: seenLoads,
  alarms: z.extend(alarmNumbers, { activations: seenCount, peak10Min: seenCount }),
  reliability: z.extend(reliabilityNumbers, {
    failures: seenCount,
    failuresInProduction: seenCount,
    assists: seenCount,
    assistsInProduction: seenCount,
    external: seenCount,
    cut: seenCount,
    open: seenCount,
    cycles: seenCount,
    downtimeEvents: seenCount,
    repairs: seenCount,
  }),
  shiftLoads: z.array(z.extend(shiftLoads, { loads: seenCount })),
});
export type SeenNumbers = z.infer<typeof seenNumbers>;

/** Where one more week would fall 99 times of 100: see week-headline.ts. */
export const usual = z.object({ low: z.number(), high: z.number(), median: z.number(), weeks: z.int() });
export type Usual = z.infer<typeof usual>;

/** Time lost to one cause, largest first. */
export const loss = z.object({
  cause: z.string(),
  state: z.enum(EQUIPMENT_STATES),
  lostMs: ms,
  /** What the time would have held at each chamber's own rate of loads in productive time; null where no load is on record. */
  loads: z.nullable(z.number()),
  occurrences: z.int(),
  chambers: z.array(z.object({ chamber: z.string(), lostMs: ms })),
  /** The reasons that the cause sums, largest first: 'repair: RF fault' and 'tripped: RF fault' are one cause. */
  parts: z.array(z.object({ reason: z.string(), lostMs: ms })),
});
export type Loss = z.infer<typeof loss>;

/** A loss beside what earlier weeks make usual, null while they are too few. */
const weekLoss = z.extend(loss, { usual: z.nullable(usual) });
export type WeekLoss = z.infer<typeof weekLoss>;

/** A measured quantity that drifts, in one sentence. */
const driftWarning = z.object({ chamber: z.string(), text: z.string(), since: z.int() });
export type DriftWarning = z.infer<typeof driftWarning>;

const unexplainedStops = z.array(z.object({ chamber: z.string(), from: z.int(), to: z.int(), reason: z.string() }));

/** Unscheduled downtime that nobody has given a reason for. */
export const unexplained = z.object({
  stops: seenCount,
  lostMs: z.nullable(ms),
  /** Of all unscheduled downtime of the window. */
  share: z.nullable(z.number()),
  longest: unexplainedStops,
  /** Chambers that have any. */
  byChamber: z.array(z.object({ chamber: z.string(), stops: z.int(), longest: unexplainedStops })),
});
export type Unexplained = z.infer<typeof unexplained>;

/** What people or recipes changed in the week. */
const weekChange = z.object({ at: z.int(), chamber: z.nullable(z.string()), text: z.string() });
export type WeekChange = z.infer<typeof weekChange>;

/** The manager's page as data. */
export const weekPage = z.object({
  /** ISO 8601, such as 2026-W48. */
  week: z.string(),
  from: z.int(),
  to: z.int(),
  /** 167, 168 or 169 in most zones. */
  hours: z.number(),
  zone: z.string(),
  /** False while the week still runs: numbers then reach to `countedTo`. */
  complete: z.boolean(),
  countedTo: z.int(),
  /** Plain sentences, most important first. */
  headline: z.array(z.string()),
  fleet: seenNumbers,
  chambers: z.array(seenNumbers),
  /** Up to 8 weeks before, oldest first; a week without any observed time has nulls. */
  previous: z.array(
    z.object({
      week: z.string(),
      totalUtilization: share,
      operationalUtilization: share,
      loads: seenLoads,
      alarmActivations: seenCount,
      time: stateTimes,
      failures: seenCount,
      assists: seenCount,
      losses: z.array(z.object({ cause: z.string(), state: z.enum(EQUIPMENT_STATES), lostMs: ms })),
      byChamber: z.array(z.object({ chamber: z.string(), operationalUtilization: share, loads: seenCount })),
      recipes: z.array(z.object({ recipe: z.string(), runs: z.int(), processTime: z.nullable(spread), cycleTime: z.nullable(spread) })),
    }),
  ),
  losses: z.array(weekLoss),
  alarmTargets: z.array(targetLine),
  drift: z.array(driftWarning),
  unexplained,
  changes: z.array(weekChange),
  previousWeek: z.string(),
  nextWeek: z.nullable(z.string()),
  generatedAt: z.int(),
});
export type WeekPage = z.infer<typeof weekPage>;
