/**
 * One subscription of a session and its items, by sampling class. Items are created in batches the server can take (a refused batch leaves
 * ghosts behind), each status is checked, values come from the raw notification in one piece, messages in their order.
 */
import {
  AttributeIds,
  ClientSubscription,
  DataChangeNotification,
  EventNotificationList,
  RepublishRequest,
  StatusCodes,
  TimestampsToReturn,
} from 'node-opcua';
import type {
  ClientMonitoredItemBase,
  ClientMonitoredItemGroup,
  ClientSession,
  ClientSessionPublishService,
  MonitoringParametersOptions,
  NotificationMessage,
  Variant,
} from 'node-opcua';
import type { Sampling } from '../../src/tag-map.ts';
import type { ItemAnswer } from './condition-filter.ts';
import { InOrder } from './in-order.ts';
import type { TagValue } from './intake.ts';

const KEEP_ALIVE_COUNT = 10;
/** Longer than the session's time-out, so that a healed session finds its subscriptions and their queues. */
const LIFE_MS = 130_000;
const OUTAGE_MS = 60_000;
const MOST_QUEUED = 3000;
/** In one keep-alive period, where one is due. */
const MOST_EMPTY = 50;

export type LineName = Sampling | 'events';
/** Real milliseconds between publishing, and between samples. */
export type Pace = { readonly publishMs: number; readonly sampleMs: number; readonly queue: number };

const USUAL: Record<LineName, number> = { fast: 250, normal: 1000, slow: 5000, events: 250 };
const HURRIED: Record<LineName, number> = { fast: 100, normal: 250, slow: 250, events: 100 };

/** In plant time that runs faster than real time a server must not thin out its values, and has more of them in a minute. */
export function paceOf(name: LineName, speed: number): Pace {
  const queueOf = (line: LineName): number => Math.ceil(OUTAGE_MS / USUAL[line]);
  if (speed <= 1) return { publishMs: USUAL[name], sampleMs: USUAL[name], queue: queueOf(name) };
  // Every change is told, so a slow line has as many to keep as a fast one.
  return { publishMs: HURRIED[name], sampleMs: 0, queue: Math.min(MOST_QUEUED, queueOf('fast') * Math.ceil(Math.min(speed, 10))) };
}

export type LineEvents = {
  /** Values of one message; empty for a keep-alive. */
  readonly values: (line: Line, values: readonly TagValue[], events: readonly EventFields[]) => void;
  /** Messages are missing and not to be had again: values are lost. */
  readonly gap: (line: Line) => void;
  /** The server forgot the subscription; it was created anew and what happened in between is lost. */
  readonly recreated: (line: Line) => void;
  /** The server answers so that the library never comes to an end: only a new session helps. */
  readonly stuck: (line: Line, reason: string) => void;
  /** A message could not be taken in: what it said is lost. */
  readonly spoilt: (line: Line, error: unknown) => void;
  readonly failed: (line: Line, error: unknown) => void;
};

export type EventFields = { readonly item: number; readonly fields: readonly Variant[] };
export type ItemFault = { readonly tag: number; readonly reason: string };

