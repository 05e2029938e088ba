/**
 * The line of messages before one receiver. One message at a time, as src/alert-turn.ts says; what need not leave any more is spared, as
 * src/alert-plan.ts says. After a failure the receiver is left alone for a moment, longer each time and a minute at most, and then tried
 * with what is due first: hundreds of messages do not each find out that it is down.
 */
import { sparedBecause } from '../../src/alert-plan.ts';
import { gathered, isDigest, nextTurn } from '../../src/alert-turn.ts';
import type { Alert, Delivery } from '../../src/contract.ts';
import { HOUR_MS } from '../../src/zone.ts';
import type { DeliveryParts, DeliverySetting } from './deliver.ts';
import { afterAttempt, waitMs, type Outcome } from './retry.ts';
import { sendByRoute } from './route.ts';
import type { Sending } from './telling.ts';

const PER_HOUR = 30;
const LONGEST_PAUSE_MS = 60_000;

export class RouteLine {
  readonly #parts: DeliveryParts;
  readonly #name: string;
  readonly #onTried: (delivery: Delivery) => void;
  #failures = 0;
  /** Plant time. */
  #pausedUntil = -Infinity;
  #stopped = false;

  constructor(parts: DeliveryParts, name: string, onTried: (delivery: Delivery) => void) {
    this.#parts = parts;
    this.#name = name;
    this.#onTried = onTried;
  }

  stop(): void {
    this.#stopped = true;
  }

