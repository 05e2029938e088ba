/**
 * What leaves next by one route, and what is put together into one message.
 * [TU1] A test, and whatever was tried before, goes on under its own key: it is never put into another message.
 * [TU2] An escalation leaves at once and alone.
 * [TU3] The first alert of a kind leaves at once. Those of the same kind that come within the grouping time after a message wait until it is
 *       over, and leave as one digest.
 * [TU4] More than three messages waiting at once, of whatever kind (a morning's first, or after an outage), leave as one digest.
 * [TU5] A route that sent its number of messages within the hour sends digests of all that waits, one every five minutes: never silence.
 * [TU6] What says beginning and end of one alert counts as one and leaves alone; its sender settles the end.
 * [TU8] What failed three times lets everything else go first: one message that its receiver cannot take holds up no other.
 * [TU7] A digest tells at most a hundred alerts; the others are in the next.
 */
import type { Delivery } from './contract.ts';
import { HOUR_MS, MINUTE_MS } from './zone.ts';

export const DIGEST_EVERY_MS = 5 * MINUTE_MS;
export const MOST_AT_ONCE = 3;
const MOST_IN_DIGEST = 100;
/** [TU8] */
const STUBBORN = 3;

export type RouteLine = {
  /** Waiting and due, of this route. */
  readonly due: readonly Delivery[];
  /** Messages that were delivered within the last hour, without those that left inside a digest. */
  readonly sent: readonly Delivery[];
  /** Messages an hour. */
  readonly perHour: number;
  readonly groupMs: (kind: string) => number;
  readonly now: number;
};

/** null: nothing leaves now. */
export type Turn =
  { readonly type: 'send'; readonly delivery: Delivery } | { readonly type: 'gather'; readonly deliveries: readonly Delivery[] } | null;

/** An alert's id begins with its kind. */
export const kindOf = (alert: string): string => alert.slice(0, Math.max(0, alert.indexOf('/')));

export function nextTurn(line: RouteLine): Turn {
  const inTurn = line.due.toSorted(byTurn);
  const [own, fresh] = [inTurn.filter(isOnItsOwn), inTurn.filter((one) => !isOnItsOwn(one))];
  const atOnce = own.find(({ stage }) => stage === 'test') ?? own.find(({ attempts }) => attempts < STUBBORN);
  if (atOnce !== undefined) return { type: 'send', delivery: atOnce };
  const turn = isOverLimit(line) ? limited(line, fresh) : grouped(line, fresh);
  const [stubborn] = own;
  return turn ?? (stubborn === undefined ? null : { type: 'send', delivery: stubborn });
}

/** [TU1] [TU2] */
const isOnItsOwn = ({ attempts, stage }: Delivery): boolean => attempts > 0 || stage === 'test' || stage === 'escalated' || isDigest(stage);

/** [TU5] */
const isOverLimit = ({ sent, perHour, now }: RouteLine): boolean =>
  sent.filter(({ deliveredAt }) => (deliveredAt ?? 0) > now - HOUR_MS).length >= perHour;

/** [TU5] */
function limited({ sent, now }: RouteLine, inTurn: readonly Delivery[]): Turn {
  const lastAt = Math.max(-Infinity, ...sent.map(({ deliveredAt }) => deliveredAt ?? -Infinity));
  return inTurn.length === 0 || now < lastAt + DIGEST_EVERY_MS ? null : together(inTurn);
}

/** [TU3] [TU4] */
function grouped({ sent, groupMs, now }: RouteLine, inTurn: readonly Delivery[]): Turn {
  const lastAt = new Map<string, number>();
  for (const one of sent)
    for (const kind of kindsOf(one)) lastAt.set(kind, Math.max(lastAt.get(kind) ?? -Infinity, one.deliveredAt ?? -Infinity));
  const ready = inTurn.filter(({ alert }) => now >= (lastAt.get(kindOf(alert)) ?? -Infinity) + groupMs(kindOf(alert)));
  const [first] = ready;
  if (first === undefined) return null;
  if (new Set(ready.map(({ alert }) => alert)).size > MOST_AT_ONCE) return together(ready);
  return together(ready.filter(({ alert }) => kindOf(alert) === kindOf(first.alert)));
}

/** [TU6] [TU7] */
function together(deliveries: readonly Delivery[]): Turn {
  const alerts = [...new Set(deliveries.map(({ alert }) => alert))].slice(0, MOST_IN_DIGEST);
  if (alerts.length === 1) return { type: 'send', delivery: deliveries[0] as Delivery };
  return { type: 'gather', deliveries: deliveries.filter(({ alert }) => alerts.includes(alert)) };
}

/** The message that tells them all, and they themselves, now part of it. */
export function gathered(deliveries: readonly Delivery[], now: number): { readonly digest: Delivery; readonly parts: readonly Delivery[] } {
  const first = deliveries[0] as Delivery;
  const stage = `digest-${new Date(now).toISOString()}`;
  const id = `${first.alert}|${first.route}|${stage}`;
  const dueAt = Math.min(...deliveries.map((one) => one.dueAt ?? now));
  return {
    digest: { ...first, id, stage, state: 'waiting', attempts: 0, nextAt: now, dueAt, covers: deliveries.map((one) => one.id) },
    parts: deliveries.map((one) => ({ ...one, state: 'gathered', nextAt: null, digest: id })),
  };
}

export const isDigest = (stage: string): boolean => stage.startsWith('digest-');

/** A digest's kinds are those of the messages in it: their ids begin with their alerts'. */
const kindsOf = ({ alert, covers }: Delivery): readonly string[] => (covers ?? [alert]).map(kindOf);

/** What was due first; an opening before its closing. */
const byTurn = (a: Delivery, b: Delivery): number =>
  (a.nextAt ?? 0) - (b.nextAt ?? 0) || rank(a.stage) - rank(b.stage) || (a.id < b.id ? -1 : 1);
const rank = (stage: string): number => (stage === 'opened' ? 0 : stage === 'closed' ? 2 : 1);
