/**
 * Every reason entry and withdrawal, kept at hand: they are few, and every window, tile and strip asks for them. Also knows where entries
 * without an end do end, which may lie outside the facts that a window reads; a state fact that could move such an end has it looked up anew.
 */
import type { Span } from '../src/calendar.ts';
import type { ReasonRow } from '../src/contract.ts';
import type { EventOf, ReasonEvent, StoredEvent } from '../src/event.ts';
import { effectiveEntries, LONGEST_ENTRY_MS, openEnd } from '../src/reason.ts';
import { DAY_MS } from '../src/zone.ts';
import { portions } from './portions.ts';
import type { EventStore } from './store/store.ts';

type Entry = ReasonEvent & { readonly seq: number };
type Withdrawal = EventOf<'reason-withdrawn'>;
type Parts = { readonly store: Pick<EventStore, 'events'>; readonly onFatal: (error: unknown) => void };

/** State facts are looked through in such portions, and so many back for the state that held. */
const PORTION_MS = 7 * DAY_MS;
const BEFORE = 50;

export class ReasonBook {
  readonly #parts: Parts;
  readonly #entries = new Map<string, Entry>();
  readonly #withdrawals = new Map<string, Withdrawal>();
  /** By chamber, in the order of their precedence. */
  readonly #effective = new Map<string, readonly Entry[]>();
  /** Those of them without an end. */
  readonly #open = new Map<string, readonly Entry[]>();
  /** Of effective entries without an end: `Infinity` while the state holds. */
  readonly #ends = new Map<string, number>();
  #settling: Promise<void> = Promise.resolve();

  constructor(parts: Parts) {
    this.#parts = parts;
  }

  async start(): Promise<void> {
    this.note(await this.#parts.store.events({ kinds: ['reason', 'reason-withdrawn'] }));
    await this.settled();
  }

  /** To be told of every committed fact, after it was committed. */
  note(stored: readonly StoredEvent[]): void {
    const words = stored.filter((fact) => fact.kind === 'reason' || fact.kind === 'reason-withdrawn');
    for (const fact of words) this.#keep(fact);
    for (const chamber of new Set(words.map((fact) => fact.chamber))) this.#sort(chamber);
    const moved = new Set(words.flatMap((fact) => (fact.kind === 'reason' ? [fact.entry] : [])));
    for (const fact of stored)
      if (fact.kind === 'equipment-state') for (const entry of this.#touched(fact.chamber, fact.at)) moved.add(entry);
    if (moved.size > 0) this.#settle([...moved]);
  }

  /** Resolves when every end is known as far as it was committed. */
  settled(): Promise<void> {
    return this.#settling;
  }

  get openEnds(): ReadonlyMap<string, number> {
    return this.#ends;
  }

  /** The effective entries that reach into the span: facts for `fleetFacts`. */
  within(span: Span, chambers: readonly string[]): readonly Entry[] {
    return chambers.flatMap((chamber) => (this.#effective.get(chamber) ?? []).filter((entry) => this.#reaches(entry, span)));
  }

  effective(chamber: string): readonly ReasonEvent[] {
    return this.#effective.get(chamber) ?? [];
  }

  /** The word that holds now: one without an end, because nothing is told of the future. Null when nobody told anything. */
  holding(chamber: string, now: number): ReasonEvent | null {
    return this.#open.get(chamber)?.findLast((entry) => entry.at <= now && now < this.#reach(entry)) ?? null;
  }

  /** All entries that reach into the span, withdrawn ones too, the one entered last first. */
  rows(span: Span, chambers: readonly string[]): readonly ReasonRow[] {
    return [...this.#entries.values()]
      .filter((entry) => chambers.includes(entry.chamber) && this.#reaches(entry, span))
      .map((entry) => this.#row(entry))
      .sort((a, b) => b.enteredAt - a.enteredAt || (a.entry < b.entry ? 1 : -1));
  }

  row(entry: string): ReasonRow | null {
    const known = this.#entries.get(entry);
    return known === undefined ? null : this.#row(known);
  }

  #row(event: Entry): ReasonRow {
    const { kind: _kind, seq: _seq, at: from, ...entry } = event;
    const back = this.#withdrawals.get(entry.entry);
    const until = this.#end(event) === Infinity ? null : this.#reach(event);
    return { ...entry, from, until, withdrawnAt: back?.at ?? null, withdrawnBy: back?.by ?? null };
  }

  #reaches(entry: Entry, span: Span): boolean {
    return entry.at < span.to && this.#reach(entry) > span.from;
  }

  #reach(entry: Entry): number {
    return Math.min(this.#end(entry), entry.at + LONGEST_ENTRY_MS);
  }

  /** An entry taken back ended then; one whose end is not looked up yet holds. */
  #end({ entry, to }: Entry): number {
    return to ?? this.#ends.get(entry) ?? this.#withdrawals.get(entry)?.at ?? Infinity;
  }

  #keep(fact: StoredEvent): void {
    if (fact.kind === 'reason') this.#entries.set(fact.entry, fact);
    if (fact.kind === 'reason-withdrawn') {
      this.#withdrawals.set(fact.entry, fact);
      this.#ends.delete(fact.entry);
    }
  }

  #sort(chamber: string): void {
    const facts = [...this.#entries.values(), ...this.#withdrawals.values()].filter((fact) => fact.chamber === chamber);
    const effective = effectiveEntries(facts) as readonly Entry[];
    this.#effective.set(chamber, effective);
    this.#open.set(
      chamber,
      effective.filter(({ to }) => to === null),
    );
  }

  /** Entries without an end of which a state fact at that moment may be the end. */
  #touched(chamber: string, at: number): readonly string[] {
    const open = this.#open.get(chamber) ?? [];
    return open.filter(({ entry }) => at <= (this.#ends.get(entry) ?? Infinity)).map(({ entry }) => entry);
  }

  #settle(entries: readonly string[]): void {
    this.#settling = this.#settling.then(async () => {
      for (const entry of entries) await this.#lookUp(entry);
    });
    this.#settling.catch(this.#parts.onFatal);
  }

  async #lookUp(id: string): Promise<void> {
    const entry = this.#entries.get(id);
    if (entry === undefined || entry.to !== null || this.#withdrawals.has(id)) return;
    const { chamber, enteredAt } = entry;
    const query = { chambers: [chamber], kinds: ['equipment-state'] as const };
    const before = await this.#parts.store.events({ ...query, to: enteredAt + 1, order: 'newest', limit: BEFORE });
    const held = states(before);
    let end = Infinity;
    for (const span of portions({ from: enteredAt + 1, to: entry.at + LONGEST_ENTRY_MS }, PORTION_MS)) {
      end = openEnd([...held, ...states(await this.#parts.store.events({ ...query, ...span }))], enteredAt);
      if (end !== Infinity) break;
    }
    this.#ends.set(id, end);
  }
}

type State = EventOf<'equipment-state'> & { readonly seq: number };

const states = (events: readonly StoredEvent[]): readonly State[] =>
  events.filter((event): event is State => event.kind === 'equipment-state').sort((a, b) => a.at - b.at || a.seq - b.seq);
