/**
 * Takes messages from the outbox to their receivers. An outbox row was committed with the alert that caused it; a row is delivered when
 * the receiver said so and that is on disk. At least once: a crash between the two sends again, with the same key.
 * Each route has its own line, so a receiver that hangs holds back nobody but itself. Within a route messages leave one by one, oldest first.
 */
import type { Alert, Delivery } from '../../src/contract.ts';
import type { Clock } from '../clock.ts';
import type { AlertStore } from '../store/store.ts';
import type { Place } from './message.ts';
import { afterAttempt, type Outcome } from './retry.ts';
import { sendMail } from './mail.ts';
import { sendWebhook, type Sending } from './webhook.ts';

/** As in the site file. */
export type AlertRoute =
  | { readonly name: string; readonly type: 'webhook'; readonly url: string }
  | { readonly name: string; readonly type: 'mail'; readonly smtp: string; readonly from: string; readonly to: readonly string[] };

export type DeliveryParts = {
  readonly store: Pick<AlertStore, 'alerts' | 'deliveries' | 'saveDelivery'>;
  readonly routes: readonly AlertRoute[];
  readonly place: Place;
  readonly clock: Clock;
  /** 0..1 */
  readonly random: () => number;
  /** Signs webhooks; null sends them unsigned. */
  readonly secret: string | null;
  readonly log: (message: string, error?: unknown) => void;
  /** The store failed: the process must end, reopen and replay. */
  readonly onFatal: (error: unknown) => void;
  readonly send?: (route: AlertRoute, sending: Sending) => Promise<Outcome>;
  readonly pollMs?: number;
};

export type Delivering = {
  /** Looks at the outbox now: call it after a commit that raised an alert. */
  wake(): void;
  /** Resolves when no message is under way. */
  close(): Promise<void>;
};

const POLL_MS = 1_000;
const TIMEOUT_MS = 10_000;

export function openDelivery(parts: DeliveryParts): Delivering {
  const line = new RouteLines(parts);
  const timer = setInterval(() => line.look(), parts.pollMs ?? POLL_MS);
  line.look();
  return {
    wake: () => line.look(),
    close: async () => {
      clearInterval(timer);
      await line.stop();
    },
  };
}

class RouteLines {
  readonly #parts: DeliveryParts;
  readonly #busy = new Map<string, Promise<void>>();
  #looking: Promise<void> | null = null;
  /** Closings settled together with their opening while the list they stand in is worked off. */
  readonly #settled = new Set<string>();
  #lookAgain = false;
  #stopped = false;

  constructor(parts: DeliveryParts) {
    this.#parts = parts;
  }

  look(): void {
    if (this.#stopped) return;
    this.#lookAgain = this.#looking !== null;
    this.#looking ??= this.#dispatch()
      .catch((error: unknown) => this.#fail(error))
      .finally(() => {
        this.#looking = null;
        if (this.#lookAgain) this.look();
      });
  }

  async stop(): Promise<void> {
    this.#stopped = true;
    await this.#looking;
    await Promise.all(this.#busy.values());
  }

  async #dispatch(): Promise<void> {
    const due = await this.#parts.store.deliveries({ dueBefore: this.#parts.clock.now() + 1 });
    const byRoute = Map.groupBy(due, (delivery) => delivery.route);
    for (const [route, deliveries] of byRoute) {
      if (this.#busy.has(route) || this.#stopped) continue;
      const work = this.#workOff(route, deliveries.toSorted(byTurn))
        .catch((error: unknown) => this.#fail(error))
        .finally(() => this.#busy.delete(route));
      this.#busy.set(route, work);
    }
  }

  async #workOff(name: string, deliveries: readonly Delivery[]): Promise<void> {
    const route = this.#parts.routes.find((one) => one.name === name);
    const ids = [...new Set(deliveries.map((delivery) => delivery.alert))];
    const alerts = new Map((await this.#parts.store.alerts({ ids })).map((alert) => [alert.id, alert]));
    for (const delivery of deliveries) {
      if (this.#stopped) return;
      if (this.#settled.delete(delivery.id)) continue;
      await this.#deliver(route, delivery, alerts.get(delivery.alert));
    }
  }

  async #deliver(route: AlertRoute | undefined, delivery: Delivery, alert: Alert | undefined): Promise<void> {
    const { clock, random, store, log } = this.#parts;
    const outcome = await this.#attempt(route, delivery, alert);
    const now = clock.now();
    const ageMs = alert === undefined ? 0 : (now - bornAt(delivery, alert)) / clock.speed;
    const next = afterAttempt(delivery, outcome, { now, speed: clock.speed, ageMs, random: random() });
    await store.saveDelivery(next);
    if (next.state === 'delivered' && next.stage === 'opened' && alert?.state === 'closed') await this.#settleClosing(next);
    if (next.state === 'dead') log(`Message ${next.id} by route ${next.route} was given up: ${next.lastError}`);
  }

  async #attempt(route: AlertRoute | undefined, delivery: Delivery, alert: Alert | undefined): Promise<Outcome> {
    if (route === undefined) return { type: 'refused', reason: 'The site file has no route of this name any more.' };
    if (alert === undefined) return { type: 'refused', reason: 'The alert of this message is not in the store.' };
    const sending = { alert, delivery, place: this.#parts.place, now: this.#parts.clock.now() };
    return this.#parts.send === undefined ? send(route, sending, this.#parts.secret) : this.#parts.send(route, sending);
  }

  /** An alert that was over before its first message got through: that message said so, and a second one would say nothing new. */
  async #settleClosing(opening: Delivery): Promise<void> {
    const { store } = this.#parts;
    const closing = (await store.deliveries({ alerts: [opening.alert] })).find(
      (one) => one.route === opening.route && one.stage === 'closed',
    );
    if (closing?.state !== 'waiting') return;
    this.#settled.add(closing.id);
    await store.saveDelivery({ ...closing, state: 'delivered', nextAt: null, deliveredAt: opening.deliveredAt, lastError: null });
  }

  #fail(error: unknown): void {
    this.#stopped = true;
    this.#parts.onFatal(error);
  }
}

function send(route: AlertRoute, sending: Sending, secret: string | null): Promise<Outcome> {
  switch (route.type) {
    case 'webhook':
      return sendWebhook({ url: route.url, secret, timeoutMs: TIMEOUT_MS }, sending);
    case 'mail':
      return sendMail({ smtp: route.smtp, from: route.from, to: route.to, timeoutMs: TIMEOUT_MS }, sending);
  }
}

/** Oldest first; an opening before its closing. */
function byTurn(a: Delivery, b: Delivery): number {
  return (a.nextAt ?? 0) - (b.nextAt ?? 0) || (a.stage === b.stage ? 0 : a.stage === 'opened' ? -1 : 1) || (a.id < b.id ? -1 : 1);
}

const bornAt = (delivery: Delivery, alert: Alert): number =>
  delivery.stage === 'closed' ? (alert.closedAt ?? alert.updatedAt) : alert.startedAt;
