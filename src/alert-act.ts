/**
 * What persons do about an alert, and what the alert is afterwards. An act is a fact: it is added, never changed.
 * [IB1] The first who acknowledges an alert is who acknowledged it: a second time is a conflict that names the first.
 * [IB2] Who takes an alert has seen it: it is acknowledged in the same breath, unless somebody did so before.
 * [IB3] One person works on an alert. Whoever takes it from another names the other, so that nobody takes what just changed hands.
 * [IB4] Only what is taken can be given back, by anybody: who has it may have gone home. It stays acknowledged.
 * [IB5] Comments and mutes change nothing of the alert.
 * [IB6] The same comment by the same person within ten seconds is a second click, not a second comment.
 */
import * as z from 'zod/mini';
import type { Alert } from './contract.ts';
import { Fault } from './fault.ts';

const ALERT_DEEDS = ['acknowledged', 'taken', 'given back', 'commented', 'muted', 'unmuted'] as const;
export type AlertDeed = (typeof ALERT_DEEDS)[number];

export const alertAct = z.object({
  id: z.int(),
  alert: z.string(),
  at: z.int(),
  who: z.string(),
  deed: z.enum(ALERT_DEEDS),
  /** The comment; of a mute why; of a taking from another that other's name. Else empty. */
  text: z.string(),
});
export type AlertAct = z.infer<typeof alertAct>;
export type NewAct = Omit<AlertAct, 'id'>;

/** What acts change of an alert; the rules that update it know nothing of this. */
export type Hands = Pick<Alert, 'acknowledgedAt' | 'acknowledgedBy' | 'takenAt' | 'takenBy'>;
export const NO_HANDS: Hands = { acknowledgedAt: null, acknowledgedBy: null, takenAt: null, takenBy: null };

const SECOND_CLICK_MS = 10_000;

/** In whose hands the alert is after the act; fails `conflict` with a sentence. */
export function handsAfter(hands: Hands, act: NewAct): Hands {
  switch (act.deed) {
    case 'acknowledged':
      return acknowledged(hands, act);
    case 'taken':
      return taken(hands, act);
    case 'given back':
      if (hands.takenBy === null) throw new Fault('conflict', 'Nobody has taken this alert, so there is nothing to give back.');
      return { ...hands, takenAt: null, takenBy: null };
    case 'commented':
    case 'muted':
    case 'unmuted':
      return hands;
  }
}

/** [IB1] */
function acknowledged(hands: Hands, { at, who }: NewAct): Hands {
  if (hands.acknowledgedBy !== null) throw new Fault('conflict', `${hands.acknowledgedBy} acknowledged this alert already.`);
  return { ...hands, acknowledgedAt: at, acknowledgedBy: who };
}

/** [IB2] [IB3] */
function taken(hands: Hands, { at, who, text }: NewAct): Hands {
  if (hands.takenBy === who) throw new Fault('conflict', `${who} has taken this alert already.`);
  if ((hands.takenBy ?? '') !== text) throw new Fault('conflict', changedHands(hands.takenBy, text));
  const seen = hands.acknowledgedAt === null ? { acknowledgedAt: at, acknowledgedBy: who } : {};
  return { ...hands, ...seen, takenAt: at, takenBy: who };
}

const changedHands = (has: string | null, named: string): string =>
  has === null
    ? `${named} no longer has this alert. Take it without a name.`
    : `${has} has taken this alert. Take it over from ${has}, or let them give it back.`;

/** [IB6] The comment of which an act is the second click. `speed` is plant time per real time. */
export function firstComment(act: NewAct, known: readonly AlertAct[], speed: number): AlertAct | undefined {
  return known.findLast(
    ({ alert, deed, who, text, at }) =>
      deed === 'commented' && alert === act.alert && who === act.who && text === act.text && act.at - at < SECOND_CLICK_MS * speed,
  );
}
