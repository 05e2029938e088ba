/**
 * One life of a session with one server: connect, resolve namespaces, subscribe, read what must be read, close in order. It lives until
 * `ended` resolves with the reason why it must be rebuilt. The library heals short breaks inside a life; what it keeps silent about
 * (moved namespaces, refused items, lost messages) is checked here after each.
 */
import { AttributeIds } from 'node-opcua';
import type { ClientSession, OPCUACertificateManager, OPCUAClient, UserIdentityInfo } from 'node-opcua';
import type { TagNode } from '../../src/tag-map.ts';
import { acknowledge } from './acknowledge.ts';
import type { ConditionMark } from './acknowledge.ts';
import { archived } from './archive.ts';
import { conditionFilter, narrowed } from './condition-filter.ts';
import type { Conditions } from './conditions.ts';
import type { TagValue } from './intake.ts';
import type { AcknowledgeAnswer } from './link-port.ts';
import { Line } from './line.ts';
import type { LineEvents, LineName } from './line.ts';
import { nodeIdIn, operationLimits, sameNamespaces } from './namespaces.ts';
import type { Limits } from './namespaces.ts';
import type { ChildClock } from './reception.ts';
import { isVerdict } from './sentence.ts';
import { Unread } from './unread.ts';

const MOST_REPAIRS = 8;
const CLOSE_SESSION_MS = 900;
const CLOSE_CLIENT_MS = 600;
const CURRENT_TIME = 'i=2258';

export type SessionParts = {
  readonly client: OPCUAClient;
  readonly certificates: OPCUACertificateManager;
  readonly endpoint: string;
  /** Read anew for each session: a secret may have changed. */
  readonly identity: () => Promise<UserIdentityInfo>;
  readonly nodes: readonly TagNode[];
  readonly conditions: Conditions;
  readonly clock: ChildClock;
  readonly events: SessionEvents;
  /** Last heard by an earlier session; null when never. */
  readonly heardUntil: () => number | null;
};

export type SessionEvents = LineEvents & {
  readonly opened: (line: Line) => void;
  /** Values read, not published: stamps may be old. */
  readonly read: (values: readonly TagValue[]) => void;
  /** What the server kept of the time since it was last heard, and its values now. */
  readonly archived: (values: readonly TagValue[], present: readonly TagValue[]) => void;
  readonly badTags: (faults: ReadonlyMap<number, string>) => void;
  readonly trouble: (error: unknown) => void;
};

export class ServerSession {
  readonly ended: Promise<string>;
  readonly #end: (reason: string) => void;
  readonly #parts: SessionParts;
  readonly #lines: Line[] = [];
  #session: ClientSession | null = null;
  #namespaces: readonly string[] = [];
  #limits: Limits = { items: 100, reads: 100, browses: 100, histories: 100 };
  #repairs = 0;
  readonly #unread: Unread;

  constructor(parts: SessionParts) {
    const { promise, resolve } = Promise.withResolvers<string>();
    this.ended = promise;
    this.#end = resolve;
    this.#parts = parts;
    this.#unread = new Unread(parts.nodes, parts.conditions);
  }

  get isWorn(): boolean {
    return this.#repairs >= MOST_REPAIRS;
  }

  /** The library knows that the connection broke and is mending it. */
  get isReconnecting(): boolean {
    return this.#parts.client.isReconnecting;
  }

  rebuild(reason: string): void {
    this.#end(reason);
  }

