/**
 * One server, for as long as the link lives: connects, reconnects with back-off, watches over silence, and tells how it is doing.
 */
import { setTimeout as wait } from 'node:timers/promises';
import { alarmSignalOf } from '../../src/signal.ts';
import type { TagNode, TagTable } from '../../src/tag-map.ts';
import { MINUTE_MS } from '../../src/zone.ts';
import { createClient, openCertificates } from './client.ts';
import type { Certificates, ServerPart } from './client.ts';
import { notHere } from './acknowledge.ts';
import { userTerm } from './certificate-store.ts';
import type { Handshakes } from './handshakes.ts';
import { identityOf } from './identity.ts';
import type { AcknowledgeAnswer, AcknowledgeRequest, ServerStatus } from './link-port.ts';
import type { Outbox } from './outbox.ts';
import { Reception } from './reception.ts';
import type { ChildClock } from './reception.ts';
import { refusalBy, sentence, tagReason } from './sentence.ts';
import { ServerSession } from './server-session.ts';
import type { SessionEvents } from './server-session.ts';
import { Standing } from './standing.ts';
import type { Measures } from './standing.ts';

const FIRST_PAUSE_MS = 1000;
const LONGEST_PAUSE_MS = 30_000;
/** A session that the library is repairing keeps its queues; only then is it rebuilt from nothing. */
const REPAIR_MS = 60_000;
const STUCK_MS = 20_000;
/** Longer than any honest start; a server that swallows everything must not hold a place among those that connect. */
const OPEN_MS = 30_000;
const STATUS_MS = 1000;
export type ServerLinkParts = {
  readonly server: ServerPart;
  readonly table: TagTable;
  readonly clock: ChildClock;
  readonly outbox: Outbox;
  readonly pkiFolder: string;
  readonly handshakes: Handshakes;
  readonly random: () => number;
  /** Last heard by an earlier process, plant time; null when never. */
  readonly heardUntil: number | null;
  readonly tell: (status: ServerStatus) => void;
};

export class ServerLink {
  readonly #parts: ServerLinkParts;
  readonly #nodes: readonly TagNode[];
  readonly #reception: Reception;
  readonly #events: SessionEvents;
  readonly #standing: Standing;
  #session: ServerSession | null = null;
  /** Everything is subscribed: only then is a server called live. */
  #isOpen = false;
  #serverSkewMs: number | null = null;
  #certificates: Certificates | null = null;
  #stopping: AbortController = new AbortController();
  #running: Promise<void> = Promise.resolve();
  #timers: NodeJS.Timeout[] = [];
  #tickAt = 0;

