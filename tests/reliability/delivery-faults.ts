/**
 * What must be true of messages after any number of kills, once the last life had the time to send what was due:
 * - every alert that is told on its own reached each of its receivers, and its end did too;
 * - what the outbox calls delivered was acknowledged by its receiver, alone or inside the digest that it names, and tells of that alert;
 * - nothing was sent that is not in the outbox: what is told was committed before;
 * - copies of a message carry its key and tell of the same alerts, and there are no more than kills can explain.
 */
import { messageId } from '../../gateway/alerts/smtp.ts';
import { headerText } from '../../gateway/alerts/webhook.ts';
import type { Alert, Delivery } from '../../src/contract.ts';
import type { Heard } from './bad-receivers.ts';
import type { Outbox } from './outbox-faults.ts';
import { FROM, ROUTES, type RouteName } from './victim-site.ts';

export type DeliveryCount = {
  readonly messages: number;
  readonly digests: number;
  readonly spared: number;
  /** Heard more than once. */
  readonly doubles: number;
  /** Heard but not acknowledged: the receiver failed after it had read. */
  readonly halfHeard: number;
  readonly faults: readonly string[];
};

type Lives = { readonly until: number; readonly kills: number };

/** `until`: what was due by then was to arrive. */
export function deliveryCount({ alerts, deliveries }: Outbox, heard: readonly Heard[], { until, kills }: Lives): DeliveryCount {
  const copies = Map.groupBy(heard, ({ key }) => key);
  return {
    messages: copies.size,
    digests: deliveries.filter(({ covers }) => covers !== undefined).length,
    spared: deliveries.filter(({ state }) => state === 'spared').length,
    doubles: heard.length - copies.size,
    halfHeard: heard.filter(({ acknowledged }) => !acknowledged).length,
    faults: [
      ...owedFaults(alerts, deliveries, until),
      ...deliveries.flatMap((one) => receiptFaults(one, deliveries, copies)),
      ...strangerFaults(deliveries, copies),
      ...[...copies.values()].flatMap((same) => copyFaults(same, kills)),
    ],
  };
}

/** Every alert by each route: its beginning, its end, and nothing due left waiting. */
function owedFaults(alerts: readonly Alert[], deliveries: readonly Delivery[], until: number): string[] {
  const byId = new Map(deliveries.map((one) => [one.id, one]));
  const owed = alerts
    .filter(({ partOf }) => partOf === null)
    .flatMap(({ id, state }) =>
      (['hook', 'mail'] as const).flatMap((route) => [`${id}|${route}|opened`, ...(state === 'closed' ? [`${id}|${route}|closed`] : [])]),
    );
  const lost = owed.filter((id) => !byId.has(id)).map((id) => `no message of ${id}`);
  const late = deliveries.filter(({ state, dueAt = 0 }) => (state === 'waiting' || state === 'gathered') && dueAt <= until);
  const dead = deliveries.filter(({ state }) => state === 'dead');
  return [
    ...lost,
    ...late.map(({ id, state, lastError }) => `still ${state}: ${id} ${lastError ?? ''}`),
    ...dead.map(({ id }) => `dead: ${id}`),
  ];
}

function receiptFaults(one: Delivery, deliveries: readonly Delivery[], copies: ReadonlyMap<string, readonly Heard[]>): string[] {
  if (one.state !== 'delivered') return [];
  const left = one.digest === undefined ? one : deliveries.find(({ id }) => id === one.digest);
  if (left === undefined) return [`its digest is gone: ${one.id}`];
  const receipts = (copies.get(keyOf(left)) ?? []).filter(({ acknowledged }) => acknowledged);
  // An end that was over before its beginning got through was told with it.
  const settled = one.stage === 'closed' && receipts.length === 0 && deliveries.some((two) => isBeginning(one, two));
  if (settled) return [];
  if (receipts.length === 0) return [`called delivered, but nobody acknowledged it: ${one.id}`];
  const isTold = receipts.some((heard) => heard.by === 'mail' || heard.tells.split('\n').includes(one.alert));
  return isTold ? [] : [`its message tells of other alerts: ${one.id}`];
}

const isBeginning = (end: Delivery, other: Delivery): boolean =>
  other.alert === end.alert &&
  other.route === end.route &&
  other.stage === 'opened' &&
  other.state === 'delivered' &&
  other.deliveredAt === end.deliveredAt;

function strangerFaults(deliveries: readonly Delivery[], copies: ReadonlyMap<string, unknown>): string[] {
  const known = new Set(deliveries.map(keyOf));
  return [...copies.keys()].filter((key) => !known.has(key)).map((key) => `told, but not in the outbox: ${key}`);
}

/** A mail's subject counts alarms, which go on; a webhook names its alerts. */
function copyFaults(copies: readonly Heard[], kills: number): string[] {
  const tells = new Set(copies.filter(({ by }) => by === 'webhook').map((one) => one.tells));
  const taken = copies.filter(({ acknowledged }) => acknowledged).length;
  return [
    ...(tells.size > 1 ? [`copies of ${copies[0]?.key} tell of different alerts`] : []),
    ...(taken > kills + 1 ? [`taken ${taken} times, though killed ${kills} times: ${copies[0]?.key}`] : []),
  ];
}

const keyOf = ({ id, route }: Delivery): string => (ROUTES[route as RouteName] === 'mail' ? messageId(id, FROM) : headerText(id));
