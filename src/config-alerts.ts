/**
 * The part of the site file that says what becomes an alert, who is told and how. Defaults are those that an engineer may leave alone: together
 * they keep to a handful of alerts a day for a healthy hall (docs/alerts.md has the measured count).
 */
import * as z from 'zod';
import type { AlertKind } from './contract.ts';
import { ALARM_PRIORITIES } from './equipment.ts';
import { DEVIATIONS } from './run-facts.ts';

const name = z.string().trim().min(1).max(80);
const minutes = z
  .number()
  .positive()
  .max(7 * 24 * 60);

/** Who is told of an alert, when and how. What a rule leaves out is taken from `alerts.tell`. */
export const tell = z.strictObject({
  /** Names of `alerts.routes`; without it all of them. */
  to: z.array(name).optional(),
  /** Names of shifts in which it is told; outside them it waits for the next, or `otherwise` says who is told instead. Left out: low severity waits for the day shift. */
  shifts: z.union([z.literal('always'), z.array(name).min(1)], 'always, or a list of shift names').optional(),
  otherwise: z.array(name).min(1).optional(),
  /** Alerts of one kind within so many minutes leave as one message. */
  groupMin: minutes.optional(),
  /** Told again every so many minutes while it is open and nobody acknowledged it; without it every 30 where its severity is high. */
  repeatMin: z.union([minutes, z.literal('never')], 'a number of minutes, or never').optional(),
  /** Told to others when nobody acknowledged it in time. */
  escalate: z.strictObject({ afterMin: minutes, to: z.array(name).min(1) }).optional(),
});
export type Tell = z.infer<typeof tell>;

const rule = <Shape extends z.ZodRawShape>(severity: (typeof ALARM_PRIORITIES)[number], thresholds: Shape) =>
  z
    .strictObject({
      on: z.boolean().default(true),
      severity: z.enum(ALARM_PRIORITIES).default(severity),
      ...thresholds,
      tell: tell.default({}),
    })
    .prefault({} as never);

/** Deviations of a run that a person should hear of; the others stand in its record. */
const TOLD_DEVIATIONS = ['purge-short', 'energy-low', 'step-short', 'flow-out-of-band', 'power-out-of-band', 'reflected-high'] as const;

/** By kind of alert; each field's number is the rule's. */
export const alertRules = z.strictObject({
  burst: rule('medium', {}),
  flood: rule('high', {}),
  'common-cause': rule('high', {
    /** Of one kind on so many chambers within so many seconds. */
    chambers: z.int().min(2).max(1000).default(3),
    withinS: z.number().positive().max(3600).default(60),
  }),
  chattering: rule('low', {
    times: z.int().min(2).max(100).default(3),
    withinS: z.number().positive().max(3600).default(60),
    /** The slow chatterer: so often in an hour, each for a short time. */
    timesPerHour: z.int().min(2).max(1000).default(10),
    activeUnderS: z.number().positive().max(600).default(10),
  }),
  stale: rule('low', { longerThanH: z.number().positive().max(10_000).default(24) }),
  down: rule('medium', {
    /** While nobody works on it. */
    longerThanMin: minutes.default(30),
    /** Altogether, also while maintenance is at it. */
    repairLongerThanMin: minutes.default(240),
  }),
  waiting: rule('low', { longerThanMin: minutes.default(30) }),
  'no-data': rule('medium', { longerThanMin: minutes.default(5) }),
  drift: rule('medium', {}),
  'process-check': rule('medium', { deviations: z.array(z.enum(DEVIATIONS)).default([...TOLD_DEVIATIONS]) }),
  'meter-due': rule('low', { daysAhead: z.number().nonnegative().max(365).default(3) }),
  certificate: rule('medium', { daysAhead: z.number().positive().max(365).default(30) }),
  gateway: rule('high', {
    diskFreePercent: z.number().positive().max(50).default(5),
    storeSlowS: z.number().positive().max(600).default(5),
  }),
} satisfies Record<AlertKind, z.ZodType>);
export type AlertRules = z.infer<typeof alertRules>;