  constructor(parts: ServerLinkParts) {
    this.#parts = parts;
    this.#nodes = [...parts.table.values()].filter(({ kind }) => kind !== 'presence');
    this.#reception = new Reception({
      nodes: this.#nodes,
      presenceNode: parts.table.get(`link:${parts.server.name}`) as TagNode,
      clock: parts.clock,
      outbox: parts.outbox,
      toleranceMs: parts.server.skewToleranceS * 1000 + lagMs(parts.clock.speed),
      acknowledges: parts.server.acknowledge === true,
    });
    this.#events = this.#sessionEvents();
    this.#standing = new Standing({ server: parts.server.name, nodes: this.#nodes, measures: () => this.#measures(), tell: parts.tell });
  }

  /** Plant time of the server's last word; null when never heard. */
  get lastHeardAt(): number | null {
    return this.#reception.presence.lastHeardAt;
  }

  start(): void {
    if (this.#parts.heardUntil !== null) this.#reception.presence.resume(this.#parts.heardUntil);
    this.#reception.presence.fallSilent(this.#parts.clock.now());
    this.#tickAt = this.#parts.clock.steadyMs();
    this.#timers = [
      setInterval(() => this.#watch(), 250),
      setInterval(() => this.#standing.tellNews(), STATUS_MS),
      setInterval(() => void this.#eachMinute(), MINUTE_MS),
    ];
    this.#running = this.#run();
  }

  async stop(): Promise<void> {
    for (const timer of this.#timers) clearInterval(timer);
    this.#stopping.abort();
    this.#session?.rebuild('stopping');
    await this.#running;
  }

  /** Only where the site file allows it, and only that one method of that one condition. Never rejects. */
  async acknowledge({ chamber, code, name: alarm, comment, of }: AcknowledgeRequest): Promise<AcknowledgeAnswer> {
    const { name: server, acknowledge: allowed } = this.#parts.server;
    if (allowed !== true) return notHere(`Acknowledging at ${server} is not turned on in the site file, so nothing was sent.`);
    const signal = alarmSignalOf('active', code);
    const node = this.#nodes.find(
      ({ kind, targets }) => kind === 'condition' && targets.some((one) => one.chamber === chamber && one.signal === signal),
    );
    if (node === undefined) return notHere(`${alarm} is no alarm condition of ${server}. Acknowledge it at the chamber.`);
    if (this.#session === null || !this.#isOpen)
      return notHere(`${server} is not connected, so nothing was sent. Try again once it is heard.`);
    const mark = this.#reception.conditions.markOf(node, of);
    if (mark === 'acknowledged') return notHere(`${alarm} was acknowledged already, at the chamber or by another person.`);
    return this.#session
      .acknowledge(mark, { alarm, server, comment })
      .catch((error: unknown) => notHere(`The acknowledgement of ${alarm} failed: ${this.#sentence(error)}`));
  }

  async #run(): Promise<void> {
    let pauseMs = FIRST_PAUSE_MS;
    while (!this.#stopping.signal.aborted) {
      if (await this.#live()) pauseMs = FIRST_PAUSE_MS;
      await this.#pause(pauseMs);
      pauseMs = Math.min(pauseMs * 2, LONGEST_PAUSE_MS);
    }
  }

  /** One session from its opening to its end; true when it was open. Never rejects: what harms this server must not end the others. */
  async #live(): Promise<boolean> {
    let session: ServerSession | null = null;
    try {
      session = await this.#newSession();
      await this.#open(session);
      const reason = await session.ended;
      this.#standing.counters.rebuilds++;
      this.#standing.say('connecting', `${this.#parts.server.name}: ${reason}; connecting again.`);
      return true;
    } catch (error) {
      this.#noteCertificates();
      if (!this.#stopping.signal.aborted) this.#standing.say('refused', this.#sentence(error));
      return false;
    } finally {
      this.#session = null;
      this.#isOpen = false;
      await session?.close();
      this.#reception.endSession();
    }
  }

  async #open(session: ServerSession): Promise<void> {
    await this.#parts.handshakes.run(() => this.#openUnlessStopped(session));
    this.#isOpen = true;
    this.#noteCertificates();
    if (this.#reception.presence.alive === true) this.#standing.say('live', '');
    this.#minuteNow(session);
  }

  async #openUnlessStopped(session: ServerSession): Promise<void> {
    if (this.#stopping.signal.aborted) return;
    const stopped = session.ended.then((reason) => {
      throw new Error(reason);
    });
    const late = setTimeout(() => session.rebuild('connecting timed out'), OPEN_MS);
    try {
      await Promise.race([session.open(), stopped]);
    } finally {
      clearTimeout(late);
      stopped.catch(() => undefined);
    }
  }

  async #newSession(): Promise<ServerSession> {
    const { server, pkiFolder, clock } = this.#parts;
    const certificates = await openCertificates(pkiFolder);
    this.#certificates = certificates;
    const client = createClient(server, certificates);
    this.#session = new ServerSession({
      client,
      certificates,
      endpoint: server.endpoint,
      identity: () => identityOf(server),
      nodes: this.#nodes,
      conditions: this.#reception.conditions,
      clock,
      events: this.#events,
      heardUntil: () => this.#reception.presence.lastHeardAt,
    });
    return this.#session;
  }

  /** Ends early when the link stops. Half fixed, half by chance, so that a fleet does not return in step. */
  async #pause(ms: number): Promise<void> {
    const { signal } = this.#stopping;
    if (signal.aborted) return;
    await wait(ms * (0.5 + this.#parts.random() / 2), undefined, { signal }).catch(() => undefined);
  }

  #sessionEvents(): SessionEvents {
    const reception = this.#reception;
    return {
      opened: (line) => reception.opened(line),
      values: (line, values, events) => {
        reception.message(line, values, events);
        if (this.#isOpen && this.#standing.state !== 'live') this.#standing.say('live', '');
      },
      gap: (line) => {
        this.#standing.counters.sequenceGaps++;
        reception.presence.lose(line.name);
        void this.#session?.readAll().catch((error: unknown) => this.#trouble(error));
      },
      recreated: (line) => reception.recreated(line),
      stuck: (_line, reason) => this.#session?.rebuild(reason),
      read: (values) => reception.read(values),
      archived: (values, present) => reception.archived(values, present),
      badTags: (faults) => {
        reception.unreadable([...faults.keys()].filter((tag) => !this.#standing.unread.has(tag)));
        this.#standing.unread = new Map([...faults].map(([tag, status]) => [tag, tagReason(status)]));
      },
      spoilt: (line, error) => {
        reception.presence.lose(line.name);
        this.#trouble(error);
      },
      failed: (_line, error) => this.#trouble(error),
      trouble: (error) => this.#trouble(error),
    };
  }

  #trouble(error: unknown): void {
    this.#standing.trouble(this.#sentence(error));
  }

  /** Our own deadline. A tick that came late means that we slept: then messages may lie unread, and the next tick judges. */
  #watch(): void {
    const steadyMs = this.#parts.clock.steadyMs();
    const slept = steadyMs - this.#tickAt > 2000;
    this.#tickAt = steadyMs;
    const session = this.#session;
    if (slept || !session) return;
    const overdue = this.#reception.presence.overdue(steadyMs);
    if (overdue >= 1) this.#silent(session, overdue, this.#reception.presence.silentMs(steadyMs));
    // In the middle of a repair the old session could not be closed in order, and would stay at the server.
    else if (session.isWorn && !session.isReconnecting && this.#reception.isQuiet(steadyMs))
      session.rebuild('many repairs, starting afresh');
  }

  #silent(session: ServerSession, overdue: number, silentMs: number): void {
    this.#reception.presence.fallSilent(this.#parts.clock.now());
    if (this.#standing.state === 'live')
      this.#standing.say(
        'silent',
        `Nothing heard from ${this.#parts.server.name}. Check its power and its network; reading resumes by itself.`,
      );
    const patienceMs = session.isReconnecting ? REPAIR_MS : STUCK_MS;
    if (overdue >= 2 && silentMs > patienceMs) session.rebuild('silent for too long');
  }

  #minuteNow(session: ServerSession): void {
    if (this.#parts.clock.speed !== 1) return;
    const measured = session.skewMs(this.#parts.clock.realNow);
    measured.then(
      (skewMs) => (this.#serverSkewMs = skewMs),
      (error: unknown) => this.#trouble(error),
    );
  }

  async #eachMinute(): Promise<void> {
    const session = this.#session;
    if (!session || this.#reception.presence.alive !== true) return;
    this.#minuteNow(session);
    await session.retryFaults().catch((error: unknown) => this.#trouble(error));
  }

  #sentence(error: unknown): string {
    const { server, pkiFolder } = this.#parts;
    return sentence(error, refusalBy(server, pkiFolder, this.#certificates?.shown ?? null));
  }

  /** How long those last that this attempt used. */
  #noteCertificates(): void {
    const { user } = this.#parts.server;
    const shown = this.#certificates?.shown;
    const ofServer = shown ? [{ whose: 'server', validTo: shown.validTo } as const] : [];
    const ofUser = user !== undefined && 'certificateFile' in user ? userTerm(user.certificateFile) : [];
    this.#standing.certificates = [...ofServer, ...ofUser];
  }

  #measures(): Measures {
    const { skewsMs, ...counted } = this.#reception.measures();
    return { ...counted, skewsMs: [this.#serverSkewMs, ...skewsMs] };
  }
}

/** In hurried plant time a publishing interval is many plant seconds, by which every stamp seems late. */
const lagMs = (speed: number): number => (speed > 1 ? 500 * speed : 0);
