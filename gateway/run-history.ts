/**
 * What every chamber's runs left behind, as little of it as drift charts and counters need: read from the store once, in portions, when first asked
 * for, and from then on kept by hearing of committed facts.
 */
import type { CountedRun } from '../src/counters.ts';
import type { Work } from '../src/drift-reset.ts';
import { runFigures, trimmed, type RunFigures } from '../src/drift-series.ts';
import type { EventOf, StoredEvent } from '../src/event.ts';
import { effectiveEntries, toldSpans } from '../src/reason.ts';
import { DAY_MS } from '../src/zone.ts';
import type { Clock } from './clock.ts';
import { portions } from './portions.ts';
import type { EventStore } from './store/store.ts';

type Told = EventOf<'reason'> | EventOf<'reason-withdrawn'>;
type Kept = {
  runs: readonly RunFigures[];
  counted: readonly CountedRun[];
  told: Told[];
  /** Ended runs and records that wait for each other. */
  readonly ended: Map<string, EventOf<'run-ended'>>;
  readonly records: Map<string, EventOf<'run-record'>>;
  rev: number;
};
export type ChamberHistory = {
  /** Ascending in time. */
  readonly runs: readonly RunFigures[];
  readonly counted: readonly CountedRun[];
  /** Told by persons, with the parts worked on; from `at` on baselines begin anew. */
  readonly work: readonly (Work & { readonly from: number; readonly reason: string })[];
  /** Grows with every fact heard. */
  readonly rev: number;
};

const KINDS = ['run-ended', 'run-record', 'reason', 'reason-withdrawn'] as const;
const STATES_AROUND_MS = 61 * DAY_MS;
const LOOK_BACK_MS = 400 * DAY_MS;
const PORTION_MS = 7 * DAY_MS;
/** Of all chambers together, and of one. */
const MOST_RUNS = 500_000;
const MOST_OF_ONE = 4_000;
const FEWEST_OF_ONE = 1_000;

export type HistoryParts = { readonly store: EventStore; readonly clock: Clock; readonly chambers: number };

export class RunHistory {
  readonly #parts: HistoryParts;
  readonly #most: number;
  readonly #read = new Map<string, Promise<Kept>>();

  constructor(parts: HistoryParts) {
    this.#parts = parts;
    this.#most = Math.max(FEWEST_OF_ONE, Math.min(MOST_OF_ONE, Math.floor(MOST_RUNS / Math.max(1, parts.chambers))));
  }

  async of(chamber: string): Promise<ChamberHistory> {
    const kept = await this.#keptOf(chamber);
    const work = await this.#work(chamber, kept.told);
    return { runs: kept.runs, counted: kept.counted, work, rev: kept.rev };
  }

