/**
 * The whole gateway, wired: link → pipeline → store, and from committed facts to answers, pages, sockets and messages. Starts in that order
 * and stops in reverse, so that nothing is told that is not on disk and nothing arrives where nobody listens.
 */
import { randomUUID } from 'node:crypto';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import type { WatchState } from '../src/alert-watch.ts';
import type { SiteFile } from '../src/config.ts';
import type { Health, ServerLine } from '../src/contract.ts';
import type { Reading } from '../src/reading.ts';
import { DAY_MS } from '../src/zone.ts';
import type { SecretPlace } from './alerts/secret.ts';
import { openAnswers, type OpenAnswers } from './answers.ts';
import { burstBaselines } from './baselines.ts';
import type { Clock } from './clock.ts';
import type { SiteCore } from './core.ts';
import { FleetView } from './fleet-view.ts';
import type { OwnAddress } from './http/origin.ts';
import { openHttp, type OpenHttp } from './http/server.ts';
import { Latest } from './latest.ts';
import { linkSaid } from './link-said.ts';
import { openHub, type Hub } from './live/hub.ts';
import { openLink } from './opcua/link.ts';
import { FleetServer } from './opcua/serve.ts';
import type { Link, OwnCertificate } from './opcua/link-port.ts';
import { Messages } from './messages.ts';
import { Pipeline, type Committed } from './pipeline.ts';
import { openPapers, type Papers } from './papers.ts';
import { Lookout } from './lookout.ts';
import { certificateUses, problems } from './problems.ts';
import { ReasonBook } from './reason-book.ts';
import { refillRuns } from './run-refill.ts';
import { SiteInForce } from './site-in-force.ts';
import type { SiteSource } from './site-follower.ts';
import type { Store } from './store/store.ts';
import type { TraceRecorder } from './trace-recorder.ts';

const RECORDER_TICK_MS = 1_000;
/** Stored states of chambers that are heard alike are at most this far apart. */
const STATES_APART_MS = 60_000;
const LONGEST_FIRST_WORD_MS = 30_000;
/** The link needs about two seconds to find out that a device's clock is off; in hurried plant time those are minutes. */
const CLOCKS_JUDGED_MS = 3_000;
/** A message under way may hang at its receiver; it is sent again after the next start. */
const LONGEST_GOODBYE_MS = 500;

export type GatewayParts = {
  readonly site: SiteFile;
  /** The file that the site is of, followed while the gateway runs. */
  readonly source: SiteSource;
  readonly store: Store;
  readonly core: SiteCore;
  readonly recorder: TraceRecorder;
  readonly clock: Clock;
  /** A past still being told: ended as soon as the link hears the servers themselves. */
  readonly past?: { end(at: number): Promise<void> } | null;
  readonly folder: string;
  readonly address: OwnAddress;
  readonly distFolder: string;
  readonly version: string;
  /** 0..1 */
  readonly random: () => number;
  /** Where the secret of webhooks stands that have none of their own; none sends them unsigned. */
  readonly webhookSecrets: readonly SecretPlace[];
  readonly log: (message: string, error?: unknown) => void;
  /** Something failed that only a new start from disk can heal. */
  readonly onFatal: (error: unknown) => void;
  /** Hears what was committed, after it was: for witnesses. */
  readonly onCommitted?: (news: Committed) => void;
};

export class Gateway {
  readonly #parts: GatewayParts;
  readonly #site: SiteInForce;
  readonly #latest: Latest;
  readonly #servers = new Map<string, ServerLine>();
  readonly #refusals = new Map<string, string>();
  readonly #timers: NodeJS.Timeout[] = [];
  readonly #pipeline: Pipeline<WatchState>;
  readonly #reasons: ReasonBook;
  readonly #view: FleetView;
  readonly #answers: OpenAnswers;
  readonly #allAnswered = Promise.withResolvers<void>();
  #isTelling = false;
  #own: OwnCertificate | null = null;
  #link: Link | null = null;
  readonly #papers: Papers;
  readonly #messages: Messages;
  readonly #lookout: Lookout;
  #fleetServer: FleetServer | null = null;
  #http: OpenHttp | null = null;
  #hub: Hub | null = null;