  async open(): Promise<void> {
    const { client, endpoint, identity } = this.#parts;
    const user = await identity();
    await client.connect(endpoint);
    const session = await client.createSession(user);
    this.#session = session;
    session.on('session_restored', () => void this.#restored().catch((error: unknown) => this.#fail(error)));
    session.on('session_closed', () => this.#end('the server closed the session'));
    client.on('close', () => this.#end('the connection was closed'));
    // The library would try the same again and again without a word, for as long as we let it repair.
    const refused = (error: Error): void => (isVerdict(error) ? this.#end('the server did not take us back') : undefined);
    session.on('session_repaired_failed', refused);
    client.on('reconnection_attempt_has_failed', refused);
    this.#namespaces = await session.readNamespaceArray();
    this.#limits = await operationLimits(session);
    await this.#readGap(session).catch((error: unknown) => this.#parts.events.trouble(error));
    await this.#subscribe(session);
  }

  /** Before the first live value, so that the past is told in its order. */
  async #readGap(session: ClientSession): Promise<void> {
    const { nodes, clock, events, heardUntil } = this.#parts;
    const from = heardUntil();
    const tags = nodes.flatMap((node, tag) => (node.kind === 'value' ? [tag] : []));
    if (from === null || tags.length === 0) return;
    const limit = this.#limits.histories;
    const gap = { session, from, limit, nodes: this.#resolved(tags), now: clock.now, steadyMs: clock.steadyMs, speed: clock.speed };
    let present: readonly TagValue[] | null = null;
    for await (const values of archived(gap)) {
      if (values.length === 0) continue;
      present ??= await this.#present(session);
      events.archived(values, present);
    }
  }

  async #subscribe(session: ClientSession): Promise<void> {
    const { nodes, conditions } = this.#parts;
    for (const name of ['fast', 'normal', 'slow'] as const) {
      const tags = nodes.flatMap((node, tag) => (node.kind === 'value' && node.sampling === name ? [tag] : []));
      if (tags.length === 0) continue;
      const line = await this.#openLine(session, name);
      await line.addTags(this.#resolved(tags), this.#limits.items);
    }
    if (conditions.notifiers.length > 0) await this.#subscribeConditions(session);
    this.#reportFaults();
  }

  async #openLine(session: ClientSession, name: LineName): Promise<Line> {
    const line = new Line(name, this.#parts.clock.speed, this.#parts.events);
    this.#lines.push(line);
    await line.open(session);
    this.#parts.events.opened(line);
    return line;
  }

  async #subscribeConditions(session: ClientSession): Promise<void> {
    const { conditions } = this.#parts;
    const line = await this.#openLine(session, 'events');
    const notifiers = conditions.notifiers.flatMap((node, tag) => {
      const nodeId = nodeIdIn(this.#namespaces, node);
      if (nodeId === null) this.#unread.notifierWithoutNamespace(node);
      return nodeId === null ? [] : [{ tag, nodeId }];
    });
    await line.addNotifiers(notifiers, conditionFilter(conditions.choice), this.#limits.items);
    const fewer = narrowed(conditions.choice, line.answers());
    if (fewer !== null) {
      await line.clear();
      conditions.choice = fewer;
      await line.addNotifiers(notifiers, conditionFilter(fewer), this.#limits.items);
    }
    await this.#refreshConditions();
  }

  async #refreshConditions(): Promise<void> {
    const line = this.#lines.find(({ name }) => name === 'events');
    if (!line || !this.#session) return;
    try {
      await this.#parts.conditions.refresh(this.#session, line.subscriptionId);
      this.#unread.refreshFault = null;
    } catch (error) {
      // Without it we do not know what stands: the alarms are unread, and said to be.
      this.#unread.refreshFault = error instanceof Error ? error.message.slice(0, 80) : 'ConditionRefresh failed';
      this.#parts.events.trouble(error);
    }
  }

  #resolved(tags: readonly number[]): { tag: number; nodeId: string }[] {
    return tags.flatMap((tag) => {
      const node = (this.#parts.nodes[tag] as TagNode).node;
      const nodeId = nodeIdIn(this.#namespaces, node);
      if (nodeId !== null) return [{ tag, nodeId }];
      this.#unread.withoutNamespace(tag);
      return [];
    });
  }

  /** Asks every item how it is; the refused are told. */
  #reportFaults(): void {
    this.#parts.events.badTags(this.#unread.collect(this.#lines));
  }

  /** Asks again for what was refused, each minute. */
  async retryFaults(): Promise<void> {
    if (!this.#session) return;
    if (this.#unread.refreshFault !== null) await this.#refreshConditions();
    for (const line of this.#lines) {
      if (line.name === 'events') continue;
      const again = line.faults().map(({ tag }) => tag);
      for (const tag of again) line.forget(tag);
      if (again.length > 0) await line.addTags(this.#resolved(again), this.#limits.items);
    }
    if (this.#unread.size > 0) this.#reportFaults();
  }

  /** After the library repaired a broken connection. */
  async #restored(): Promise<void> {
    const session = this.#session;
    if (!session) return;
    this.#repairs++;
    if (!sameNamespaces(this.#namespaces, await session.readNamespaceArray())) return this.#end('the server numbers its namespaces anew');
    await this.#refreshConditions();
    this.#reportFaults();
    await this.readAll();
  }

  async readAll(): Promise<void> {
    if (this.#session) this.#parts.events.read(await this.#present(this.#session));
  }

  async #present(session: ClientSession): Promise<readonly TagValue[]> {
    const tags = this.#parts.nodes.flatMap((node, tag) => (node.kind === 'value' && !this.#unread.has(tag) ? [tag] : []));
    const wanted = this.#resolved(tags);
    const present: TagValue[] = [];
    for (let from = 0; from < wanted.length; from += this.#limits.reads) {
      const batch = wanted.slice(from, from + this.#limits.reads);
      const values = await session.read(
        batch.map(({ nodeId }) => ({ nodeId, attributeId: AttributeIds.Value })),
        0,
      );
      values.forEach((value, i) => present.push({ tag: (batch[i] as { tag: number }).tag, value }));
    }
    return present;
  }

  /** Server clock minus ours by its CurrentTime, half the round trip taken off; real time on both sides. */
  async skewMs(realNow: () => number): Promise<number | null> {
    if (!this.#session) return null;
    const asked = realNow();
    const said = await this.#session.read({ nodeId: CURRENT_TIME, attributeId: AttributeIds.Value });
    const answered = realNow();
    return said.value.value instanceof Date ? said.value.value.getTime() - (asked + answered) / 2 : null;
  }

  async acknowledge(mark: ConditionMark | null, about: { alarm: string; server: string; comment: string }): Promise<AcknowledgeAnswer> {
    if (this.#session === null) throw new Error('no session');
    return acknowledge(this.#session, mark, about);
  }

  #fail(error: unknown): void {
    this.#parts.events.trouble(error);
    this.#end('the session could not be checked after a repair');
  }

  /**
   * Orderly, but never longer than a second and a half. Whatever becomes of the session, the client is let go of: it would go on connecting by
   * itself, for ever.
   */
  async close(): Promise<void> {
    const { client, certificates } = this.#parts;
    client.removeAllListeners('close');
    for (const line of this.#lines) line.end();
    if (this.#session) await bounded(this.#session.close(true), CLOSE_SESSION_MS);
    await bounded(
      client.disconnect().finally(() => certificates.dispose()),
      CLOSE_CLIENT_MS,
    );
  }
}

async function bounded(work: Promise<void>, ms: number): Promise<void> {
  let timer: NodeJS.Timeout | undefined;
  const late = new Promise<void>((resolve) => (timer = setTimeout(resolve, ms)));
  // A session that cannot be closed in order is left to the server's time-out.
  await Promise.race([work.catch(() => undefined), late]);
  clearTimeout(timer);
}