export class Line {
  readonly name: LineName;
  readonly pace: Pace;
  readonly #events: LineEvents;
  #subscription: ClientSubscription | null = null;
  /** Our number of an item, by the library's handle. */
  readonly #tagOf = new Map<number, number>();
  readonly #inOrder = new InOrder<NotificationMessage>({
    again: (sequenceNumber) => this.#again(sequenceNumber),
    deliver: (message) => this.#delivered(message),
    lost: () => this.#events.gap(this),
  });
  readonly #items = new Map<number, ClientMonitoredItemBase>();
  readonly #groups: ClientMonitoredItemGroup[] = [];
  #adding: number[] = [];
  #empty = { count: 0, sinceMs: 0 };

  constructor(name: LineName, speed: number, events: LineEvents) {
    this.name = name;
    this.pace = paceOf(name, speed);
    this.#events = events;
  }

  get keepAliveMs(): number {
    return this.#subscription
      ? this.#subscription.publishingInterval * this.#subscription.maxKeepAliveCount
      : this.pace.publishMs * KEEP_ALIVE_COUNT;
  }

  get subscriptionId(): number {
    return this.#subscription?.subscriptionId ?? 0;
  }

  async open(session: ClientSession): Promise<void> {
    const subscription = ClientSubscription.create(session, {
      requestedPublishingInterval: this.pace.publishMs,
      requestedMaxKeepAliveCount: KEEP_ALIVE_COUNT,
      requestedLifetimeCount: Math.max(3 * KEEP_ALIVE_COUNT, Math.ceil(LIFE_MS / this.pace.publishMs)),
      maxNotificationsPerPublish: 0,
      publishingEnabled: true,
      priority: this.name === 'slow' ? 1 : this.name === 'normal' ? 5 : 10,
    });
    this.#subscription = subscription;
    subscription.on('item_added', (item: ClientMonitoredItemBase) => this.#added(item));
    subscription.on('raw_notification', (message: NotificationMessage) => this.#notified(message));
    await new Promise<void>((resolve, reject) => {
      subscription.once('started', () => resolve());
      subscription.once('error', reject);
    });
    subscription.on('error', (error: Error) => this.#events.failed(this, error));
    subscription.on('internal_error', (error: Error) => this.#events.failed(this, error));
    subscription.on('subscriptionId_changed', () => {
      this.#inOrder.restart();
      this.#events.recreated(this);
    });
  }

  /** Adds value items in batches; afterwards `faults` knows the refused ones. */
  async addTags(tags: readonly { tag: number; nodeId: string }[], limit: number): Promise<void> {
    const wanted = tags.map(({ tag, nodeId }) => ({ tag, item: { nodeId, attributeId: AttributeIds.Value } }));
    const { sampleMs, queue } = this.pace;
    await this.#add(wanted, { samplingInterval: sampleMs, queueSize: queue, discardOldest: true }, limit);
  }

  /** Event items: `filter` is an event filter of the library. */
  async addNotifiers(
    notifiers: readonly { tag: number; nodeId: string }[],
    filter: NonNullable<MonitoringParametersOptions['filter']>,
    limit: number,
  ): Promise<void> {
    const wanted = notifiers.map(({ tag, nodeId }) => ({ tag, item: { nodeId, attributeId: AttributeIds.EventNotifier } }));
    await this.#add(wanted, { samplingInterval: 0, queueSize: 1000, discardOldest: true, filter }, limit);
  }

  async #add(
    wanted: readonly { tag: number; item: { nodeId: string; attributeId: number } }[],
    parameters: MonitoringParametersOptions,
    limit: number,
  ): Promise<void> {
    const subscription = this.#subscription;
    if (!subscription) return;
    for (let from = 0; from < wanted.length; from += limit) {
      const batch = wanted.slice(from, from + limit);
      this.#adding = batch.map(({ tag }) => tag);
      const group = await subscription.monitorItems(
        batch.map(({ item }) => item),
        parameters,
        TimestampsToReturn.Both,
      );
      if (this.name === 'events') this.#groups.push(group);
      else letGo(subscription, group);
    }
  }

  /** The library adds items in our order, before it asks the server: so no value can arrive under an unknown handle. */
  #added(item: ClientMonitoredItemBase): void {
    const tag = this.#adding.shift();
    if (tag === undefined) return;
    this.#tagOf.set(item.monitoringParameters.clientHandle, tag);
    this.#items.set(tag, item);
    // Values are taken from the message as a whole; the listener that the library's group sets per item would only cost time.
    setImmediate(() => item.removeAllListeners('changed'));
  }

  /** Items that the server does not serve. The library says nothing of those that failed after a reconnect: ask each. */
  faults(): readonly ItemFault[] {
    const faults: ItemFault[] = [];
    for (const [tag, item] of this.#items) {
      if (item.statusCode && item.statusCode.isNotGood()) faults.push({ tag, reason: item.statusCode.name });
    }
    return faults;
  }

  /** Forgets a refused item, so that it can be asked for again and leaves no ghost. */
  forget(tag: number): void {
    const item = this.#items.get(tag);
    this.#items.delete(tag);
    if (!item || !this.#subscription) return;
    const { clientHandle } = item.monitoringParameters;
    this.#tagOf.delete(clientHandle);
    delete this.#subscription.monitoredItems[clientHandle];
  }

  /** What each item said of its filter. */
  answers(): readonly ItemAnswer[] {
    return [...this.#items.values()].map(({ statusCode, result }) => ({ statusCode, filterResult: result?.filterResult }));
  }

  /** Takes all items away, here and at the server. */
  async clear(): Promise<void> {
    for (const group of this.#groups.splice(0)) await group.terminate();
    for (const tag of [...this.#items.keys()]) this.forget(tag);
  }

  /** Nothing is told any more. */
  end(): void {
    this.#inOrder.end();
  }

  async #again(retransmitSequenceNumber: number): Promise<NotificationMessage> {
    const session = this.#subscription?.session as unknown as ClientSessionPublishService;
    const request = new RepublishRequest({ subscriptionId: this.subscriptionId, retransmitSequenceNumber });
    return new Promise((resolve, reject) => {
      session.republish(request, (error, response) => {
        const status = response?.responseHeader.serviceResult;
        const message = response?.notificationMessage;
        // Some servers answer for a message that they do not have with Good and an empty one.
        if (!error && status === StatusCodes.Good && message?.sequenceNumber === retransmitSequenceNumber) resolve(message);
        else reject(error ?? new Error(status?.name ?? 'no answer'));
      });
    });
  }

  /** No number is 0 (OPC 10000-4 5.14.1): that is a server's answer for a message it does not have, and no word of a chamber. */
  #notified(message: NotificationMessage): void {
    if (this.#isFloodedBy(message)) this.#events.stuck(this, 'it answers for messages it no longer has with empty ones');
    if (message.sequenceNumber !== 0) this.#inOrder.take(message);
  }

  /** After a repair the library asks for lost messages until it is refused; empty answers keep it asking without end. */
  #isFloodedBy({ notificationData }: NotificationMessage): boolean {
    if ((notificationData?.length ?? 0) > 0) return false;
    const nowMs = performance.now();
    if (nowMs - this.#empty.sinceMs > this.keepAliveMs) this.#empty = { count: 0, sinceMs: nowMs };
    return ++this.#empty.count > MOST_EMPTY;
  }

  /** An exception in here would be swallowed by the library together with the message. */
  #delivered({ notificationData }: NotificationMessage): void {
    try {
      const parts = notificationData ?? [];
      this.#events.values(
        this,
        parts.flatMap((part) => this.#valuesOf(part)),
        parts.flatMap((part) => this.#eventsOf(part)),
      );
    } catch (error) {
      this.#events.spoilt(this, error);
    }
  }

  #valuesOf(part: unknown): TagValue[] {
    if (!(part instanceof DataChangeNotification)) return [];
    const values: TagValue[] = [];
    for (const { clientHandle, value } of part.monitoredItems ?? []) {
      const tag = this.#tagOf.get(clientHandle);
      if (tag !== undefined) values.push({ tag, value });
    }
    return values;
  }

  #eventsOf(part: unknown): EventFields[] {
    if (!(part instanceof EventNotificationList)) return [];
    return (part.events ?? []).flatMap(({ clientHandle, eventFields }) => {
      const item = this.#tagOf.get(clientHandle);
      return item === undefined ? [] : [{ item, fields: eventFields ?? [] }];
    });
  }
}

/** The library keeps every group with its items until the subscription ends, also those of items that were refused and asked for again. */
function letGo(subscription: ClientSubscription, group: ClientMonitoredItemGroup): void {
  (subscription as unknown as { _removeGroup(group: ClientMonitoredItemGroup): void })._removeGroup(group);
}
