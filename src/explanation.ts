/**
 * The shape of an explanation: how one number came about, down to the stretches of time and the runs that it was made of.
 * value = scale x numerator / denominator; without a denominator the numerator itself; of a percentile, what lies between two of its values. What
 * was measured and not divided (a lowest pressure, a stored mean) has no numerator: its formula says how, `madeOf` over what.
 */
import * as z from 'zod/mini';
import { EQUIPMENT_STATES } from './equipment.ts';

const maybe = z.nullable(z.number());
/** Times in ms unless they say s, physical quantities in SI. */
export const UNITS = [
  'share',
  'ms',
  's',
  'count',
  'cycles',
  'per 10 min',
  'per hour',
  'per day',
  'J',
  'Pa',
  'Pa/s',
  'mol',
  'mol/s',
  'W',
  'ratio',
] as const;
export type AmountUnit = (typeof UNITS)[number];

/** One ingredient, already summed over what has the same name. */
const ingredient = z.object({
  label: z.string(),
  state: z.nullable(z.enum(EQUIPMENT_STATES)),
  /** In the unit of its term. */
  amount: z.number(),
  /** Stretches, runs or stops that it sums. */
  count: z.int(),
});
export type Ingredient = z.infer<typeof ingredient>;

export const term = z.object({ words: z.string(), unit: z.enum(UNITS), amount: z.number(), parts: z.array(ingredient) });
export type Term = z.infer<typeof term>;

/** A stretch, a run, a stop or a moment that went in; `counts` says as what. `from` to `to` leads to the chamber's page at that time. */
export const evidence = z.object({
  /** Null: the whole fleet over an ISO week, which `text` names. */
  chamber: z.nullable(z.string()),
  from: z.int(),
  to: z.int(),
  state: z.nullable(z.enum(EQUIPMENT_STATES)),
  text: z.string(),
  counts: z.string(),
  run: z.nullable(z.string()),
  /** What it adds, or what it measured, in `madeOfUnit`; null where it is shown and adds nothing. */
  amount: maybe,
});
export type Evidence = z.infer<typeof evidence>;

export const explanation = z.object({
  /** As it is asked for: 'operational-utilization', 'loss/standby/idle'. */
  number: z.string(),
  words: z.string(),
  chamber: z.nullable(z.string()),
  /** The run whose number it is; null for one of a window. */
  run: z.nullable(z.string()),
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
  numerator: z.nullable(term),
  denominator: z.nullable(term),
  /** Of a percentile: NIST type 6, position p(n+1) between two values of n. */
  percentile: z.nullable(z.object({ p: z.number(), n: z.int(), position: z.number(), below: z.number(), above: z.number() })),
  /** What was left out and why; `ms` null where how much is not known. */
  excluded: z.array(z.object({ label: z.string(), ms: z.nullable(z.int()), why: z.string() })),
  /** Of `madeOf`. */
  madeOfUnit: z.enum(UNITS),
  /** Newest first; one page of them. */
  madeOf: z.array(evidence),
  madeOfTotal: z.int(),
  /** Numbers to be opened beside it, by the same scope. */
  also: z.array(z.object({ number: z.string(), words: z.string() })),
  /** The site's units, in which pages show Pa and mol/s. */
  units: z.object({ pressure: z.string(), flow: z.string() }),
});
export type Explanation = z.infer<typeof explanation>;

type Framed = 'number' | 'chamber' | 'run' | 'from' | 'to' | 'madeOfTotal' | 'units';
type Implied = 'worked' | 'percentile' | 'madeOfUnit' | 'also';
/** What an explainer finds; the frame around it is the same for all. `madeOf` is whole and in any order. */
export type Draft = Omit<Explanation, Framed | Implied> & Partial<Pick<Explanation, Implied>>;

export const NO_BOUNDS = { low: null, high: null, bounds: null };
/** A number that is its numerator: no bounds, no base, nothing left out. */
export const PLAIN = { ...NO_BOUNDS, coverage: null, base: null, scale: 1, denominator: null, excluded: [] };
