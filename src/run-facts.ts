/**
 * The record that proves a run, as a fact: what was set and what was measured in each stretch, the figures made of them, what deviated, and the
 * alarms meanwhile. Made once, when the run ends; SI inside. Null means not known, never zero.
 */
import * as z from 'zod/mini';
import { ALARM_PRIORITIES, PHASES } from './equipment.ts';

const at = z.int();
const number = z.nullable(z.number());
const ms = z.nullable(z.int());

/** One quantity over one stretch: time-weighted over what was observed of it once it had settled, so not over the ramp after a change. */
const measuredQuantity = z.object({
  /** Such as `gas.1.flow`. */
  signal: z.string(),
  /** Null where the chamber has none, or nobody told it. */
  setPoint: number,
  mean: number,
  min: number,
  max: number,
  /** Time outside the band around the set point, once it had time to settle; null without a set point. */
  outOfBandMs: ms,
  /** Observed part of the whole stretch. */
  knownMs: z.int(),
});
export type MeasuredQuantity = z.infer<typeof measuredQuantity>;

const recordStretch = z.object({
  phase: z.enum(PHASES),
  step: z.nullable(z.int()),
  from: at,
  to: at,
  quantities: z.array(measuredQuantity),
});
export type RecordStretch = z.infer<typeof recordStretch>;

export const DEVIATIONS = [
  'flow-out-of-band',
  'power-out-of-band',
  'energy-low',
  'energy-high',
  'step-short',
  'reflected-high',
  'ignition-slow',
  'rf-dropouts',
  'gas-not-stable',
  'base-not-reached',
  'purge-short',
  'not-fully-observed',
] as const;
export type DeviationCode = (typeof DEVIATIONS)[number];
export const deviation = z.object({ code: z.enum(DEVIATIONS), text: z.string(), step: z.nullable(z.int()) });
export type Deviation = z.infer<typeof deviation>;

const gasTotal = z.object({
  line: z.int(),
  kind: z.string(),
  /** Null when a hole refused the total; `knownMol` is what was seen. */
  mol: number,
  knownMol: z.number(),
});

export const runRecord = z.object({
  /** Of the rules by which it was made: grows when they change. */
  rules: z.int(),
  stretches: z.array(recordStretch),
  /** Forward minus reflected power over plasma, J, at the generator: not etch, no verdict. */
  energyJ: number,
  energyKnownJ: z.number(),
  /** Set point times plasma time, J. */
  nominalEnergyJ: number,
  /** Reflected over forward energy, in plasma after its first seconds; and as a standing wave ratio. */
  reflectedFraction: number,
  vswr: number,
  /** From the call for RF until plasma burned. */
  ignitionDelayMs: ms,
  /** Gas on until RF on, and whether every flow was in its band by then. */
  stabilisationMs: ms,
  stableBeforeRf: z.nullable(z.boolean()),
  rfDropouts: z.nullable(z.int()),
  pumpDown: z.object({ firstMs: ms, middleMs: ms, tailMs: ms, totalMs: ms }),
  basePressurePa: number,
  /** Median of the longest plasma step, after its first seconds. */
  plasmaPressurePa: number,
  purgeMs: ms,
  ventMs: ms,
  /** Pa/s, of a leak test. */
  rateOfRisePaPerS: number,
  gases: z.array(gasTotal),
  /** What a flow controller showed with its valve shut, and its mean error in plasma; shares of full scale. */
  flowZero: z.array(z.object({ line: z.int(), share: z.number() })),
  flowError: z.array(z.object({ line: z.int(), share: z.number() })),
  deviations: z.array(deviation),
  alarms: z.array(z.object({ code: z.string(), text: z.string(), priority: z.enum(ALARM_PRIORITIES), at })),
  /** Observed part of the run, 0..1. */
  coverage: z.number(),
  /** The chamber's own counts at the end of this run, since it was first watched. Unobserved time is in `unobservedMs` and in no other count. */
  counts: z.object({ pumpMs: z.int(), rfMs: z.int(), runs: z.int(), unobservedMs: z.int() }),
  /** The machine's own meters as last told by then, raw (`meter.*`; hours in s): they are cleared, set and wrap. Null where it has none. */
  meters: z.object({ pumpS: number, rfS: number, cycles: number }),
});
export type RunRecord = z.infer<typeof runRecord>;