  /** What was committed. A chamber nobody has asked for yet is read whole later. */
  note(stored: readonly StoredEvent[]): void {
    const news = stored.filter(isOurs);
    if (news.length === 0) return;
    for (const [chamber, events] of Map.groupBy(news, (event) => event.chamber)) {
      // Where the reading failed the chamber is read whole again.
      void this.#read.get(chamber)?.then(
        (kept) => this.#take(kept, events),
        () => undefined,
      );
    }
  }

  #keptOf(chamber: string): Promise<Kept> {
    const known = this.#read.get(chamber);
    if (known !== undefined) return known;
    const reading = this.#readAll(chamber);
    this.#read.set(chamber, reading);
    // A store that failed once may answer the next time.
    reading.catch(() => this.#read.delete(chamber));
    return reading;
  }

  async #readAll(chamber: string): Promise<Kept> {
    const { store, clock } = this.#parts;
    const kept: Kept = { runs: [], counted: [], told: [], ended: new Map(), records: new Map(), rev: 0 };
    const extent = await store.extent();
    if (extent === null) return kept;
    const span = { from: Math.max(extent.first, clock.now() - LOOK_BACK_MS), to: Math.max(extent.last, clock.now()) + 1 };
    for (const portion of portions(span, PORTION_MS)) {
      this.#take(kept, (await store.events({ chambers: [chamber], kinds: KINDS, ...portion })).filter(isOurs));
    }
    return kept;
  }

  #take(kept: Kept, events: readonly OurEvent[]): void {
    const [runs, counted]: [RunFigures[], CountedRun[]] = [[], []];
    for (const event of events) {
      if (event.kind === 'reason' || event.kind === 'reason-withdrawn') kept.told.push(event);
      else if (event.kind === 'run-ended') kept.ended.set(event.run, event);
      else kept.records.set(event.run, event);
      if (event.kind !== 'run-ended' && event.kind !== 'run-record') continue;
      const [ended, record] = [kept.ended.get(event.run), kept.records.get(event.run)?.record];
      if (ended === undefined || record === undefined) continue;
      kept.ended.delete(event.run);
      kept.records.delete(event.run);
      runs.push(runFigures({ ...ended, record }));
      counted.push({ at: ended.at, counts: record.counts, meters: record.meters });
    }
    this.#keep(kept, runs, counted);
    // After a new start no more would be read.
    const oldest = this.#parts.clock.now() - LOOK_BACK_MS;
    if (kept.told.some(({ at }) => at < oldest)) kept.told = kept.told.filter(({ at }) => at >= oldest);
    kept.rev += 1;
  }

  #keep(kept: Kept, runs: readonly RunFigures[], counted: readonly CountedRun[]): void {
    if (runs.length === 0) return;
    const beginnings = kept.told.flatMap((told) => (told.kind === 'reason' && told.workedOn.length > 0 ? [told.to ?? told.enteredAt] : []));
    kept.runs = trimmed(inOrder(kept.runs, runs), this.#most, beginnings);
    kept.counted = trimmed(inOrder(kept.counted, counted), this.#most, beginnings);
    for (const waiting of [kept.ended, kept.records]) for (const run of [...waiting.keys()].slice(0, -MOST_WAITING)) waiting.delete(run);
  }

  /** Entries that hold and name parts, as far as they are over. */
  async #work(chamber: string, told: readonly Told[]): Promise<ChamberHistory['work']> {
    const entries = effectiveEntries(told).filter(({ workedOn }) => workedOn.length > 0);
    const open = entries.filter(({ to }) => to === null);
    const spans = toldSpans(entries, open.length === 0 ? [] : await this.#statesAround(chamber, open));
    const now = this.#parts.clock.now();
    return spans
      .filter(({ to }) => to <= now)
      .map(({ entry, from, to }) => ({ from, at: to, parts: entry.workedOn, reason: entry.reason }))
      .sort((a, b) => a.at - b.at);
  }

  async #statesAround(chamber: string, open: readonly EventOf<'reason'>[]): Promise<readonly EventOf<'equipment-state'>[]> {
    const { store } = this.#parts;
    const from = Math.min(...open.map(({ enteredAt }) => enteredAt));
    const to = Math.max(...open.map(({ enteredAt }) => enteredAt)) + STATES_AROUND_MS;
    const [opening, events] = await Promise.all([
      store.lastBefore('equipment-state', from, [chamber]),
      store.events({ chambers: [chamber], kinds: ['equipment-state'], from, to }),
    ]);
    return [...opening, ...events].filter((event) => event.kind === 'equipment-state').toSorted((a, b) => a.at - b.at || a.seq - b.seq);
  }
}

/** More than this many runs do not wait for their other half. */
const MOST_WAITING = 50;

type OurEvent = Extract<StoredEvent, { kind: (typeof KINDS)[number] }>;
const isOurs = (event: StoredEvent): event is OurEvent => (KINDS as readonly string[]).includes(event.kind);

/** The same run told twice, as when it is heard of while it is read, is one. */
function inOrder<T extends { readonly at: number }>(known: readonly T[], news: readonly T[]): readonly T[] {
  const last = known.at(-1)?.at ?? -Infinity;
  if (news.every((each, i) => each.at > (news[i - 1]?.at ?? last))) return [...known, ...news];
  const byTime = new Map([...known, ...news].map((each) => [each.at, each]));
  return [...byTime.values()].toSorted((a, b) => a.at - b.at);
}
