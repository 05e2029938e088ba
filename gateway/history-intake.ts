/**
 * Takes a recorded or simulated past into the books: the same tag table, the same reducer and the same store as live, in large transactions,
 * told to nobody. Names in a batch are node texts, and `link:<server>` says whether a server was there: while it was not, nothing of it is
 * taken; whoever tells the past tells its values again when it is back, as a client would read them.
 * Event ids come from event time, so taking the same past twice leaves the books as after once.
 */
import { eachInBatch, type Batch } from '../src/batch.ts';
import type { Alert } from '../src/contract.ts';
import type { ChamberState } from '../src/chamber-state.ts';
import type { SiteFile } from '../src/config.ts';
import type { ChamberEvent } from '../src/event.ts';
import { KEPT } from '../src/kept-name.ts';
import type { Quality, Reading, SignalValue } from '../src/reading.ts';
import {
  forgetWords,
  readingsOf,
  tagTable,
  type RawTagValue,
  type TagNode,
  type TagTable,
  type TagTarget,
  type WordMemory,
} from '../src/tag-map.ts';
import { isSignalName } from '../src/signal.ts';
import type { SiteCore } from './core.ts';
import type { EventStore } from './store/store.ts';
import type { TraceRecorder } from './trace-recorder.ts';
import type { WatchState } from '../src/alert-watch.ts';

const EVENTS_PER_COMMIT = 5_000;
/** Between sparse values somebody must tell the reducer that time passes: dwells end although nothing changes. */
const TIME_STEP_MS = 5_000;

export type HistoryParts = {
  readonly site: SiteFile;
  readonly core: SiteCore;
  readonly store: EventStore;
  readonly recorder: TraceRecorder;
  readonly from: number;
  /** Samples older than this are not kept. */
  readonly tracesFrom: number;
};

export class HistoryIntake {
  readonly #parts: HistoryParts;
  readonly #table: TagTable;
  readonly #words: WordMemory = new Map();
  readonly #states: Map<string, ChamberState>;
  readonly #present = new Map<string, boolean>();
  #watch: WatchState;
  #events: ChamberEvent[] = [];
  #alerts: Alert[] = [];
  #samples: Reading[] = [];
  /** Of each signal the last reading before samples are kept. */
  readonly #held = new Map<string, Reading>();
  #at: number;
  #nextStep: number;
  #values = 0;

  constructor(parts: HistoryParts) {
    this.#parts = parts;
    this.#table = tagTable(parts.site);
    this.#states = new Map(parts.core.chambers.map((id) => [id, parts.core.initialChamber(id)]));
    this.#watch = parts.core.initialWatch();
    this.#at = parts.from;
    this.#nextStep = parts.from + TIME_STEP_MS;
    for (const { name } of parts.site.servers) this.#present.set(name, true);
    for (const chamber of parts.core.chambers) this.#observe(chamber, 'link.alive', true, 'good');
  }

  /** How far it got in plant time, and how many values it took. */
  get progress(): { readonly at: number; readonly values: number } {
    return { at: this.#at, values: this.#values };
  }

  /** Resolves when the next batch may come. Batches are taken one after another. */
  async take(batch: Batch): Promise<void> {
    eachInBatch(batch, (name, at, value) => this.#value(name, at, value));
    this.#values += batch.name.length;
    if (this.#samples.length > 0) await this.#record();
    if (this.#events.length >= EVENTS_PER_COMMIT) await this.#commit(new Map());
  }

  /** The past ends here: every state is stored, together with `marks` of the caller's. */
  async end(at: number, marks: ReadonlyMap<string, string>): Promise<void> {
    this.#passTime(at);
    for (const [chamber, state] of this.#states) {
      if (state.presence.word === 'heard') this.#observe(chamber, 'link.alive', true, 'good');
    }
    await this.#record();
    const states = [...this.#states].map(([chamber, state]) => [chamber, JSON.stringify(state)] as const);
    await this.#commit(new Map([...marks, ...states]), true);
  }

  #value(name: string, at: number, raw: RawTagValue): void {
    const node = this.#table.get(name);
    if (node === undefined) return;
    if (at >= this.#nextStep) this.#passTime(at);
    if (at > this.#at) this.#at = at;
    if (node.kind === 'presence') this.#presence(node, raw === true);
    else if (this.#present.get(node.server) === true) this.#read(node, raw, at);
  }

  #presence(node: TagNode, present: boolean): void {
    this.#present.set(node.server, present);
    if (!present) forgetWords(this.#words, ({ server }) => server === node.server);
    this.#read(node, present, this.#at);
  }

  #readAt = 0;
  #read(node: TagNode, raw: RawTagValue, at: number): void {
    this.#readAt = at;
    readingsOf(node, raw, 'good', this.#words, this.#each);
  }

  readonly #each = (target: TagTarget, value: SignalValue, quality: Quality): void => {
    this.#observe(target.chamber, target.signal, value, quality, this.#readAt);
  };

  #observe(chamber: string, signal: Reading['signal'], value: SignalValue, quality: Quality, at = this.#at): void {
    const reading: Reading = { chamber, signal, value, quality, at, timeOrigin: 'source', receivedAt: this.#at };
    const state = this.#states.get(chamber);
    if (state === undefined) return;
    const step = this.#parts.core.observe(chamber, state, reading);
    if (step.state !== state) this.#states.set(chamber, step.state);
    for (const event of step.events) this.#events.push(event);
    if (at >= this.#parts.tracesFrom) this.#sample(reading);
    else if (isSignalName(signal)) this.#held.set(`${chamber} ${signal}`, reading);
  }

  /** The kept samples begin with what held by then. */
  #sample(reading: Reading): void {
    if (this.#held.size > 0) {
      const silent = new Set(this.#parts.site.chambers.filter(({ server }) => this.#present.get(server) !== true).map(({ id }) => id));
      const at = this.#parts.tracesFrom;
      for (const held of this.#held.values()) if (!silent.has(held.chamber)) this.#samples.push({ ...held, at, receivedAt: at });
      this.#held.clear();
    }
    this.#samples.push(reading);
  }

  /** Lets what is due fall due, in steps, for the chambers whose server is there. */
  #passTime(to: number): void {
    for (; this.#nextStep <= to; this.#nextStep += TIME_STEP_MS) {
      this.#at = Math.max(this.#at, this.#nextStep);
      for (const { id, server } of this.#parts.site.chambers) {
        const state = this.#states.get(id);
        if (state !== undefined && state.due <= this.#at && this.#present.get(server) === true)
          this.#observe(id, 'link.alive', true, 'good');
      }
    }
    this.#at = Math.max(this.#at, to);
  }

  async #record(): Promise<void> {
    this.#parts.recorder.record(this.#samples);
    this.#samples = [];
    await this.#parts.recorder.tick(this.#at);
  }

  async #commit(snapshots: ReadonlyMap<string, string>, last = false): Promise<void> {
    const events = this.#events.sort((a, b) => a.at - b.at);
    this.#events = [];
    const watched = this.#parts.core.watch(this.#watch, { events, now: this.#at });
    this.#watch = watched.state;
    this.#alerts.push(...watched.alerts);
    const all = last ? new Map([...snapshots, [KEPT.alertWatch, JSON.stringify(this.#watch)]]) : snapshots;
    await this.#parts.store.append({ events, snapshots: all, alerts: this.#alerts });
    this.#alerts = [];
  }
}
