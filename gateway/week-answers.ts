/**
 * The week pages. A week that is over for a day (its last cycles closed) is computed once and kept until a late fact falls into it; a page
 * of the running week is kept for some seconds, so that many screens cost one computation.
 */
import { weekOf, weekPlus, weekWindow, type Span } from '../src/calendar.ts';
import type { WeekLine } from '../src/contract.ts';
import type { StoredEvent } from '../src/event.ts';
import { Fault } from '../src/fault.ts';
import type { DriftWarning, WeekChange, WeekPage } from '../src/numbers.ts';
import { earlierWeeks, weekPage, weekSummary, type WeekSummary } from '../src/week.ts';
import { LAST_CYCLE_MS } from '../src/window.ts';
import { HOUR_MS } from '../src/zone.ts';
import type { Books } from './books.ts';
import type { Clock } from './clock.ts';
import type { Plant } from './plant.ts';
import type { EventStore } from './store/store.ts';

type WeekParts = {
  readonly plant: Plant;
  readonly books: Books;
  readonly store: EventStore;
  readonly clock: Clock;
  /** What the week page tells beside its numbers. */
  readonly beside: (span: Span) => Promise<{ readonly drift: readonly DriftWarning[]; readonly changes: readonly WeekChange[] }>;
};

const FRESH_MS = 5_000;
const KEPT_WEEKS = 60;

export class WeekAnswers {
  readonly #parts: WeekParts;
  readonly #summaries = new Map<string, Promise<WeekSummary>>();
  readonly #pages = new Map<string, { readonly page: Promise<WeekPage>; readonly staleAt: number }>();

  constructor(parts: WeekParts) {
    this.#parts = parts;
  }

  async weeks(): Promise<WeekLine[]> {
    const { store, plant, clock } = this.#parts;
    const extent = await store.extent();
    if (extent === null) return [];
    const { zone } = plant.site;
    const [first, now] = [weekOf(extent.first, zone), clock.now()];
    const lines: WeekLine[] = [];
    for (let week: string | null = weekOf(now, zone); week !== null && week >= first; week = weekPlus(week, -1)) {
      const { from, to } = this.#span(week);
      lines.push({ week, from, to, hours: (to - from) / HOUR_MS, complete: now >= to });
    }
    return lines;
  }

  async week(week: string): Promise<WeekPage> {
    const span = this.#span(week);
    const { clock } = this.#parts;
    if (span.from > clock.now()) throw new Fault('not-found', `${week} has not begun. /api/weeks lists the weeks that hold facts.`);
    const kept = this.#pages.get(week);
    if (kept !== undefined && clock.steadyMs() < kept.staleAt) return kept.page;
    const page = this.#compute(week, span);
    keep(this.#pages, week, { page, staleAt: this.#isClosed(span) ? Infinity : clock.steadyMs() + FRESH_MS });
    page.catch(() => this.#pages.delete(week));
    return page;
  }

  /** The part of the week that is counted by now. */
  counted(week: string): Span {
    const { from, to } = this.#span(week);
    const now = this.#parts.clock.now();
    if (from > now) throw new Fault('not-found', `${week} has not begun. /api/weeks lists the weeks that hold facts.`);
    return { from, to: Math.min(to, now) };
  }

  /** The site file changed: calendar, chambers and limits may count otherwise. */
  forget(): void {
    this.#pages.clear();
    this.#summaries.clear();
  }

  /** Late facts change weeks that were thought finished: what rests on them is computed anew. */
  note(stored: readonly StoredEvent[]): void {
    if (stored.some(({ kind }) => kind === 'reason' || kind === 'reason-withdrawn')) {
      // A word may reach over weeks, and so does taking it back.
      this.forget();
    }
    const { zone } = this.#parts.plant.site;
    const running = this.#span(weekOf(this.#parts.clock.now(), zone)).from;
    const late = stored.filter((event) => event.at < running);
    if (late.length === 0) return;
    this.#pages.clear();
    const first = weekOf(Math.min(...late.map((event) => event.at)), zone);
    // The end of a cycle belongs to the run before it, which may be of the week before; a state, or a word that ends with it, may hold for weeks.
    const from = weekPlus(first, -1) ?? first;
    for (const week of this.#summaries.keys()) if (week >= from) this.#summaries.delete(week);
  }

  async #compute(week: string, span: Span): Promise<WeekPage> {
    const { plant, books, store, clock } = this.#parts;
    const now = clock.now();
    const extent = await store.extent();
    const previous: WeekSummary[] = [];
    for (const earlier of earlierWeeks(week, extent?.first ?? null, plant.site.zone)) previous.push(await this.#summary(earlier));
    const [facts, beside] = await Promise.all([books.facts(span, plant.during(span)), this.#parts.beside(span)]);
    const { calendar, positions } = plant;
    return weekPage({ week, facts, calendar, positions, now, previous, ...beside }) as WeekPage;
  }

  #summary(week: string): Promise<WeekSummary> {
    const kept = this.#summaries.get(week);
    if (kept !== undefined) return kept;
    const span = this.#span(week);
    const summary = this.#summarise(week, span);
    if (this.#isClosed(span)) {
      keep(this.#summaries, week, summary);
      summary.catch(() => this.#summaries.delete(week));
    }
    return summary;
  }

  async #summarise(week: string, span: Span): Promise<WeekSummary> {
    const { plant, books, clock } = this.#parts;
    const facts = await books.facts(span, plant.during(span));
    return weekSummary({ week, facts, calendar: plant.calendar, now: clock.now() }) as WeekSummary;
  }

  #isClosed(span: Span): boolean {
    return this.#parts.clock.now() >= span.to + LAST_CYCLE_MS;
  }

  #span(week: string): Span {
    const span = weekWindow(week, this.#parts.plant.site.zone);
    if (span === null) throw new Fault('invalid', `There is no ISO week ${week}.`);
    return span;
  }
}

/** Keeps the newest entries only: an endless walk through the years must not fill memory. */
function keep<V>(map: Map<string, V>, key: string, value: V): void {
  map.delete(key);
  map.set(key, value);
  const oldest = map.keys().next().value;
  if (map.size > KEPT_WEEKS && oldest !== undefined) map.delete(oldest);
}
