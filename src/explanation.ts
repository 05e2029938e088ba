/**
 * The shape of an explanation: how one number came about, down to the stretches of time and the runs that it was made of.
 * value = scale x numerator / denominator; without a denominator the numerator itself; of a percentile, what lies between two of its values.
 */
import * as z from 'zod/mini';
import { EQUIPMENT_STATES } from './equipment.ts';

const maybe = z.nullable(z.number());
export const UNITS = ['share', 'ms', 'count', 'cycles', 'per 10 min'] as const;

/** One ingredient, already summed over what has the same name. */
export const ingredient = z.object({
  label: z.string(),
  state: z.nullable(z.enum(EQUIPMENT_STATES)),
  /** In the unit of its term. */
  amount: z.number(),
  /** Stretches, runs or stops that it sums. */
  count: z.int(),
});
export type Ingredient = z.infer<typeof ingredient>;

export const term = z.object({ words: z.string(), unit: z.enum(['ms', 'count']), amount: z.number(), parts: z.array(ingredient) });
export type Term = z.infer<typeof term>;

/** A stretch, a run, a stop or a moment that went in; `counts` says as what. `from` to `to` leads to the chamber's page at that time. */
export const evidence = z.object({
  chamber: z.string(),
  from: z.int(),
  to: z.int(),
  state: z.nullable(z.enum(EQUIPMENT_STATES)),
  text: z.string(),
  counts: z.string(),
  run: z.nullable(z.string()),
  /** What it adds: ms, or 1. */
  amount: z.number(),
});
export type Evidence = z.infer<typeof evidence>;

export const explanation = z.object({
  /** As it is asked for: 'operational-utilization', 'loss/standby/idle'. */
  number: z.string(),
  words: z.string(),
  chamber: z.nullable(z.string()),
  from: z.int(),
  to: z.int(),
  unit: z.enum(UNITS),
  value: maybe,
  low: maybe,
  high: maybe,
  /** What the bounds are of: 'unobserved time', '90 % confidence'. */
  bounds: z.nullable(z.string()),
  coverage: maybe,
  formula: z.string(),
  /** The formula with its figures. */
  worked: z.string(),
  base: z.nullable(z.string()),
  source: z.string(),
  scale: z.number(),
  numerator: term,
  denominator: z.nullable(term),
  /** Of a percentile: NIST type 6, position p(n+1) between two values of n. */
  percentile: z.nullable(z.object({ p: z.number(), n: z.int(), position: z.number(), below: z.number(), above: z.number() })),
  excluded: z.array(z.object({ label: z.string(), ms: z.int(), why: z.string() })),
  /** Newest first; one page of them. */
  madeOf: z.array(evidence),
  madeOfTotal: z.int(),
});
export type Explanation = z.infer<typeof explanation>;

/** What an explainer finds; the frame around it is the same for all. `madeOf` is whole and in any order. */
export type Draft = Omit<Explanation, 'number' | 'chamber' | 'from' | 'to' | 'worked' | 'madeOfTotal' | 'percentile'> &
  Partial<Pick<Explanation, 'percentile'>>;

export const NO_BOUNDS = { low: null, high: null, bounds: null };