  /** Sends until nothing is due now. */
  async work(): Promise<void> {
    while (!this.#stopped && (await this.#turn()));
  }

  /** Whether there may be more. */
  async #turn(): Promise<boolean> {
    const { store, clock } = this.#parts;
    const now = clock.now();
    const due = (await store.deliveries({ routes: [this.#name], dueBefore: now + 1 })).filter(
      ({ stage }) => now >= this.#pausedUntil || stage === 'test',
    );
    if (due.length === 0) return false;
    if (await this.#spare(due, now)) return true;
    const turn = nextTurn({ due, sent: await this.#sent(now), now, ...this.#pace() });
    if (turn === null) return false;
    if (turn.type === 'send') await this.#send(turn.delivery);
    else {
      const { digest, parts } = gathered(turn.deliveries, now);
      await store.saveDeliveries([digest, ...parts]);
    }
    return true;
  }

  #pace(): { perHour: number; groupMs: (kind: string) => number } {
    const { tellOf, routes } = this.#setting();
    const { perHour = PER_HOUR } = routes.find(({ name }) => name === this.#name) ?? {};
    return { perHour, groupMs: (kind) => tellOf(kind).groupMin * 60_000 };
  }

  async #sent(now: number): Promise<readonly Delivery[]> {
    const delivered = await this.#parts.store.deliveries({ routes: [this.#name], deliveredFrom: now - HOUR_MS });
    return delivered.filter(({ digest, stage }) => digest === undefined && stage !== 'test');
  }

  /** Whether any was spared. */
  async #spare(due: readonly Delivery[], now: number): Promise<boolean> {
    const { store } = this.#parts;
    const fresh = due.filter(({ attempts, stage }) => attempts === 0 && stage !== 'test' && !isDigest(stage));
    if (fresh.length === 0) return false;
    const ids = [...new Set(fresh.map(({ alert }) => alert))];
    const [alerts, deliveries, mutes] = await Promise.all([store.alerts({ ids }), store.deliveries({ alerts: ids }), store.mutes(now)]);
    const byId = new Map(alerts.map((alert) => [alert.id, alert]));
    const ofAlert = Map.groupBy(deliveries, ({ alert }) => alert);
    const spared = fresh.flatMap((one): Delivery[] => {
      const alert = byId.get(one.alert);
      const because = alert && sparedBecause(one, alert, { mutes, now, deliveries: ofAlert.get(one.alert) ?? [] });
      return because == null ? [] : [{ ...one, state: 'spared', nextAt: null, lastError: because }];
    });
    if (spared.length > 0) await store.saveDeliveries(spared);
    return spared.length > 0;
  }

  async #send(delivery: Delivery): Promise<void> {
    const { store, clock, random, log } = this.#parts;
    const covered = delivery.covers === undefined ? [] : await store.deliveries({ ids: delivery.covers });
    const alerts = await this.#alertsOf([delivery, ...covered]);
    const outcome = await this.#attempt(delivery, alerts);
    const now = clock.now();
    const ageMs = (now - (delivery.dueAt ?? bornAt(delivery, alerts[0]) ?? now)) / clock.speed;
    const tried = afterAttempt(delivery, outcome, { now, speed: clock.speed, ageMs, random: random(), ...once(delivery) });
    await store.saveDeliveries([tried, ...(await this.#settled(tried, covered, alerts))]);
    this.#pause(tried, outcome);
    this.#onTried(tried);
    if (tried.state === 'dead') log(`Message ${tried.id} by route ${tried.route} was given up: ${tried.lastError}`);
  }

  async #alertsOf(deliveries: readonly Delivery[]): Promise<readonly Alert[]> {
    const ids = [...new Set(deliveries.filter(({ stage }) => stage !== 'test').map(({ alert }) => alert))];
    return ids.length === 0 ? [] : this.#parts.store.alerts({ ids });
  }

  async #attempt(delivery: Delivery, alerts: readonly Alert[]): Promise<Outcome> {
    const { place, clock, secrets, timeoutMs, resolve, alarmsPerHour } = this.#parts;
    const route = this.#setting().routes.find(({ name }) => name === this.#name);
    if (route === undefined) return { type: 'refused', reason: 'The site file has no route of this name any more.' };
    if (alerts.length === 0 && delivery.stage !== 'test')
      return { type: 'refused', reason: 'The alert of this message is not in the store.' };
    const now = clock.now();
    const perHour = route.type === 'mail' && alerts.length > 0 ? await alarmsPerHour?.(alerts, now) : undefined;
    const sending: Sending = { delivery, alerts, place, now, ...(perHour === undefined ? {} : { perHour }) };
    const send = this.#parts.send ?? ((by, what) => sendByRoute(by, what, { secrets, timeoutMs, resolve }));
    return send(route, sending);
  }

  /**
   * What becomes of the others with it. What a digest covers fares as it does. An alert that was over before its beginning got through: that
   * message said so, and a second one would say nothing new.
   */
  async #settled(tried: Delivery, covered: readonly Delivery[], alerts: readonly Alert[]): Promise<readonly Delivery[]> {
    const { state, deliveredAt, lastError } = tried;
    if (state === 'waiting') return [];
    const parts = covered.filter(({ digest }) => digest === tried.id).map((one): Delivery => ({ ...one, state, deliveredAt, lastError }));
    if (state !== 'delivered') return parts;
    const over = new Set(alerts.filter((alert) => alert.state === 'closed').map(({ id }) => id));
    const begun = [tried, ...parts].filter(({ stage, alert }) => stage === 'opened' && over.has(alert)).map(({ alert }) => alert);
    if (begun.length === 0) return parts;
    const waiting = await this.#parts.store.deliveries({ alerts: begun, routes: [tried.route], states: ['waiting'] });
    const ends = waiting.filter(({ stage, attempts }) => stage === 'closed' && attempts === 0);
    return [...parts, ...ends.map((one): Delivery => ({ ...one, state, nextAt: null, deliveredAt, lastError: null }))];
  }

  #pause({ stage }: Delivery, outcome: Outcome): void {
    const { clock, random } = this.#parts;
    if (stage === 'test') return;
    this.#failures = outcome.type === 'failed' ? this.#failures + 1 : 0;
    const pauseMs = outcome.type === 'failed' ? Math.min(LONGEST_PAUSE_MS, waitMs(this.#failures, outcome.afterMs, random())) : 0;
    this.#pausedUntil = outcome.type === 'failed' ? clock.now() + pauseMs * clock.speed : -Infinity;
  }

  #setting(): DeliverySetting {
    return this.#parts.setting();
  }
}

/** A test is tried once: whoever asked for it waits for the answer. */
const once = ({ stage }: Delivery) => (stage === 'test' ? { giveUpMs: 0 } : {});

/** Of messages that do not say when they were due. */
const bornAt = ({ stage }: Delivery, alert: Alert | undefined): number | undefined =>
  stage === 'closed' ? (alert?.closedAt ?? alert?.updatedAt) : alert?.startedAt;
