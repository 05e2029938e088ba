/**
 * Who is told of an alert, by which route, and when. Values in, outbox rows out; what is put together into one message is alert-turn.ts.
 * [PL1] An alert that opens or closes has one message per route and stage. Its id is made of alert, route and stage: the same commit again
 *       changes nothing.
 * [PL2] Outside the shifts in which a rule is told, it goes to the routes named for that time, else it waits for the begin of the next such
 *       shift. Where none begins within two weeks it is told at once: late is better than never, and early better than lost.
 * [PL3] A muted alert is not told. Its message stays in the outbox with the reason, and leaves when the mute is over while the alert is
 *       still open and nobody acknowledged it.
 * [PL4] An alert that a wider one tells as well is not told on its own, also when it became part of it while its message was waiting.
 * [PL5] While it is open and nobody acknowledged or took it, it is told again every so many minutes after it was first due, and once a day
 *       after the first day; of several that were missed only the last. What is still on its way is not repeated.
 * [PL6] Nobody acknowledged or took it in time after it was first due: it goes to the routes of the escalation, whatever the shift. Those
 *       hear of the end as well.
 * [PL7] What is due is judged once more when it leaves: a repeat or an escalation of what somebody acknowledged meanwhile, or that is over,
 *       and an end whose beginning was not told by that route, are spared, with the reason.
 * [PL8] That a route gave up messages is not told by that route: it would only give up one more.
 */
import { isMuteOn, muteOf, type Mute } from './alert-mute.ts';
import { shiftsBetween, type Calendar } from './calendar.ts';
import type { Alert, Delivery } from './contract.ts';
import { DAY_MS, MINUTE_MS } from './zone.ts';

/** As in the site file, with nothing left open. */
export type TellPlan = {
  /** Names of routes. */
  readonly to: readonly string[];
  readonly shifts: 'always' | readonly string[];
  /** Who is told outside these shifts; nobody: it waits. */
  readonly otherwise: readonly string[];
  readonly groupMin: number;
  readonly repeatMin: number | null;
  readonly escalate: { readonly afterMin: number; readonly to: readonly string[] } | null;
};

export type PlanMoment = {
  readonly tell: TellPlan;
  readonly mutes: readonly Mute[];
  readonly calendar: Calendar;
  readonly now: number;
};

const SHIFT_SOUGHT_MS = 14 * DAY_MS;

export const deliveryId = (alert: string, route: string, stage: string): string => `${alert}|${route}|${stage}`;

/** [PL1] [PL2] [PL3] [PL4] The messages of an alert as it opened, or as it closed. */
export function plannedDeliveries(alert: Alert, moment: PlanMoment): Delivery[] {
  if (alert.partOf !== null) return [];
  const mute = muteOn(alert, moment);
  const spared = mute === null ? null : mutedBy(mute);
  const stage = alert.state === 'closed' ? 'closed' : 'opened';
  const due = stage === 'opened' ? openingRoutes(moment) : closingRoutes(moment);
  return due
    .filter(({ route }) => !isAbout(alert, route))
    .map(({ route, at }) => newDelivery({ alert: alert.id, route, stage, at, spared }));
}

/** [PL3] [PL5] [PL6] What has become due since: `deliveries` are all of this alert. Rows that are there already come back changed. */
export function followUps(alert: Alert, deliveries: readonly Delivery[], moment: PlanMoment): Delivery[] {
  if (alert.partOf !== null) return [];
  if (alert.state === 'closed') return endsOwed(alert, deliveries, moment);
  if (alert.acknowledgedBy !== null || alert.takenBy !== null || muteOn(alert, moment) !== null) return [];
  const revived = deliveries.filter(({ stage, state }) => stage === 'opened' && state === 'spared');
  const due = [
    ...revived.map((one): Delivery => ({ ...one, ...dueFrom(moment.now), state: 'waiting', lastError: null })),
    ...repeats(alert, deliveries, moment),
    ...escalations(alert, deliveries, moment),
  ];
  return due.filter(({ route }) => !isAbout(alert, route));
}

/** [PL8] The finding's subject (finding-gateway.ts) names the route. */
const isAbout = ({ kind, id }: Alert, route: string): boolean => kind === 'gateway' && id.startsWith(`gateway/messages ${route}/`);

/** `deliveries` are all of the alert. */
export type Leaving = Pick<PlanMoment, 'mutes' | 'now'> & { readonly deliveries: readonly Delivery[] };

/** [PL3] [PL7] Why this message need not leave any more, in a sentence; null when it must. */
export function sparedBecause(delivery: Delivery, alert: Alert, about: Leaving): string | null {
  if (delivery.attempts > 0) return null;
  const mute = muteOn(alert, about);
  if (mute !== null) return mutedBy(mute);
  if (alert.partOf !== null) return 'A wider alert tells it as well.';
  if (delivery.stage === 'closed' && !beginningWasTold(delivery, about.deliveries)) return 'Its beginning was not told by this route.';
  if (delivery.stage !== 'escalated' && !delivery.stage.startsWith('repeated-')) return null;
  if (alert.state === 'closed') return 'It was over before this was due.';
  if (alert.acknowledgedBy !== null) return `${alert.acknowledgedBy} acknowledged it before this was due.`;
  return alert.takenBy === null ? null : `${alert.takenBy} took it before this was due.`;
}

