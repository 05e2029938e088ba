/**
 * Takes messages from the outbox to their receivers. An outbox row was committed with the alert that caused it; a row is delivered when
 * the receiver said so and that is on disk. At least once: a crash between the two sends again, with the same key.
 * Each route has its own line, so a receiver that hangs holds back nobody but itself. Within a route messages leave one by one.
 */
import type { TellPlan } from '../../src/alert-plan.ts';
import type { Alert, Delivery } from '../../src/contract.ts';
import { Fault } from '../../src/fault.ts';
import type { Clock } from '../clock.ts';
import type { ActStore, AlertStore, DeliveryStore } from '../store/store.ts';
import type { Resolve } from './address.ts';
import type { Place } from './message.ts';
import { type By, isGivenUp, newTest, resent, setAside } from './resend.ts';
import type { Outcome } from './retry.ts';
import type { AlertRoute } from './route.ts';
import { RouteLine } from './route-line.ts';
import { RouteStates, type RouteState } from './route-state.ts';
import type { SecretPlace } from './secret.ts';
import type { Sending } from './telling.ts';

/** As the site file says now. */
export type DeliverySetting = {
  readonly routes: readonly AlertRoute[];
  /** By kind of alert. */
  readonly tellOf: (kind: string) => TellPlan;
};

export type OutboxStore = DeliveryStore & Pick<AlertStore, 'alerts'> & Pick<ActStore, 'mutes'>;

export type DeliveryParts = {
  readonly store: OutboxStore;
  readonly setting: () => DeliverySetting;
  readonly place: Place;
  readonly clock: Clock;
  /** 0..1 */
  readonly random: () => number;
  /** Where the secret of webhooks without one of their own stands; none sends them unsigned. */
  readonly secrets: readonly SecretPlace[];
  readonly log: (message: string, error?: unknown) => void;
  /** The store failed: the process must end, reopen and replay. */
  readonly onFatal: (error: unknown) => void;
  /** Alarms of these alerts' chambers in each of the last hours, oldest first: for the picture in a mail. */
  readonly alarmsPerHour?: (alerts: readonly Alert[], now: number) => Promise<readonly number[]>;
  readonly send?: (route: AlertRoute, sending: Sending) => Promise<Outcome>;
  readonly pollMs?: number;
  readonly timeoutMs?: number;
  readonly resolve?: Resolve;
};

export type Delivering = {
  /** Looks at the outbox now: call it after a commit that raised an alert. */
  wake(): void;
  /** How each route is doing, as of the last look. */
  states(): readonly RouteState[];
  /** Sends one message that says nothing but that it is a test, and answers what became of it. Audited. */
  test(route: string, by: string): Promise<Delivery>;
  /** Sends what was given up once more, under the same key. Audited. */
  resend(id: string, by: string): Promise<Delivery>;
  /** All that a route gave up, each under its own key; answers how many. Each is audited as if it were sent alone, and all go in one transaction. */
  resendAll(route: string, by: string): Promise<number>;
  /** A person decided that what was given up need not be sent. Audited. */
  setAside(id: string, by: string): Promise<Delivery>;
  setAllAside(route: string, by: string): Promise<number>;
  /** Resolves when no message is under way. */
  close(): Promise<void>;
};

const POLL_MS = 1_000;
/** A test waits for what is under way by its route, and then for its own answer. */
const TEST_PATIENCE_MS = 25_000;

export function openDelivery(parts: DeliveryParts): Delivering {
  const lines = new RouteLines(parts);
  const timer = setInterval(() => lines.look(false), parts.pollMs ?? POLL_MS);
  lines.look();
  return {
    wake: () => lines.look(),
    states: () => lines.states.all(parts.setting().routes),
    test: (route, by) => lines.test(route, by),
    resend: (id, by) => lines.change(id, by, resent),
    resendAll: (route, by) => lines.changeAll(route, by, resent),
    setAllAside: (route, by) => lines.changeAll(route, by, setAside),
    setAside: (id, by) => lines.change(id, by, setAside),
    close: async () => {
      clearInterval(timer);
      await lines.stop();
    },
  };
}

type Change = typeof resent;

class RouteLines {
  readonly #parts: DeliveryParts;
  readonly #lines = new Map<string, RouteLine>();
  readonly #busy = new Map<string, Promise<void>>();
  readonly #tests = new Map<string, (tried: Delivery) => void>();
  readonly states: RouteStates;
  #looking: Promise<void> | null = null;
  #lookAgain = false;
  /** The states are of before something changed. */
  #isStale = false;
  #stopped = false;

