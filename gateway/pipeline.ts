/**
 * From readings to committed facts. One turn at a time: what arrived meanwhile is put in order, each chamber's reducer takes its readings,
 * the alert watch sees the events, all of it goes to the store in one append, and only when that answered is anybody told.
 * - At most one append is in flight; readings gather while it runs.
 * - What `chamber()` shows is committed: a state is taken over only after its append.
 * - A reducer that breaks an invariant, or a store that fails, ends the pipeline (`onFatal`): the process must start again from disk.
 * - After a restart each chamber goes on from its stored state, and the time since it was last heard is a hole.
 */
import type { Alert, Delivery } from '../src/contract.ts';
import type { FindingsInput } from '../src/alert-finding.ts';
import type { ChamberState } from '../src/chamber-state.ts';
import type { ChamberEvent, StoredEvent } from '../src/event.ts';
import { Fault } from '../src/fault.ts';
import { KEPT } from '../src/kept-name.ts';
import type { Reading } from '../src/reading.ts';
import type { SignalName } from '../src/signal.ts';
import { restoredState } from '../src/stored-state.ts';
import type { Dropped } from '../src/unmapped.ts';
import type { Clock } from './clock.ts';
import { Intake, type IntakeCounters } from './intake.ts';
import { Seam } from './seam.ts';
import type { AuditRow, Commit, EventStore } from './store/store.ts';

const TICK_MS = 200;
const QUIET_SNAPSHOT_MS = 10_000;
const WATCH = KEPT.alertWatch;

/** The pure core as the pipeline drives it; gateway/core.ts binds it to a site's rules. Watch states are plain JSON values. */
export type Core<Watch> = {
  /** Ids of the chambers, in the site's order. */
  readonly chambers: readonly string[];
  readonly initialChamber: (chamber: string) => ChamberState;
  readonly observe: (
    chamber: string,
    state: ChamberState,
    reading: Reading,
  ) => { readonly state: ChamberState; readonly events: readonly ChamberEvent[] };
  /** Puts readings in order of time: what comes back is final. `now` null lets go of everything that waits. */
  readonly order: (readings: readonly Reading[], now: number | null) => readonly Reading[];
  /** The state of a chamber that the site no longer maps these signals of. */
  readonly without?: (chamber: string, state: ChamberState, signals: readonly SignalName[]) => ChamberState;
  readonly initialWatch: () => Watch;
  /** A stored watch state, perhaps of an older program. */
  readonly restoredWatch: (stored: unknown) => Watch;
  readonly watch: (state: Watch, batch: WatchBatch) => { readonly state: Watch; readonly alerts: readonly Alert[] };
};
export type WatchBatch = {
  readonly events: readonly ChamberEvent[];
  /** What was found that is in no event: it enters with this batch, and what the watch made of it is in the same commit. */
  readonly findings?: readonly FindingsInput[];
  readonly now: number;
  /** The first batch after a start: until now nobody watched. */
  readonly restarted?: boolean;
};

/** What a turn changed. `stored` are the new facts in order; `chambers` were touched, with or without a new fact. */
export type Committed = {
  readonly stored: readonly StoredEvent[];
  readonly chambers: readonly string[];
  readonly alerts: readonly Alert[];
};

/** Facts by a person, with the rows that say who did it. */
export type Deed = { readonly events: readonly ChamberEvent[]; readonly audit: readonly AuditRow[] };

/** Another site file as the pipeline sees it. */
export type SiteTurn = {
  /** The chambers from now on. */
  readonly chambers: readonly string[];
  /** What chambers that stay no longer tell. */
  readonly dropped: readonly Dropped[];
  /** Has the core take over the new rules. */
  readonly take: () => void;
};
type WaitingChange = { readonly turn: SiteTurn; readonly done: PromiseWithResolvers<void> };
type WaitingDeed = { readonly deed: Deed; readonly done: PromiseWithResolvers<readonly StoredEvent[]> };

export type PipelineParts<Watch> = {
  readonly store: EventStore;
  readonly core: Core<Watch>;
  /** Chambers that the site file had before: their last state can be asked for. */
  readonly former?: readonly string[];
  /** The messages that these alerts cause: they go into the same commit. */
  readonly planned: (alerts: readonly Alert[], now: number) => readonly Delivery[];
  readonly clock: Clock;
  readonly onCommitted: (news: Committed) => void;
  /** Readings in their final order, for traces. */
  readonly onOrdered: (readings: readonly Reading[]) => void;
  readonly onFatal: (error: unknown) => void;
  readonly intake?: Intake;
};