  constructor(parts: GatewayParts) {
    this.#parts = parts;
    const { store, core, clock, onFatal } = parts;
    this.#latest = new Latest(clock);
    const site = new SiteInForce({ ...parts, change: (turn) => this.#pipeline.change(turn), renew: (is) => this.#renew(is) });
    this.#site = site;
    this.#pipeline = new Pipeline({
      store,
      core,
      clock,
      planned: (alerts, now) => this.#messages.planned(alerts, now),
      get former() {
        return site.former;
      },
      onCommitted: (news) => this.#tell(news),
      onOrdered: (readings) => parts.recorder.record(readings),
      onFatal,
    });
    this.#reasons = new ReasonBook({ store, onFatal });
    const shared = {
      plant: site.plant,
      store,
      clock,
      reasons: this.#reasons,
      state: this.#pipeline.chamber.bind(this.#pipeline),
      servers: () => this.servers(),
    };
    this.#view = new FleetView({ ...shared, boot: randomUUID(), latest: (chamber) => this.#latest.of(chamber), onFatal });
    this.#answers = openAnswers({
      ...shared,
      fleet: () => this.#view.fleet(),
      earlierShifts: () => this.#view.earlierShifts(),
      health: () => this.health(),
      record: (deed) => this.#pipeline.record(deed),
      readTrace: (query) => parts.recorder.read(query),
      acknowledge: async (request) =>
        (await this.#link?.acknowledge(request)) ?? { done: false, text: 'The gateway is starting. Try again in a moment.' },
    });
    const { week, runRecord, trace } = this.#answers;
    this.#papers = openPapers({
      plant: site.plant,
      get report() {
        return site.file.reports;
      },
      ...{ version: parts.version, store, week, runRecord, trace },
    });
    this.#messages = new Messages({
      ...{ store, clock, onFatal, version: parts.version, random: parts.random, log: parts.log },
      site: () => site.file,
      secrets: parts.webhookSecrets,
      papers: this.#papers,
      turnedMs: () => this.#pipeline.turnedMs,
    });
    this.#lookout = this.#look();
  }

  /** Where the pages are. */
  async start(): Promise<string> {
    const { store, core, address, clock, distFolder, version, log, recorder } = this.#parts;
    this.#link = this.#listen();
    if (this.#parts.past != null) await this.#takeOver(this.#link, this.#parts.past);
    await refillRuns({ samples: core.runSamples, store, recorder });
    await this.#messages.start();
    const dropped = await this.#site.start();
    await this.#pipeline.start();
    await this.#pipeline.change({ chambers: core.chambers, dropped, take: () => undefined });
    await this.#reasons.start();
    await this.#learn();
    // What is committed while they read the store is told to them too: both know what they have seen.
    this.#isTelling = true;
    await this.#view.start();
    await this.#answers.board.start();
    this.#http = await openHttp({
      answers: { ...this.#answers, ...this.#papers, ...this.#messages.answers(), ...this.#site.answers() },
      address,
      distFolder,
      version,
      log,
    });
    const { server, mayConnect, url } = this.#http;
    this.#hub = openHub({ server, view: this.#view, alerts: this.#answers.board, mayConnect, steadyMs: () => clock.steadyMs(), log });
    this.#messages.open(url);
    if (this.#parts.past == null) await this.#link.start(this.#heardUntil());
    await this.#serve();
    this.#site.follow();
    this.#lookout.start();
    this.#every(RECORDER_TICK_MS, () => recorder.tick(clock.now()));
    this.#every(DAY_MS / clock.speed, () => this.#learn());
    return url;
  }

  async stop(): Promise<void> {
    this.#timers.forEach(clearInterval);
    this.#lookout.stop();
    await Promise.race([this.#site.stop(), wait(LONGEST_GOODBYE_MS)]);
    this.#hub?.close();
    await Promise.all([
      this.#link?.stop(),
      this.#fleetServer?.stop(),
      this.#http?.close(),
      Promise.race([this.#messages.close(), wait(LONGEST_GOODBYE_MS)]),
    ]);
    await this.#pipeline.stop();
    await this.#parts.recorder.stop();
  }

  servers(): readonly ServerLine[] {
    return this.#site.file.servers.flatMap(({ name }) => this.#servers.get(name) ?? []);
  }

  /** Ready is: the store takes facts. A server that cannot be reached is a problem to tell, not a reason to be unready. */
  health(): Health {
    const parts = { servers: this.servers(), intake: this.#pipeline.counters, order: this.#parts.core.orderCounters() };
    const certificates = { ownValidTo: this.#own?.validTo ?? null, now: Date.now() };
    const notServed = this.#fleetServer?.trouble ?? null;
    const ours = [...this.#site.problems(), ...(notServed === null ? [] : [notServed])];
    return {
      ready: this.#isTelling,
      own: this.#own,
      problems: [...ours, ...problems({ ...parts, certificates }), ...this.#messages.problems()],
    };
  }

  /** What is in no chamber's facts, for the alert watch. */
  #look(): Lookout {
    const { clock, folder, onFatal } = this.#parts;
    return new Lookout({
      ...{ clock, folder, onFatal },
      site: () => this.#site.file,
      drift: () => this.#answers.drift(),
      counters: () => this.#answers.counters(),
      certificates: () => certificateUses(this.servers(), this.#isOwnNeeded() ? (this.#own?.validTo ?? null) : null),
      dropped: () => {
        const { droppedFacts, droppedLive } = this.#pipeline.counters;
        const onTheWay = Math.max(0, ...this.servers().map(({ counters }) => counters.dropped ?? 0));
        return { facts: droppedFacts + onTheWay, live: droppedLive };
      },
      slowestCommitMs: () => this.#pipeline.takeSlowestCommitMs(),
      routes: () => this.#messages.routes(),
      find: (findings) => this.#pipeline.find(findings),
      realNow: () => Date.now(),
    });
  }

  /** Another site is in force: what rests on what differs is made anew, messages wait in the outbox meanwhile. */
  async #renew(differs: (...parts: (keyof SiteFile)[]) => boolean): Promise<void> {
    this.#link?.change(this.#site.file, this.#heardUntil());
    await this.#learn();
    this.#answers.renew();
    await this.#view.renew();
    const url = this.#http?.url;
    if (url !== undefined && differs('site', 'alerts', 'reports')) await this.#messages.renew(url);
    if (differs('site', 'chambers', 'serve')) await this.#serve();
  }

  #listen(): Link {
    const { clock, folder } = this.#parts;
    const site = this.#site.file;
    const readings = (news: readonly Reading[]): void => {
      // A value on the screen is no fact in the books: it need not wait until all words of its moment are in order.
      this.#latest.take(news);
      this.#pipeline.accept(news);
    };
    return openLink({
      site,
      clock,
      pkiFolder: join(folder, 'pki'),
      events: {
        readings,
        server: (status) => this.#hearServer(status as ServerLine),
        own: (own) => this.#hearOwn(own),
        died: () => this.#lookout.linkDied(),
      },
    });
  }

  /** What other systems of the plant read. Where it cannot be offered that is told, and the rest goes on. */
  async #serve(): Promise<void> {
    await this.#fleetServer?.stop();
    this.#fleetServer = null;
    const setting = this.#site.file.serve;
    if (setting === undefined) return;
    const { folder, version, log } = this.#parts;
    const today = { window: { name: 'today' }, chamber: null } as const;
    const numbers = async () => (await this.#answers.numbers(today)).filter(({ chamber }) => chamber !== null);
    this.#fleetServer = new FleetServer({ setting, pkiFolder: join(folder, 'pki'), version, view: this.#view, numbers, log });
    await this.#fleetServer.start();
  }

  /**
   * When each server was last heard before this start: by the chamber whose stored state is furthest behind, unless that one was not heard itself.
   * What the others know already is told to them once more and changes nothing.
   */
  #heardUntil(): Record<string, number> {
    const heard = this.#site.file.chambers.flatMap(({ id, server }) => {
      const { presence, now } = this.#pipeline.chamber(id);
      return presence.word === 'never' ? [] : [{ server, now }];
    });
    const byServer = Map.groupBy(heard, ({ server }) => server);
    return Object.fromEntries(
      [...byServer].map(([server, told]) => {
        const latest = Math.max(...told.map(({ now }) => now));
        return [server, Math.min(...told.map(({ now }) => now).filter((now) => latest - now < STATES_APART_MS * this.#parts.clock.speed))];
      }),
    );
  }

  /** The past may end when every server was heard; one that does not answer is waited for only so long, and leaves its hole. */
  async #takeOver(link: Link, past: { end(at: number): Promise<void> }): Promise<void> {
    await link.start();
    await Promise.race([this.#allAnswered.promise, wait(LONGEST_FIRST_WORD_MS, undefined, { ref: false })]);
    const { clock } = this.#parts;
    if (clock.speed > 1) await wait(CLOCKS_JUDGED_MS);
    await past.end(clock.now());
  }

  /** Said where servers need it; always on the page of links. */
  #hearOwn(own: OwnCertificate): void {
    if (this.#isOwnNeeded() && this.#own?.thumbprint !== own.thumbprint)
      this.#parts.log(
        `Our certificate has the thumbprint ${own.thumbprint} and is valid until ${new Date(own.validTo).toISOString().slice(0, 10)}.`,
      );
    this.#own = own;
  }

  #isOwnNeeded(): boolean {
    return this.#site.file.servers.some(({ security, user }) => security !== 'none' || user !== undefined);
  }

  #hearServer(line: ServerLine): void {
    this.#servers.set(line.server, line);
    const said = linkSaid(this.#refusals, line);
    if (said !== null) this.#parts.log(said);
    const answered = this.servers().filter(({ state }) => state === 'live' || state === 'refused');
    if (answered.length === this.#site.file.servers.length) this.#allAnswered.resolve();
  }

  #every(ms: number, work: () => Promise<void>): void {
    this.#timers.push(setInterval(() => void work().catch(this.#parts.onFatal), ms));
  }

  /** Before the view begins to read the store, the store tells it all. */
  #tell(news: Committed): void {
    this.#parts.onCommitted?.(news);
    this.#reasons.note(news.stored);
    if (!this.#isTelling) return;
    this.#view.committed(news);
    this.#answers.board.note(news.alerts);
    this.#answers.note(news.stored);
    this.#lookout.note(news.stored);
    if (news.alerts.length > 0) this.#messages.wake();
  }

  async #learn(): Promise<void> {
    const { core, store, clock } = this.#parts;
    const heardUntil = Object.fromEntries(core.chambers.map((id) => [id, this.#pipeline.chamber(id).now]));
    const epsilon = this.#site.file.alerts.falseNoticesPerChamberMonth;
    core.setBaselines(await burstBaselines(store, { chambers: core.chambers, now: clock.now(), epsilon, heardUntil }));
  }
}
