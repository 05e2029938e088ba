/**
 * All that leaves the gateway as a message, wired: who is told (in the commit of the cause), delivery by the routes, the letter of the week and
 * the sign of life. One thing to start, ask and stop.
 */
import type { Alert, Delivery, DeliveryRow, RouteLine } from '../src/contract.ts';
import { tellPlan } from '../src/alert-tell.ts';
import type { SiteFile } from '../src/config.ts';
import { openDelivery, type Delivering } from './alerts/deliver.ts';
import { Heart } from './alerts/heartbeat.ts';
import { openLetters, type Composed, type Letters } from './alerts/letters.ts';
import type { SecretPlace } from './alerts/secret.ts';
import { TellBook, type TellSetting } from './alerts/tell-book.ts';
import { alarmsPerHour } from './alarms-per-hour.ts';
import type { Clock } from './clock.ts';
import type { DeliveryAnswers, DeliveryQuery } from './http/answers-port.ts';
import { Fault } from '../src/fault.ts';
import { KEPT } from '../src/kept-name.ts';
import { dueSummary } from '../src/week-due.ts';
import type { Store } from './store/store.ts';

export type MessageParts = {
  /** As it is now: it may be read again while we run. */
  readonly site: () => SiteFile;
  readonly store: Store;
  readonly clock: Clock;
  readonly version: string;
  /** 0..1 */
  readonly random: () => number;
  readonly secrets: readonly SecretPlace[];
  readonly log: (message: string, error?: unknown) => void;
  readonly onFatal: (error: unknown) => void;
  readonly papers: { isOnRecord(week: string): Promise<boolean>; compose(week: string, url: string): Promise<Composed> };
  /** When the last readings were worked off, on the steady clock. */
  readonly turnedMs: () => number;
};

/** Turns come five times a second. */
const LONGEST_TURN_MS = 10_000;

export class Messages {
  readonly #parts: MessageParts;
  readonly #book: TellBook;
  readonly #heart: Heart;
  #delivery: Delivering | null = null;
  #letters: Letters | null = null;

  constructor(parts: MessageParts) {
    this.#parts = parts;
    const { store, clock, onFatal, site, log, version } = parts;
    const setting = () => ({ tellOf: this.#tellOf(), calendar: { zone: site().site.zone, ...site().calendar } });
    this.#book = new TellBook({ store, setting, clock, onFatal, onPlanned: () => this.#delivery?.wake() });
    const about = () => ({ site: site().site.name, hall: site().site.hall, version });
    this.#heart = new Heart({ setting: () => site().alerts.heartbeat ?? null, faint: () => this.#faint(), about, clock, log });
  }

  /** Before anything is committed. */
  start(): Promise<void> {
    return this.#book.start();
  }

  /** When the address of the pages is known: messages name it. */
  open(url: string): void {
    const { site, store, clock, random, secrets, log, onFatal } = this.#parts;
    const { name, hall, zone } = site().site;
    this.#delivery = openDelivery({
      ...{ store, clock, random, secrets, log, onFatal },
      place: { site: name, hall, zone, url },
      setting: () => ({ routes: site().alerts.routes, tellOf: this.#tellOf() }),
      alarmsPerHour: (alerts, now) => alarmsPerHour(store, alerts, now),
    });
    this.#letters = this.#mail(url);
    this.#heart.start();
  }

  /** Another site file is in force: what was taken from it by value is taken anew. Messages wait in the outbox meanwhile. */
  async renew(url: string): Promise<void> {
    await Promise.all([this.#delivery?.close(), this.#letters?.close(), this.#heart.stop()]);
    this.open(url);
  }

  async close(): Promise<void> {
    await Promise.all([this.#book.stop(), this.#delivery?.close(), this.#letters?.close(), this.#heart.stop()]);
  }

  planned(alerts: readonly Alert[], now: number): readonly Delivery[] {
    return this.#book.planned(alerts, now);
  }

  /** After a commit that raised an alert. */
  wake(): void {
    this.#delivery?.wake();
  }

  routes(): readonly RouteLine[] {
    const heart = this.#heart.state();
    return [...(this.#delivery?.states() ?? []), ...(heart === null ? [] : [heart])];
  }

  /** What does not get through, in sentences. */
  problems(): readonly string[] {
    return [...this.routes().flatMap(sentences), ...(this.#letters?.problems() ?? [])];
  }

  answers(): DeliveryAnswers {
    const opened = (): Delivering => {
      if (this.#delivery === null) throw new Fault('unavailable', 'The gateway is starting. Try again in a moment.');
      return this.#delivery;
    };
    return {
      routes: () => this.routes(),
      deliveries: (query) => this.#rows(query),
      testRoute: (route, by) => opened().test(route, by),
      resend: (id, by) => opened().resend(id, by),
      resendAll: (route, by) => opened().resendAll(route, by),
      setAside: (id, by) => opened().setAside(id, by),
      setAllAside: (route, by) => opened().setAllAside(route, by),
    };
  }

  async #rows({ state, route, limit }: DeliveryQuery): Promise<readonly DeliveryRow[]> {
    const { store } = this.#parts;
    const asked = { ...(state === undefined ? {} : { states: [state] }), ...(route === undefined ? {} : { routes: [route] }) };
    const deliveries = await store.deliveries({ ...asked, newest: true, limit });
    const alerts = await store.alerts({ ids: [...new Set(deliveries.map(({ alert }) => alert))] });
    const headlines = new Map(alerts.map(({ id, headline }) => [id, headline]));
    return deliveries.map((one) => ({ ...one, headline: headlines.get(one.alert) ?? null }));
  }

  #tellOf(): TellSetting['tellOf'] {
    const { alerts, calendar } = this.#parts.site();
    return (kind, severity) => tellPlan({ ...alerts, calendar }, kind, severity);
  }

  /** Looked at when a sign of life is due: the pipeline turns, and something is really written. */
  async #faint(): Promise<string | null> {
    const { store, clock, turnedMs } = this.#parts;
    if (clock.steadyMs() - turnedMs() > LONGEST_TURN_MS) return 'Facts are not taken: the gateway does not get on with its work.';
    const note = JSON.stringify({ at: clock.now() });
    await store.append({ events: [], snapshots: new Map([[KEPT.heartbeat, note]]) });
    return null;
  }

  /** The Monday letter. */
  #mail(url: string): Letters {
    const { site, store, clock, random, log, onFatal, papers } = this.#parts;
    const { at: time, routes: names } = site().reports.weekly;
    return openLetters({
      ...{ store, clock, random, log, onFatal, names },
      routes: site().alerts.routes,
      due: (now) => dueSummary(now, { zone: site().site.zone, time }),
      isOnRecord: (week) => papers.isOnRecord(week),
      compose: (week) => papers.compose(week, url),
    });
  }
}

function sentences({ route, type, state, waiting, dead, lastError }: RouteLine): readonly string[] {
  if (type === 'heartbeat') return state === 'failing' ? [`The watcher gets no sign of life from this gateway: ${lastError ?? ''}`] : [];
  const failing = `Messages by route ${route} do not get through (${waiting} waiting): ${lastError ?? ''}`;
  const given = `${dead} message${dead === 1 ? ' was' : 's were'} given up by route ${route}. The page Links lists what can be sent again.`;
  return [...(state === 'failing' ? [failing] : []), ...(dead > 0 ? [given] : [])];
}
