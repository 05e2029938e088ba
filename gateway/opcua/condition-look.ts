/**
 * One look at the conditions that an object tells: does it tell events at all, does it replay what stands, what do its events hold. Subscribes, asks
 * for one refresh and listens for a few seconds; nothing is written.
 */
import { AttributeIds, ClientSubscription, NodeId, TimestampsToReturn } from 'node-opcua';
import type { ClientSession, Variant } from 'node-opcua';
import { conditionFilter, fieldsFor, narrowed, type ConditionField, type FieldChoice } from './condition-filter.ts';
import { ConditionEvent } from './condition-word.ts';
import { REFRESH_END, REFRESH_START, refreshConditions } from './conditions.ts';

const LISTEN_MS = 4000;
/** The bit of the EventNotifier attribute that lets a client subscribe (OPC 10000-3, 8.59). */
const SUBSCRIBE = 1;

export type SeenCondition = {
  readonly name: string;
  readonly eventType: NodeId | null;
  readonly event: ConditionEvent;
  readonly message: string;
  readonly severity: number | null;
};
export type SeenNotifier = {
  /** Why no events can be had; null when they can. */
  readonly refused: string | null;
  readonly refreshRefused: string | null;
  /** Fields that the server said it does not know, though it may still fill some of them. */
  readonly unknownFields: readonly ConditionField[];
  /** By name, its last event. */
  readonly conditions: ReadonlyMap<string, SeenCondition>;
  /** Server's clock minus ours at the refresh; null where it does not bracket it. */
  readonly clockOffMs: number | null;
};

export async function lookAtNotifier(session: ClientSession, nodeId: string, now: () => number): Promise<SeenNotifier> {
  const refused = await eventsRefused(session, nodeId);
  const nothing = { refreshRefused: null, unknownFields: [], conditions: new Map<string, SeenCondition>(), clockOffMs: null };
  if (refused !== null) return { refused, ...nothing };
  const subscription = ClientSubscription.create(session, { requestedPublishingInterval: 250, publishingEnabled: true });
  try {
    return await listen(session, subscription, { nodeId, now });
  } finally {
    await subscription.terminate();
  }
}

async function eventsRefused(session: ClientSession, nodeId: string): Promise<string | null> {
  const { value, statusCode } = await session.read({ nodeId, attributeId: AttributeIds.EventNotifier });
  if (/NodeId(Unknown|Invalid)/.test(statusCode.name)) return 'no node';
  if (statusCode.isNotGood() || typeof value.value !== 'number') return 'no notifier';
  return (value.value & SUBSCRIBE) === 0 ? 'no notifier' : null;
}

const monitor = (subscription: ClientSubscription, nodeId: string, choice: FieldChoice) =>
  subscription.monitorItems(
    [{ nodeId, attributeId: AttributeIds.EventNotifier }],
    { samplingInterval: 0, queueSize: 1000, filter: conditionFilter(choice) },
    TimestampsToReturn.Both,
  );

type Notifier = { readonly nodeId: string; readonly now: () => number };

async function listen(session: ClientSession, subscription: ClientSubscription, { nodeId, now }: Notifier): Promise<SeenNotifier> {
  const asked = fieldsFor({ looks: true });
  let { choice, group } = { choice: asked, group: await monitor(subscription, nodeId, asked) };
  const [first] = group.monitoredItems;
  const fewer = first && narrowed(asked, [{ statusCode: first.statusCode, filterResult: first.result?.filterResult }]);
  if (fewer) {
    await group.terminate();
    choice = fewer;
    group = await monitor(subscription, nodeId, fewer);
  }
  const [item] = group.monitoredItems;
  const conditions = new Map<string, SeenCondition>();
  if (item === undefined || item.statusCode.isNotGood())
    return { refused: item?.statusCode.name ?? 'nothing', refreshRefused: null, unknownFields: [], conditions, clockOffMs: null };
  const ended = Promise.withResolvers<void>();
  let clockOffMs: number | null = null;
  group.on('changed', (_item, fields) => {
    const seen = conditionOf(fields as unknown as readonly Variant[], choice.fields);
    if (seen.event.standardType === REFRESH_START) clockOffMs = seen.event.msOf('Time') === 0 ? null : seen.event.msOf('Time') - now();
    else if (seen.event.standardType === REFRESH_END) ended.resolve();
    else if (seen.name !== '') conditions.set(seen.name, seen);
  });
  const refreshRefused = await refreshConditions(session, subscription.subscriptionId);
  const late = setTimeout(() => ended.resolve(), LISTEN_MS);
  if (refreshRefused === null) await ended.promise;
  clearTimeout(late);
  return {
    refused: null,
    refreshRefused,
    unknownFields: [...asked.fields.filter((field) => !choice.fields.includes(field)), ...choice.typed],
    conditions,
    clockOffMs,
  };
}

function conditionOf(values: readonly Variant[], fields: readonly ConditionField[]): SeenCondition {
  const event = new ConditionEvent(values, fields);
  const type = event.get('EventType');
  const message = event.get('Message') as { text?: string | null } | null | undefined;
  const severity = event.get('Severity');
  return {
    name: event.branch === null ? (event.name ?? '') : '',
    eventType: type instanceof NodeId ? type : null,
    event,
    message: message?.text?.trim() ?? '',
    severity: typeof severity === 'number' ? severity : null,
  };
}
