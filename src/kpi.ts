/**
 * The shapes of the figures that stand on failures, cycles and waiting: each with what it was divided from and by, its bounds and its rule, so
 * that none can be shown bare. Computed in reliability-numbers.ts, effectiveness.ts, waiting.ts, shift-loads.ts and throughput.ts.
 */
import * as z from 'zod/mini';

const ms = z.int();
const maybe = z.nullable(z.number());

/** Two-sided unless the figure says otherwise. */
export const CONFIDENCE = 0.9;

/** A mean of events with what their count says about it. Times in ms, cycles as a count. */
const meanFigure = z.object({
  /** 'MTBFp'. */
  name: z.string(),
  /** 'productive time per failure'. */
  words: z.string(),
  unit: z.enum(['ms', 'cycles']),
  /** Null where nothing happened: no failure is not an infinite time between failures. */
  estimate: maybe,
  low: maybe,
  high: maybe,
  confidence: z.number(),
  sides: z.enum(['two-sided', 'lower only']),
  /** What was divided, in `unit`, and by how many. */
  amount: z.number(),
  count: z.int(),
  rule: z.string(),
});
export type MeanFigure = z.infer<typeof meanFigure>;

const failureTrend = z.object({
  failures: z.int(),
  verdict: z.enum(['improving', 'worsening', 'no trend shown']),
  text: z.string(),
  /** `pImproving`: chance of a value so far to the improving side without any trend. */
  tests: z.array(z.object({ name: z.string(), statistic: z.number(), pImproving: z.number(), pWorsening: z.number() })),
  rule: z.string(),
});
export type FailureTrend = z.infer<typeof failureTrend>;

export const reliabilityNumbers = z.object({
  /** Unscheduled stops that began in the window. */
  failures: z.int(),
  failuresInProduction: z.int(),
  assists: z.int(),
  assistsInProduction: z.int(),
  /** Stops told as facilities or out-of-spec input: not the equipment's. */
  external: z.int(),
  /** Of the failures: their end or begin fell into time nobody observed, so their length is not known. */
  cut: z.int(),
  /** Of the failures: still going on at the end of the window. */
  open: z.int(),
  /** Runs that ended, whatever their outcome. */
  cycles: z.int(),
  /** Stretches of downtime, scheduled or not, that began in the window. */
  downtimeEvents: z.int(),
  /** Failures whose repair was seen from begin to end, and their hours without maintenance delay. */
  repairs: z.int(),
  repairMs: ms,
  delayMs: ms,
  mtbfProductive: meanFigure,
  mtbfUptime: meanFigure,
  cyclesBetweenFailures: meanFigure,
  mtbAssists: meanFigure,
  mttr: meanFigure,
  meanOffline: meanFigure,
  /** From four failures on. */
  trend: z.nullable(failureTrend),
  assistLimitMs: ms,
  rule: z.string(),
});
export type ReliabilityNumbers = z.infer<typeof reliabilityNumbers>;

/** OEE of one published base, as far as it is known: availability times performance. Good and bad are not counted here. */
export const effectiveness = z.object({
  name: z.literal('OEE without quality'),
  manner: z.enum(['SEMI E79', 'ISO 22400-2']),
  base: z.string(),
  baseMs: ms,
  value: maybe,
  low: maybe,
  high: maybe,
  coverage: maybe,
  factors: z.array(z.object({ name: z.string(), value: maybe, formula: z.string() })),
  quality: z.literal('not known'),
  /** Sum over loads of their recipe's nominal process time. */
  theoreticalMs: z.number(),
  rule: z.string(),
});
export type Effectiveness = z.infer<typeof effectiveness>;

/** One of the ISO 22400-2 set; `missing` says which input nobody tells, where there is no value. */
export const isoFigure = z.object({
  name: z.string(),
  value: maybe,
  unit: z.enum(['share', 'per hour']),
  formula: z.string(),
  missing: z.nullable(z.string()),
});
export type IsoFigure = z.infer<typeof isoFigure>;

export const WAITING_KINDS = ['for unload', 'for load', 'for operator', 'no work', 'other', 'cause unknown'] as const;
/** Standby by what was waited for; the parts sum to standby exactly. */
export const waitingPart = z.object({ kind: z.enum(WAITING_KINDS), reason: z.string(), waitMs: ms, occurrences: z.int() });
export type WaitingPart = z.infer<typeof waitingPart>;

export const waitSpread = z.object({ n: z.int(), p50: z.number(), p95: z.number(), sumMs: ms });
export type WaitSpread = z.infer<typeof waitSpread>;

/** Loads by the shift in which their run ended; `shift` null: outside every shift. */
export const shiftLoads = z.object({ shift: z.nullable(z.string()), shifts: z.int(), loads: z.int(), loadsPerShift: maybe });
export type ShiftLoads = z.infer<typeof shiftLoads>;

export const CYCLE_PARTS = [
  'load',
  'pump-down',
  'gas-stabilisation',
  'plasma',
  'purge',
  'vent',
  'hold',
  'wait-unload',
  'unload',
  'unload-and-load',
  'idle',
  'down',
  'other',
] as const;
export type CyclePartName = (typeof CYCLE_PARTS)[number];
/** What limits: the plasma itself, the rest of the machine's sequence, people, nothing to do, or a stop. */
export const LIMITS = ['plasma', 'sequence', 'people', 'idle', 'down', 'other'] as const;
export type Limit = (typeof LIMITS)[number];

const cyclePart = z.object({
  part: z.enum(CYCLE_PARTS),
  limit: z.enum(LIMITS),
  ms,
  /** Cycles that have this part at all. */
  cycles: z.int(),
  /** Loads a week that a minute less of it in every cycle would make room for, were there always work; and counted only in cycles that were followed without idling. */
  minuteLoadsPerWeek: maybe,
  minuteLoadsPerWeekBusy: maybe,
});
export type CyclePart = z.infer<typeof cyclePart>;

/** Whole cycles, door closed to door closed, taken apart; the parts sum to `cycleMs` exactly. */
export const throughput = z.object({
  /** Null: all recipes together. */
  recipe: z.nullable(z.string()),
  cycles: z.int(),
  /** Cycles that were followed by less than a minute of idling: demand was there. */
  busyCycles: z.int(),
  cycleMs: ms,
  parts: z.array(cyclePart),
  /** The largest part, and the largest kind of parts. */
  limiting: z.nullable(z.enum(CYCLE_PARTS)),
  limitedBy: z.nullable(z.enum(LIMITS)),
  rule: z.string(),
});
export type Throughput = z.infer<typeof throughput>;

/** A measured value beside a published target, of the alarms that one person sees. */
export const targetLine = z.object({
  /** Operator position. */
  position: z.string(),
  name: z.string(),
  value: maybe,
  target: z.number(),
  /** Most that is thought manageable, where the source names one. */
  most: maybe,
  unit: z.enum(['per day', 'per hour', 'per 10 min', 'share', 'count']),
  verdict: z.enum(['within target', 'above target', 'above manageable', 'not known']),
  rule: z.string(),
});
export type TargetLine = z.infer<typeof targetLine>;