  constructor(parts: DeliveryParts) {
    this.#parts = parts;
    this.states = new RouteStates(parts.store);
  }

  /** `isNews`: something may have changed; without it what was given up, which may be much, is not counted again. */
  look(isNews = true): void {
    if (this.#stopped) return;
    this.#isStale ||= isNews;
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
    for (const line of this.#lines.values()) line.stop();
    await this.#looking;
    await Promise.all(this.#busy.values());
  }

  async test(route: string, by: string): Promise<Delivery> {
    const { store, clock, setting } = this.#parts;
    const known = setting().routes.map(({ name }) => name);
    if (!known.includes(route))
      throw new Fault('not-found', `There is no route ${route}. The site file has ${known.join(', ') || 'none'}.`);
    const at = clock.now();
    const delivery = newTest(route, at);
    await store.saveDeliveries([delivery], [{ at, who: by, deed: 'test route', subject: route }]);
    const tried = new Promise<Delivery>((resolve) => this.#tests.set(delivery.id, resolve));
    this.look();
    let timer: NodeJS.Timeout | undefined;
    const late = new Promise<Delivery>((resolve) => (timer = setTimeout(() => resolve(delivery), TEST_PATIENCE_MS)));
    return Promise.race([tried, late]).finally(() => {
      clearTimeout(timer);
      this.#tests.delete(delivery.id);
    });
  }

  async change(id: string, by: string, change: Change): Promise<Delivery> {
    const { store, clock } = this.#parts;
    const [delivery] = await store.deliveries({ ids: [id] });
    if (delivery === undefined) throw new Fault('not-found', 'There is no such message.');
    return (await this.#saved([delivery], { at: clock.now(), by }, change))[0] as Delivery;
  }

  /** What left in a digest goes with the digest, and a test is no message. */
  async changeAll(route: string, by: string, change: Change): Promise<number> {
    const { store, clock } = this.#parts;
    const dead = (await store.deliveries({ states: ['dead'], routes: [route] })).filter(isGivenUp);
    if (dead.length === 0) throw new Fault('conflict', `Route ${route} has given up no message.`);
    return (await this.#saved(dead, { at: clock.now(), by }, change)).length;
  }

  /** The messages themselves as they are now, with what each covers saved beside them. */
  async #saved(messages: readonly Delivery[], act: By, change: Change): Promise<readonly Delivery[]> {
    const { store } = this.#parts;
    const ids = messages.flatMap(({ covers }) => covers ?? []);
    const inside = new Map((ids.length === 0 ? [] : await store.deliveries({ ids })).map((one) => [one.id, one]));
    const changed = messages.map((one) =>
      change(
        one,
        (one.covers ?? []).flatMap((id) => inside.get(id) ?? []),
        act,
      ),
    );
    const notes = changed.map(({ deed }, i) => ({ at: act.at, who: act.by, deed, subject: messages[i]!.id }));
    await store.saveDeliveries(
      changed.flatMap(({ deliveries }) => deliveries),
      notes,
    );
    await this.states.refresh();
    this.look();
    return changed.map(({ deliveries }) => deliveries[0] as Delivery);
  }

  async #dispatch(): Promise<void> {
    const due = await this.#parts.store.deliveries({ dueBefore: this.#parts.clock.now() + 1 });
    for (const route of new Set(due.map((delivery) => delivery.route))) {
      if (this.#busy.has(route) || this.#stopped) continue;
      const work = this.#lineOf(route)
        .work()
        .catch((error: unknown) => this.#fail(error))
        .finally(() => {
          this.#busy.delete(route);
          this.#isStale = true;
        });
      this.#busy.set(route, work);
    }
    if (due.length === 0 && !this.#isStale) return;
    this.#isStale = false;
    await this.states.refresh();
  }

  #lineOf(route: string): RouteLine {
    const known = this.#lines.get(route);
    if (known !== undefined) return known;
    const made = new RouteLine(this.#parts, route, (tried) => this.#hear(tried));
    this.#lines.set(route, made);
    return made;
  }

  #hear(tried: Delivery): void {
    this.states.note(tried);
    this.#tests.get(tried.id)?.(tried);
  }

  #fail(error: unknown): void {
    this.#stopped = true;
    for (const line of this.#lines.values()) line.stop();
    this.#parts.onFatal(error);
  }
}
