/**
 * Evidence for an alert: which signals and minutes to look at, which episodes before were like it, what followed them.
 * [AE1] Looked at is half an hour: ten minutes before the alert began and twenty after, or the last half hour while less has passed.
 * [AE2] Similar are episodes that were over before this one began: of the same kind about the same chamber (or the same position, where it
 *       is about none), and those elsewhere whose first alarm was the same. What is part of a wider alert is told by that one.
 * [AE3] Nearest first: the same first alarm here, the same kind here, the same first alarm elsewhere; newest first in each; six at most.
 * [AE4] What followed is the first downtime that touches the time from its begin to two hours after its end; nobody's word is no downtime.
 * [AE5] A run that ended between begin and two hours after its end and did not complete counts as lost with it.
 * [AE6] Drawn is the pressure always, gas flow and RF power where an alarm names them, a utility where one names it; where none names any,
 *       pressure and RF power.
 * [AE7] A recipe is news where it had not been run at that chamber in the week before. Runs without a recipe say nothing.
 * [AE9] What grew over days (drift, a meter, a certificate) or lies in the gateway has no moment: neither half an hour nor alarms belong to it.
 * [AE8] What is drawn follows from the first alarm and the two that came most often: of twenty kinds of alarm each would name something else.
 */
import { LIKENESSES } from './alert-inbox.ts';
import type { Span } from './calendar.ts';
import type { Alert, AlertKind, StateInterval } from './contract.ts';
import type { RunEnded } from './event.ts';
import type { SignalName } from './signal.ts';
import { DAY_MS, HOUR_MS, MINUTE_MS } from './zone.ts';

type Likeness = (typeof LIKENESSES)[number];
export type Like = { readonly alert: Alert & { readonly closedAt: number }; readonly likeness: Likeness };

export const EVIDENCE_MS = 30 * MINUTE_MS;
const AFTER_MS = 20 * MINUTE_MS;
export const AFTERMATH_MS = 2 * HOUR_MS;
const MOST = 6;

const WITHOUT_MOMENT: readonly AlertKind[] = ['drift', 'meter-due', 'certificate', 'gateway'];

/** [AE9] */
export const hasMoment = (kind: AlertKind): boolean => !WITHOUT_MOMENT.includes(kind);

/** [AE1] */
export function evidenceSpan({ startedAt }: Pick<Alert, 'startedAt'>, now: number): Span {
  const to = Math.min(startedAt + AFTER_MS, now);
  return { from: to - EVIDENCE_MS, to };
}

/** [AE2] [AE3] */
export function similarAlerts(alert: Alert, before: readonly Alert[]): readonly Like[] {
  const likes = before.flatMap((one): Like[] => {
    const likeness = one.id === alert.id ? null : likenessOf(alert, one);
    return likeness === null || !isOver(one, alert.startedAt) ? [] : [{ alert: one, likeness }];
  });
  const rank = ({ likeness }: Like): number => LIKENESSES.indexOf(likeness);
  return likes.sort((a, b) => rank(a) - rank(b) || b.alert.startedAt - a.alert.startedAt).slice(0, MOST);
}

const isOver = (one: Alert, by: number): one is Like['alert'] => one.closedAt !== null && one.closedAt <= by && one.partOf === null;

function likenessOf(alert: Alert, one: Alert): Likeness | null {
  const isHere = one.chamber === alert.chamber && one.position === alert.position;
  const first = alert.alarms?.firstOut?.code;
  const isSameFirst = first !== undefined && one.alarms?.firstOut?.code === first;
  if (isHere && isSameFirst) return 'same first alarm here';
  if (isHere && one.kind === alert.kind) return 'same kind here';
  return isSameFirst ? 'same first alarm elsewhere' : null;
}

/** [AE4] From the chamber's intervals, in order. */
export function followed({ startedAt, closedAt }: Like['alert'], intervals: readonly StateInterval[]): StateInterval | null {
  const isDown = ({ state }: StateInterval): boolean => state === 'unscheduled-downtime' || state === 'scheduled-downtime';
  return intervals.find((one) => isDown(one) && one.to > startedAt && one.from < closedAt + AFTERMATH_MS) ?? null;
}

/** [AE5] */
export function lostRuns({ startedAt, closedAt }: Like['alert'], runs: readonly Pick<RunEnded, 'at' | 'outcome'>[]): number {
  return runs.filter(({ at, outcome }) => outcome !== 'completed' && at >= startedAt && at < closedAt + AFTERMATH_MS).length;
}

const UTILITIES: readonly (readonly [RegExp, SignalName])[] = [
  [/WATER|COOL|CHILL/, 'utility.waterFlow'],
  [/(^|_)(CDA|AIR)(_|$)/, 'utility.compressedAirPressure'],
  [/(^|_)(N2|NITROGEN)(_|$)/, 'utility.nitrogenPressure'],
];

const FLOW = /FLOW|GAS|MFC/;
const POWER = /(^|_)(RF|REFL|ARC|MATCH)(_|$)|IGNIT|POWER/;

export type Drawn = { readonly flow: boolean; readonly power: boolean; readonly utility: SignalName | null };

/** [AE6] */
export function drawnFor(alarms: readonly { readonly code: string }[]): Drawn {
  const named = alarms.map(({ code }) => ({ code, utility: UTILITIES.find(([words]) => words.test(code))?.[1] ?? null }));
  const own = named.filter(({ utility }) => utility === null);
  const flow = own.some(({ code }) => FLOW.test(code));
  const utility = named.find((one) => one.utility !== null)?.utility ?? null;
  return { flow, power: own.some(({ code }) => POWER.test(code)) || (!flow && utility === null), utility };
}

type Run = Pick<RunEnded, 'startedAt' | 'recipe'>;
export const RECIPE_MEMORY_MS = 7 * DAY_MS;

/** [AE7] From runs newest first, which reach a week further back than `from`: what was run for the first time since then. */
export function newRecipes(runs: readonly Run[], from: number): readonly { readonly at: number; readonly recipe: string }[] {
  return runs.flatMap(({ startedAt, recipe }, i) => {
    if (recipe === null || startedAt < from) return [];
    const isKnown = runs.slice(i + 1).some((run) => run.recipe === recipe && run.startedAt >= startedAt - RECIPE_MEMORY_MS);
    return isKnown ? [] : [{ at: startedAt, recipe }];
  });
}

type Alarmed = { readonly code: string; readonly notice: boolean; readonly isFirst: boolean };

/** [AE8] */
export function tellingAlarms<A extends Alarmed>(alarms: readonly A[]): readonly A[] {
  const counted = alarms.filter(({ notice }) => !notice);
  const first = counted.find(({ isFirst }) => isFirst) ?? counted[0];
  const often = [...Map.groupBy(counted, ({ code }) => code).values()].sort((a, b) => b.length - a.length);
  const others = often.flatMap(([one]) => (one === undefined || one.code === first?.code ? [] : [one])).slice(0, 2);
  return first === undefined ? [] : [first, ...others];
}
