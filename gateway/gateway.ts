/**
 * The whole gateway, wired: link → pipeline → store, and from committed facts to answers, pages, sockets and messages. Starts in that order
 * and stops in reverse, so that nothing is told that is not on disk and nothing arrives where nobody listens.
 */
import { join } from 'node:path';
import type { WatchState } from '../src/alert-watch.ts';
import type { SiteFile } from '../src/config.ts';
import type { Reading } from '../src/reading.ts';
import { openDelivery, type Delivering } from './alerts/deliver.ts';
import { burstBaselines } from './baselines.ts';
import type { Clock } from './clock.ts';
import type { SiteCore } from './core.ts';
import { Latest } from './latest.ts';
import { openLink } from './opcua/link.ts';
import type { Link, ServerStatus } from './opcua/link-port.ts';
import { Pipeline, type Committed } from './pipeline.ts';
import type { Store } from './store/store.ts';
import type { TraceRecorder } from './trace-recorder.ts';

const DAY_MS = 86_400_000;
const RECORDER_TICK_MS = 1_000;

export type GatewayParts = {
  readonly site: SiteFile;
  readonly store: Store;
  readonly core: SiteCore;
  readonly recorder: TraceRecorder;
  readonly clock: Clock;
  readonly folder: string;
  /** 0..1 */
  readonly random: () => number;
  /** Signs webhooks; null sends them unsigned. */
  readonly webhookSecret: string | null;
  readonly log: (message: string, error?: unknown) => void;
  /** Something failed that only a new start from disk can heal. */
  readonly onFatal: (error: unknown) => void;
};

export class Gateway {
  readonly #parts: GatewayParts;
  readonly #latest = new Latest();
  readonly #servers = new Map<string, ServerStatus>();
  readonly #timers: NodeJS.Timeout[] = [];
  #pipeline: Pipeline<WatchState> | null = null;
  #link: Link | null = null;
  #delivery: Delivering | null = null;

  constructor(parts: GatewayParts) {
    this.#parts = parts;
  }

  async start(): Promise<void> {
    const { site, store, core, clock, folder, recorder, onFatal } = this.#parts;
    const routes = site.alerts.routes.map((route) => route.name);
    const pipeline = new Pipeline({
      store,
      core,
      routes,
      clock,
      onCommitted: (news) => this.#tell(news),
      onOrdered: (readings) => this.#show(readings),
      onFatal,
    });
    await pipeline.start();
    this.#pipeline = pipeline;
    await this.#learn();
    this.#delivery = this.#deliver();
    const events = {
      readings: (readings: readonly Reading[]) => pipeline.accept(readings),
      server: (status: ServerStatus) => void this.#servers.set(status.server, status),
    };
    this.#link = openLink({ site, clock, pkiFolder: join(folder, 'pki'), events });
    await this.#link.start();
    this.#every(RECORDER_TICK_MS, () => recorder.tick(clock.now()));
    this.#every(DAY_MS / clock.speed, () => this.#learn());
  }

  async stop(): Promise<void> {
    this.#timers.forEach(clearInterval);
    await this.#link?.stop();
    await this.#delivery?.close();
    await this.#pipeline?.stop();
    await this.#parts.recorder.stop();
  }

  #every(ms: number, work: () => Promise<void>): void {
    this.#timers.push(setInterval(() => void work().catch(this.#parts.onFatal), ms));
  }

  #tell(news: Committed): void {
    if (news.alerts.length > 0) this.#delivery?.wake();
  }

  #show(readings: readonly Reading[]): void {
    this.#latest.take(readings);
    this.#parts.recorder.record(readings);
  }

  async #learn(): Promise<void> {
    const { core, store, clock, site } = this.#parts;
    const heardUntil = Object.fromEntries(core.chambers.map((id) => [id, this.#pipeline?.chamber(id).now ?? 0]));
    const epsilon = site.alerts.falseNoticesPerChamberMonth;
    core.setBaselines(await burstBaselines(store, { chambers: core.chambers, now: clock.now(), epsilon, heardUntil }));
  }

  #deliver(): Delivering {
    const { site, store, clock, random, webhookSecret, log, onFatal } = this.#parts;
    const { name, hall, zone } = site.site;
    const place = { site: name, hall, zone, url: '' };
    return openDelivery({ store, routes: site.alerts.routes, place, clock, random, secret: webhookSecret, log, onFatal });
  }
}
