/**
 * The facts behind the fleet strip, kept at hand: those of the running shift and the last hour, and what is usual in shifts of its name.
 * The first come from the store once per shift and then with every commit; the second are read again about once a minute.
 */
import { previousShifts, shiftAt } from '../src/calendar.ts';
import type { StoredEvent } from '../src/event.ts';
import { fleetFacts, type ChamberFacts, type FactsInput } from '../src/facts.ts';
import { type EarlierShift, earlierShifts, usualShift, type UsualShift } from '../src/fleet-strip.ts';
import { HOUR_MS } from '../src/zone.ts';
import type { Books } from './books.ts';
import type { Clock } from './clock.ts';
import type { Plant } from './plant.ts';
import type { ReasonBook } from './reason-book.ts';
import type { EventStore } from './store/store.ts';

type StripParts = {
  readonly plant: Plant;
  readonly store: EventStore;
  readonly clock: Clock;
  readonly books: Books;
  readonly reasons: ReasonBook;
};

const KINDS = ['equipment-state', 'run-ended', 'alarm'] as const;
const EARLIER_SHIFTS = 10;
/** Real time between two looks at earlier shifts; larger fleets have more to read. */
const USUAL_MS = 60_000;
const USUAL_MS_PER_CHAMBER = 1_000;
/** Room for late facts before the window. */
const MARGIN_MS = HOUR_MS;

export class StripFacts {
  readonly #parts: StripParts;
  /** Which shift (or, between shifts, which hour) the facts at hand are of. */
  #loadedFor: string | null = null;
  #events: StoredEvent[] = [];
  #opening: readonly StoredEvent[] = [];
  #earlier: readonly EarlierShift[] = [];
  #usual: UsualShift | null = null;
  #usualAt = -Infinity;
  #loading: Promise<void> | null = null;

  constructor(parts: StripParts) {
    this.#parts = parts;
  }

  /** Whether something is to be read from the store before the strip is right again. */
  isDue(): boolean {
    const { clock, plant } = this.#parts;
    const waitMs = USUAL_MS + USUAL_MS_PER_CHAMBER * plant.ids.length;
    return this.isPast() || clock.steadyMs() - this.#usualAt >= waitMs;
  }

  /** The facts at hand are of a shift that is over: they would only gather. */
  isPast(): boolean {
    return this.#loadedFor !== this.#present().name;
  }

  /** The site file changed: chambers and shifts may be others. */
  async renew(): Promise<void> {
    await this.#loading;
    this.#loadedFor = null;
    await this.load();
  }

  /** Reads what is due; calls that come meanwhile share it. */
  load(): Promise<void> {
    this.#loading ??= this.#load().finally(() => (this.#loading = null));
    return this.#loading;
  }

  note(stored: readonly StoredEvent[]): void {
    for (const event of stored) if ((KINDS as readonly string[]).includes(event.kind)) this.#events.push(event);
  }

  facts(): readonly ChamberFacts[] {
    const { plant, books } = this.#parts;
    const heardUntil = books.heardUntil(plant.ids);
    return this.#factsOf({ events: this.#events, opening: this.#opening, heardUntil });
  }

  get usual(): UsualShift | null {
    return this.#usual;
  }

  /** What `usual` was made of. */
  get earlier(): readonly EarlierShift[] {
    return this.#earlier;
  }

  async #load(): Promise<void> {
    if (this.isPast()) await this.#loadShift();
    this.#usualAt = this.#parts.clock.steadyMs();
    this.#earlier = await this.#readEarlier();
    this.#usual = usualShift(this.#earlier);
  }

  /** Facts committed while the store is read come twice, by `note` and by the query: those noted stay, repeats fall out by their seq. */
  async #loadShift(): Promise<void> {
    const { plant, store, clock } = this.#parts;
    const present = this.#present();
    const from = Math.min(present.from, clock.now() - HOUR_MS) - MARGIN_MS;
    const [opening, events] = await Promise.all([
      store.lastBefore('equipment-state', from, plant.ids),
      store.events({ chambers: plant.ids, kinds: KINDS, from }),
    ]);
    const known = new Map([...this.#events.filter((event) => event.at >= from), ...events].map((event) => [event.seq, event]));
    this.#opening = opening;
    this.#events = [...known.values()].sort((a, b) => a.seq - b.seq);
    this.#loadedFor = present.name;
  }

  async #readEarlier(): Promise<readonly EarlierShift[]> {
    const { plant, store, clock } = this.#parts;
    const now = clock.now();
    const present = shiftAt(plant.calendar, now);
    if (present === null) return [];
    const events = new Map<number, StoredEvent>();
    for (const shift of previousShifts(plant.calendar, now, EARLIER_SHIFTS)) {
      const to = Math.min(shift.to, shift.from + now - present.from);
      const opening = await store.lastBefore('equipment-state', shift.from, plant.ids);
      const inside = await store.events({ chambers: plant.ids, kinds: ['equipment-state', 'run-ended'], from: shift.from, to });
      for (const event of [...opening, ...inside]) events.set(event.seq, event);
    }
    const heardUntil = Object.fromEntries(plant.ids.map((id) => [id, now]));
    return earlierShifts(this.#factsOf({ events: [...events.values()], heardUntil }), plant.calendar, now);
  }

  /** With what persons told of the time that the facts are of. */
  #factsOf(facts: Omit<FactsInput, 'chambers'>): readonly ChamberFacts[] {
    const { plant, clock, reasons } = this.#parts;
    const from = facts.events.reduce((first, { at }) => Math.min(first, at), clock.now());
    const told = reasons.within({ from, to: clock.now() }, plant.ids);
    return fleetFacts({ ...facts, chambers: plant.ids, events: [...facts.events, ...told], openEnds: reasons.openEnds });
  }

  #present(): { readonly name: string; readonly from: number } {
    const { plant, clock } = this.#parts;
    const now = clock.now();
    const shift = shiftAt(plant.calendar, now);
    if (shift !== null) return { name: `shift from ${shift.from}`, from: shift.from };
    const hour = Math.floor(now / HOUR_MS) * HOUR_MS;
    return { name: `no shift, hour ${hour}`, from: hour };
  }
}