export class Pipeline<Watch> {
  readonly #parts: PipelineParts<Watch>;
  readonly #intake: Intake;
  readonly #states = new Map<string, ChamberState>();
  /** Of chambers that the site file had before. */
  readonly #former = new Map<string, ChamberState>();
  /** Chambers whose stored state is behind, the first of them since `#behindSince` (steady). */
  readonly #behind = new Set<string>();
  #behindSince = 0;
  #turnedMs = -Infinity;
  #slowestCommitMs = 0;
  readonly #seam = new Seam();
  #watch: Watch;
  #deeds: WaitingDeed[] = [];
  readonly #findings: FindingsInput[] = [];
  #changes: WaitingChange[] = [];
  #running: Promise<void> | null = null;
  #timer: NodeJS.Timeout | null = null;
  #started = false;
  #ended = false;

  constructor(parts: PipelineParts<Watch>) {
    this.#parts = parts;
    this.#intake = parts.intake ?? new Intake();
    this.#watch = parts.core.initialWatch();
  }

  /** Takes up where the store stopped. Every chamber that was heard before is unheard since then, but for those that the link hears already. */
  async start(): Promise<void> {
    const stored = await this.#parts.store.snapshots();
    const { core } = this.#parts;
    const watch = stored.get(WATCH);
    if (watch !== undefined) this.#watch = core.restoredWatch(restored(WATCH, watch));
    for (const chamber of core.chambers) this.#states.set(chamber, this.#restored(chamber, stored));
    for (const chamber of this.#parts.former ?? []) this.#former.set(chamber, this.#restored(chamber, stored));
    const waiting = this.#intake.take();
    this.#seam.close(this.#states, waiting);
    this.#intake.add(waiting);
    await this.#turn([...this.#states].flatMap(([chamber, state]) => (this.#seam.hasClosed(chamber) ? [] : silence(chamber, state))));
    this.#started = true;
    this.#timer = setInterval(() => this.#wake(), TICK_MS);
  }

  accept(readings: readonly Reading[]): void {
    if (this.#ended) return;
    this.#intake.add(readings);
    this.#wake();
  }

  /** What was found enters the watch with the next turn. */
  find(findings: FindingsInput): void {
    if (this.#ended) return;
    this.#findings.push(findings);
    this.#wake();
  }

  /** Commits what a person did, between two turns, and resolves when it was told. */
  record(deed: Deed): Promise<readonly StoredEvent[]> {
    if (this.#ended) return Promise.reject(new Fault('unavailable', 'The gateway is stopping. Try again in a moment.'));
    const done = Promise.withResolvers<readonly StoredEvent[]>();
    this.#deeds.push({ deed, done });
    this.#wake();
    return done.promise;
  }

  /**
   * Takes another site over between two turns: chambers that go are silent from their last word on and their state stays in the store; those that
   * come begin, or go on from what is stored with a hole; what the others no longer tell is let go of. Resolves when it is on disk.
   */
  change(turn: SiteTurn): Promise<void> {
    if (this.#ended) return Promise.reject(new Fault('unavailable', 'The gateway is stopping. Try again in a moment.'));
    const done = Promise.withResolvers<void>();
    this.#changes.push({ turn, done });
    this.#wake();
    return done.promise;
  }

  /** The committed state, of a former chamber its last; `not-found` for a chamber the site never had. */
  chamber(id: string): ChamberState {
    const state = this.#states.get(id) ?? this.#former.get(id);
    if (state === undefined) throw new Fault('not-found', `There is no chamber ${id}.`);
    return state;
  }

  /** When the last turn was over, on the steady clock: a pipeline that hangs has none. */
  get turnedMs(): number {
    return this.#turnedMs;
  }

  /** The longest commit of a turn since it was last asked. */
  takeSlowestCommitMs(): number {
    const slowest = this.#slowestCommitMs;
    this.#slowestCommitMs = 0;
    return slowest;
  }

  get watchState(): Watch {
    return this.#watch;
  }

  get counters(): IntakeCounters & { readonly waiting: number } {
    return { ...this.#intake.counters, waiting: this.#intake.size };
  }

  /** Works off what waits, stores every state, and takes nothing more. */
  async stop(): Promise<void> {
    if (this.#timer) clearInterval(this.#timer);
    await this.#running;
    if (this.#ended) return;
    this.#ended = true;
    this.#refuseDeeds();
    const last = this.#intake.take();
    await this.#turn([...this.#parts.core.order(last, null)]);
    if (this.#behind.size > 0) await this.#parts.store.append(this.#commit([], [], [...this.#behind], this.#states, this.#watch));
  }

  #wake(): void {
    if (this.#running !== null || this.#ended || !this.#started) return;
    this.#running = this.#work()
      .catch((error: unknown) => {
        this.#ended = true;
        if (this.#timer) clearInterval(this.#timer);
        this.#refuseDeeds();
        this.#parts.onFatal(error);
      })
      .finally(() => (this.#running = null));
  }

  async #work(): Promise<void> {
    do {
      await this.#turn(this.#parts.core.order(this.#intake.take(), this.#parts.clock.now()));
      for (let next = this.#deeds.shift(); next !== undefined; next = this.#deeds.shift()) await this.#record(next);
      for (let next = this.#changes.shift(); next !== undefined; next = this.#changes.shift()) await this.#takeOver(next);
    } while (this.#intake.size > 0);
  }

  async #record({ deed, done }: WaitingDeed): Promise<void> {
    try {
      const watched = this.#parts.core.watch(this.#watch, { events: deed.events, now: this.#parts.clock.now() });
      const commit = this.#commit(deed.events, watched.alerts, [], new Map(), watched.state);
      const stored = await this.#parts.store.append({ ...commit, audit: deed.audit });
      this.#watch = watched.state;
      this.#parts.onCommitted({ stored, chambers: [...new Set(stored.map((event) => event.chamber))], alerts: watched.alerts });
      done.resolve(stored);
    } catch (error) {
      done.reject(error);
      throw error;
    }
  }

  async #takeOver({ turn, done }: WaitingChange): Promise<void> {
    try {
      await this.#change(turn);
      done.resolve();
    } catch (error) {
      done.reject(error);
      throw error;
    }
  }

  async #change({ chambers, dropped, take }: SiteTurn): Promise<void> {
    const gone = [...this.#states].filter(([chamber]) => !chambers.includes(chamber));
    const now = this.#parts.clock.now();
    await this.#turn([
      ...dropped.flatMap((drop) => lastWords(drop, this.#states.get(drop.chamber), now)),
      ...gone.flatMap(([chamber, state]) => silence(chamber, state)),
    ]);
    await this.#parts.store.append(
      this.#commit(
        [],
        [],
        gone.map(([chamber]) => chamber),
        this.#states,
        this.#watch,
      ),
    );
    for (const [chamber] of gone) this.#retire(chamber);
    take();
    for (const { chamber, signals } of dropped) this.#forget(chamber, signals);
    const come = chambers.filter((chamber) => !this.#states.has(chamber));
    const stored = come.length === 0 ? new Map<string, string>() : await this.#parts.store.snapshots();
    for (const chamber of come) {
      this.#states.set(chamber, this.#restored(chamber, stored));
      this.#former.delete(chamber);
    }
    await this.#turn(come.flatMap((chamber) => silence(chamber, this.#states.get(chamber) as ChamberState)));
  }

  #retire(chamber: string): void {
    this.#former.set(chamber, this.#states.get(chamber) as ChamberState);
    this.#states.delete(chamber);
    this.#behind.delete(chamber);
  }

  #forget(chamber: string, signals: readonly SignalName[]): void {
    const state = this.#states.get(chamber);
    if (state === undefined || this.#parts.core.without === undefined) return;
    this.#states.set(chamber, this.#parts.core.without(chamber, state, signals));
    this.#behind.add(chamber);
  }

  #restored(chamber: string, stored: ReadonlyMap<string, string>): ChamberState {
    const initial = this.#parts.core.initialChamber(chamber);
    const snapshot = stored.get(chamber);
    return snapshot === undefined ? initial : restoredState(restored(chamber, snapshot), initial);
  }

  #refuseDeeds(): void {
    for (const { done } of this.#changes.splice(0))
      done.reject(new Fault('unavailable', 'The gateway is stopping. Try again in a moment.'));
    for (const { done } of this.#deeds) done.reject(new Fault('unavailable', 'The gateway is stopping. Try again in a moment.'));
    this.#deeds = [];
  }

  /** Readings in their final order to committed and told facts. */
  async #turn(readings: readonly Reading[]): Promise<void> {
    const { core, clock, onCommitted, onOrdered } = this.#parts;
    const ordered = readings.filter((reading) => reading.signal !== 'link.alive' || !this.#seam.isKnown(reading));
    const next = new Map<string, ChamberState>();
    const events: ChamberEvent[] = [];
    for (const reading of ordered) {
      const state = next.get(reading.chamber) ?? this.#states.get(reading.chamber);
      if (state === undefined || this.#seam.isKnown(reading)) continue;
      const step = core.observe(reading.chamber, state, reading);
      next.set(reading.chamber, step.state);
      for (const event of step.events) events.push(event);
    }
    const findings = this.#findings.splice(0);
    const watched = core.watch(this.#watch, { events, findings, now: clock.now(), restarted: !this.#started });
    const changed = this.#changed(next, events, clock.steadyMs());
    const before = clock.steadyMs();
    const stored =
      events.length > 0 || watched.alerts.length > 0 || changed.due
        ? await this.#parts.store.append(this.#commit(events, watched.alerts, changed.names, next, watched.state))
        : [];
    for (const [chamber, state] of next) this.#states.set(chamber, state);
    this.#watch = watched.state;
    this.#turnedMs = clock.steadyMs();
    this.#slowestCommitMs = Math.max(this.#slowestCommitMs, this.#turnedMs - before);
    if (ordered.length > 0) onOrdered(ordered);
    if (next.size > 0 || watched.alerts.length > 0) onCommitted({ stored, chambers: [...next.keys()], alerts: watched.alerts });
  }

  /** Which states to store now: of the chambers with events; and once one waited long enough, of all that are behind, in one commit. */
  #changed(next: ReadonlyMap<string, ChamberState>, events: readonly ChamberEvent[], steadyMs: number): { names: string[]; due: boolean } {
    if (this.#behind.size === 0) this.#behindSince = steadyMs;
    for (const chamber of next.keys()) this.#behind.add(chamber);
    const due = this.#behind.size > 0 && steadyMs - this.#behindSince >= QUIET_SNAPSHOT_MS;
    const names = due ? [...this.#behind] : [...new Set(events.map((event) => event.chamber))];
    for (const name of names) this.#behind.delete(name);
    return { names, due };
  }

  #commit(
    events: readonly ChamberEvent[],
    alerts: readonly Alert[],
    names: readonly string[],
    next: ReadonlyMap<string, ChamberState>,
    watched: Watch,
  ): Commit {
    const snapshots = new Map(names.map((name) => [name, JSON.stringify(next.get(name) ?? this.#states.get(name))]));
    snapshots.set(WATCH, JSON.stringify(watched));
    return { events, snapshots, alerts, deliveries: this.#parts.planned(alerts, this.#parts.clock.now()) };
  }
}

/** Restart is silence since the last word, whatever was said before. */
function silence(chamber: string, state: ChamberState): Reading[] {
  if (state.presence.word === 'never') return [];
  const at = state.now;
  return [{ chamber, signal: 'link.alive', value: false, quality: 'good', at, timeOrigin: 'receipt', receivedAt: at }];
}

/** An alarm that nobody watches any more stands no longer, as far as anybody knows. */
function lastWords({ chamber, alarms }: Dropped, state: ChamberState | undefined, receivedAt: number): Reading[] {
  const standing = alarms.filter((code) => state?.alarms[code] !== undefined && state.alarms[code].since !== null);
  return standing.map((code) => {
    const word = { chamber, signal: `alarm.${code}`, value: false, quality: 'good', timeOrigin: 'receipt' } as const;
    return { ...word, at: state?.now ?? receivedAt, receivedAt };
  });
}

function restored(name: string, text: string): unknown {
  try {
    return JSON.parse(text);
  } catch (error) {
    throw new Fault('unreadable', `The stored state of ${name} is damaged. Put back the last backup of the data folder.`, error);
  }
}
