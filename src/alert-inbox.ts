/** The inbox on the wire: an alert with all that belongs to it, its evidence, and what a person may send. */
import * as z from 'zod/mini';
import { alertAct } from './alert-act.ts';
import { mute } from './alert-mute.ts';
import { ALERT_KINDS, alertWithDeliveries } from './contract.ts';
import { ALARM_PRIORITIES, EQUIPMENT_STATES } from './equipment.ts';

const at = z.int();
const personName = z.string().check(z.trim(), z.minLength(1), z.maxLength(80));
const words = (most: number) => z.string().check(z.trim(), z.minLength(1), z.maxLength(most));

/** `mute`: the one by which nobody is told of it now. Acts oldest first. */
export const inboxAlert = z.extend(alertWithDeliveries, { acts: z.array(alertAct), mute: z.nullable(mute) });
export type InboxAlert = z.infer<typeof inboxAlert>;

export const byPerson = z.object({ by: personName });
/** `from`: who has it now, where it is taken over. */
export const takeAlert = z.object({ by: personName, from: z.optional(personName) });
export const commentAlert = z.object({ by: personName, text: words(1000) });
/** `alert`: the one at which it is made. */
export const muteAlerts = z.object({
  kind: z.nullable(z.enum(ALERT_KINDS)),
  chamber: z.nullable(z.string().check(z.maxLength(64))),
  /** Of one about several chambers: only where they share this, as the alert names it. */
  shared: z._default(z.nullable(z.string().check(z.minLength(1), z.maxLength(300))), null),
  until: at,
  why: words(300),
  by: personName,
  alert: z.optional(z.string().check(z.maxLength(200))),
});

/** One activation of the minutes around the alert, `isFirst` where it began the episode. */
const evidenceAlarm = z.object({
  chamber: z.string(),
  code: z.string(),
  text: z.string(),
  priority: z.enum(ALARM_PRIORITIES),
  notice: z.boolean(),
  at,
  clearedAt: z.nullable(at),
  isFirst: z.boolean(),
});
export type EvidenceAlarm = z.infer<typeof evidenceAlarm>;

export const LIKENESSES = ['same first alarm here', 'same kind here', 'same first alarm elsewhere'] as const;
const similarAlert = z.object({
  id: z.string(),
  kind: z.enum(ALERT_KINDS),
  chamber: z.nullable(z.string()),
  headline: z.string(),
  startedAt: at,
  closedAt: at,
  likeness: z.enum(LIKENESSES),
  /** What persons said of it. */
  comments: z.array(alertAct),
  /** Reasons told of the chamber's time then. */
  told: z.array(z.object({ at, state: z.string(), reason: z.string(), note: z.string(), by: z.string() })),
  /** The downtime that came with it or soon after, null where there was none. */
  followed: z.nullable(z.object({ state: z.enum(EQUIPMENT_STATES), reason: z.string(), from: at, to: at })),
  /** Runs that did not complete meanwhile. */
  lostRuns: z.int(),
});
export type SimilarAlert = z.infer<typeof similarAlert>;

export const alertEvidence = z.object({
  /** Around the moment: what is drawn. */
  from: at,
  to: at,
  /** Whose signals are drawn, null for an alert about no chamber. */
  chamber: z.nullable(z.string()),
  /** Oldest first. */
  alarms: z.array(evidenceAlarm),
  /** How many alarms came later than those listed. */
  moreAlarms: z.int(),
  /** Nearest first. */
  similar: z.array(similarAlert),
  /** What changed at the chamber in the days before, newest first. */
  before: z.array(z.object({ at, what: z.enum(['maintenance', 'recipe']), text: z.string() })),
});
export type AlertEvidence = z.infer<typeof alertEvidence>;
