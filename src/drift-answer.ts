/**
 * What the drift pages and their API say. Sizes are told in words by the gateway, in the units of the site, so that page, table, week and mail say
 * the same; the numbers beside them are SI, and `gain` turns them into the unit named.
 */
import * as z from 'zod/mini';
import { CHART_ROLES } from './drift-chart.ts';
import { WORKED_ON } from './equipment.ts';

const at = z.int();
const number = z.nullable(z.number());

const DRIFT_STATES = ['no-figure', 'learning', 'steady', 'odd-run', 'shifted'] as const;

const driftMeasure = z.object({
  name: z.string(),
  label: z.string(),
  symbol: z.string(),
  /** Shown value = SI × gain. */
  gain: z.number(),
  /** Whether it is one figure of the chamber, or one for each recipe. */
  scope: z.enum(['chamber', 'recipe']),
});
export type DriftMeasureLine = z.infer<typeof driftMeasure>;

/** One figure's verdict; of the chamber's worst where several recipes or gas lines have it. */
export const driftCell = z.object({
  name: z.string(),
  recipe: z.nullable(z.string()),
  line: z.nullable(z.int()),
  gas: z.nullable(z.string()),
  state: z.enum(DRIFT_STATES),
  /** Good runs seen of those needed, while learning. */
  learned: z.nullable(z.object({ runs: z.int(), needed: z.int() })),
  value: number,
  usual: number,
  sigma: number,
  /** Such as `+24 s (17 %)`; null unless something changed. */
  size: z.nullable(z.string()),
  sentence: z.nullable(z.string()),
  since: z.nullable(at),
  runsSince: z.nullable(z.int()),
});
export type DriftCell = z.infer<typeof driftCell>;

const driftCause = z.object({
  cause: z.string(),
  evidence: z.array(z.string()),
  against: z.array(z.string()),
  open: z.array(z.string()),
  firstCheck: z.string(),
});
export type DriftCause = z.infer<typeof driftCause>;

export const driftFleet = z.object({
  at,
  measures: z.array(driftMeasure),
  chambers: z.array(
    z.object({
      chamber: z.string(),
      recipes: z.array(z.string()),
      cells: z.array(driftCell),
      /** What the shifts point to first, and where to look; null when nothing shifted. */
      pointsTo: z.nullable(z.object({ recipe: z.string(), causes: z.array(driftCause) })),
    }),
  ),
  /** What no chart can see. */
  notCheckable: z.string(),
});
export type DriftFleet = z.infer<typeof driftFleet>;

const driftPoint = z.object({
  run: z.string(),
  at,
  value: number,
  role: z.enum(CHART_ROLES),
  level: number,
  reasons: z.array(z.string()),
});
export type DriftPoint = z.infer<typeof driftPoint>;

const driftChart = z.object({
  measure: driftMeasure,
  cell: driftCell,
  limits: z.nullable(
    z.object({
      usual: z.number(),
      sigma: z.number(),
      runs: z.int(),
      lower: z.number(),
      upper: z.number(),
      levelLower: z.number(),
      levelUpper: z.number(),
    }),
  ),
  /** Ascending in time; the newest only, of a long record. */
  points: z.array(driftPoint),
  /** Longer silences than this are drawn as gaps. */
  longestGapMs: z.int(),
});

/** Work on the chamber: told by a person, with its parts, or maintenance of which nobody said what was done. */
const maintenanceMark = z.object({ from: at, to: at, text: z.string(), parts: z.array(z.enum(WORKED_ON)), resets: z.boolean() });
export type MaintenanceMark = z.infer<typeof maintenanceMark>;

export const chamberDriftAnswer = z.object({
  at,
  chamber: z.string(),
  recipe: z.nullable(z.string()),
  recipes: z.array(z.string()),
  /** Every figure of this recipe and of the chamber. */
  cells: z.array(driftCell),
  measures: z.array(driftMeasure),
  chart: z.nullable(driftChart),
  causes: z.array(driftCause),
  /** The causes weigh what was known at this run, the last that showed the shift; null: now. */
  causesAsAt: z.nullable(at),
  marks: z.array(maintenanceMark),
  /** The same figure and recipe in chambers of the same template. */
  sisters: z.array(z.object({ chamber: z.string(), points: z.array(z.object({ at, value: z.number() })) })),
  notes: z.array(z.string()),
});
export type ChamberDriftAnswer = z.infer<typeof chamberDriftAnswer>;