const muteOn = (alert: Alert, { mutes, now }: Pick<PlanMoment, 'mutes' | 'now'>): Mute | null =>
  muteOf(
    alert,
    mutes.filter((mute) => isMuteOn(mute, now)),
  );

type Due = { readonly route: string; readonly at: number };

/** [PL2] */
function openingRoutes({ tell, calendar, now }: PlanMoment): Due[] {
  const at = tellingTime(tell, calendar, now);
  if (at > now && tell.otherwise.length > 0) return tell.otherwise.map((route) => ({ route, at: now }));
  return tell.to.map((route) => ({ route, at }));
}

/** [PL7] All who may have heard of the beginning. */
function closingRoutes({ tell, calendar, now }: PlanMoment): Due[] {
  const at = tellingTime(tell, calendar, now);
  const others = tell.otherwise.filter((route) => !tell.to.includes(route));
  return [
    ...tell.to.map((route) => ({ route, at: tell.otherwise.includes(route) ? now : at })),
    ...others.map((route) => ({ route, at: now })),
  ];
}

/** [PL2] Now, inside a shift of the rule; else the begin of the next. */
function tellingTime({ shifts }: TellPlan, calendar: Calendar, now: number): number {
  if (shifts === 'always') return now;
  const isOurs = ({ name }: { readonly name: string }): boolean => shifts.includes(name);
  if (shiftsBetween(calendar, now, now + 1).some(isOurs)) return now;
  return shiftsBetween(calendar, now, now + SHIFT_SOUGHT_MS).find(isOurs)?.from ?? now;
}

/** [PL5] */
function repeats(alert: Alert, deliveries: readonly Delivery[], { tell, calendar, now }: PlanMoment): Delivery[] {
  if (tell.repeatMin === null) return [];
  const everyMs = tell.repeatMin * MINUTE_MS;
  return deliveries.flatMap((opening) => {
    if (opening.stage !== 'opened' || opening.state === 'spared') return [];
    const told = deliveries.filter(({ route, stage }) => route === opening.route && (stage === 'opened' || nthOf(stage) > 0));
    const nth = repeatsBy(now - firstDue(opening, alert), everyMs);
    if (nth < 1 || nth <= Math.max(...told.map(({ stage }) => nthOf(stage))) || told.some(isOnItsWay)) return [];
    return [newDelivery({ alert: alert.id, route: opening.route, stage: `repeated-${nth}`, at: tellingTime(tell, calendar, now) })];
  });
}

/** [PL5] How many repeats were due so long after the first message. */
function repeatsBy(elapsedMs: number, everyMs: number): number {
  const oftenMs = Math.min(elapsedMs, Math.max(DAY_MS, everyMs));
  return Math.floor(oftenMs / everyMs) + Math.floor((elapsedMs - oftenMs) / Math.max(DAY_MS, everyMs));
}

/** [PL6] */
function escalations(alert: Alert, deliveries: readonly Delivery[], { tell: { escalate }, now }: PlanMoment): Delivery[] {
  const openings = deliveries.filter(({ stage, state }) => stage === 'opened' && state !== 'spared');
  if (escalate === null || openings.length === 0) return [];
  const first = Math.min(...openings.map((opening) => firstDue(opening, alert)));
  if (now < first + escalate.afterMin * MINUTE_MS) return [];
  const known = new Set(deliveries.map(({ id }) => id));
  return escalate.to
    .map((route) => newDelivery({ alert: alert.id, route, stage: 'escalated', at: now }))
    .filter(({ id }) => !known.has(id));
}

/** [PL6] */
function endsOwed(alert: Alert, deliveries: readonly Delivery[], { now }: PlanMoment): Delivery[] {
  const known = new Set(deliveries.map(({ id }) => id));
  return deliveries
    .filter(({ stage, state }) => stage === 'escalated' && state !== 'spared')
    .map(({ route }) => newDelivery({ alert: alert.id, route, stage: 'closed', at: now }))
    .filter(({ id }) => !known.has(id));
}

const beginningWasTold = ({ route }: Delivery, deliveries: readonly Delivery[]): boolean =>
  deliveries.some((one) => one.route === route && one.state !== 'spared' && (one.stage === 'opened' || one.stage === 'escalated'));

const isOnItsWay = ({ state }: Delivery): boolean => state === 'waiting' || state === 'gathered';
const firstDue = ({ dueAt }: Delivery, { startedAt }: Alert): number => dueAt ?? startedAt;
const nthOf = (stage: string): number => Number(/^repeated-(\d+)$/.exec(stage)?.[1] ?? 0);
const mutedBy = ({ who }: Mute): string => `Muted by ${who}.`;
const dueFrom = (at: number) => ({ nextAt: at, dueAt: at });

type NewDelivery = {
  readonly alert: string;
  readonly route: string;
  readonly stage: string;
  readonly at: number;
  readonly spared?: string | null;
};

/** A message that nobody has tried to send yet. */
export function newDelivery({ alert, route, stage, at, spared = null }: NewDelivery): Delivery {
  return {
    id: deliveryId(alert, route, stage),
    alert,
    route,
    stage,
    state: spared === null ? 'waiting' : 'spared',
    attempts: 0,
    ...dueFrom(at),
    ...(spared === null ? {} : { nextAt: null }),
    deliveredAt: null,
    lastError: spared,
  };
}
