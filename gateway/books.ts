/**
 * Reads from the store what the numbers of a window rest on, and no more: the facts inside, what held when it opened, and the end of the
 * last cycle after it.
 */
import type { Span } from '../src/calendar.ts';
import type { ChamberState } from '../src/chamber-state.ts';
import type { StoredEvent } from '../src/event.ts';
import { fleetFacts, type ChamberFacts } from '../src/facts.ts';
import { LAST_CYCLE_MS } from '../src/window.ts';
import { DAY_MS } from '../src/zone.ts';
import type { Clock } from './clock.ts';
import type { Plant } from './plant.ts';
import { portions } from './portions.ts';
import type { ReasonBook } from './reason-book.ts';
import type { EventStore } from './store/store.ts';

type BookParts = {
  readonly store: EventStore;
  readonly clock: Clock;
  readonly plant: Pick<Plant, 'chamber'>;
  readonly reasons: ReasonBook;
  /** The committed state of a chamber. */
  readonly state: (chamber: string) => ChamberState;
};

const KINDS = ['equipment-state', 'run-ended', 'alarm'] as const;
/** All that comes of a chamber's own word; a run's record comes with its end. */
const HEARD_BY = ['phase', 'run-started', 'run-ended', 'equipment-state', 'alarm', 'finding'] as const;
/** So much is read at once: a long window lets others in between. */
const PORTION_MS = 7 * DAY_MS;
/** Alarms that stood longer than this before a window are known only if they still stand. */
const STANDING_MS = 35 * DAY_MS;
/** Real time from a value's measurement to its reduction: a publishing interval of a second, the ordering window, the way. */
const ON_ITS_WAY_MS = 3_000;

export class Books {
  readonly #parts: BookParts;

  constructor(parts: BookParts) {
    this.#parts = parts;
  }

  /** Facts for `windowNumbers` over that window. */
  async facts(window: Span, chambers: readonly string[]): Promise<readonly ChamberFacts[]> {
    const wide = { from: window.from - LAST_CYCLE_MS, to: window.to + LAST_CYCLE_MS };
    const { store, reasons } = this.#parts;
    const [opening, events, standing] = await Promise.all([
      store.lastBefore('equipment-state', wide.from, chambers),
      this.#events(wide, chambers),
      this.#standingBefore(wide.from, chambers),
      reasons.settled(),
    ]);
    return fleetFacts({
      chambers,
      events: [...events, ...reasons.within(wide, chambers)],
      opening: [...opening, ...standing],
      heardUntil: this.heardUntil(chambers),
      openEnds: reasons.openEnds,
    });
  }

  /**
   * The same facts as they stood when `seq` was the newest: before a gap was healed, a word told or taken back. What a chamber had not said by
   * then is unobserved.
   */
  async factsAsOf(seq: number, window: Span, chambers: readonly string[]): Promise<readonly ChamberFacts[]> {
    const wide = { from: window.from - LAST_CYCLE_MS, to: window.to + LAST_CYCLE_MS };
    const { store } = this.#parts;
    const [opening, events, standing, told, known] = await Promise.all([
      store.lastBefore('equipment-state', wide.from, chambers, seq),
      this.#events(wide, chambers, seq),
      this.#standingBefore(wide.from, chambers),
      store.events({ chambers, kinds: ['reason', 'reason-withdrawn'], upToSeq: seq }),
      this.#knownAsOf(seq, chambers),
    ]);
    return fleetFacts({
      chambers,
      events: [...events, ...told],
      opening: [...opening, ...standing.filter((event) => event.seq <= seq)],
      heardUntil: known,
    });
  }

  /** By each chamber's newest fact of then; what persons told of it does not say that it was heard. */
  async #knownAsOf(seq: number, chambers: readonly string[]): Promise<Record<string, number>> {
    const { store } = this.#parts;
    const newest = (await Promise.all(HEARD_BY.map((kind) => store.lastBefore(kind, Infinity, chambers, seq)))).flat();
    const heard = this.heardUntil(chambers);
    const until = (chamber: string): number => Math.max(0, ...newest.filter((fact) => fact.chamber === chamber).map(({ at }) => at));
    return Object.fromEntries(chambers.map((chamber) => [chamber, Math.min(heard[chamber] ?? 0, until(chamber))]));
  }

  /**
   * Until when each chamber is known. Its values are some real time on their way, which in hurried plant time is long; a silence beyond that
   * is the plant's, and only as long as a hole that would be bridged anyway is the chamber known until now.
   */
  heardUntil(chambers: readonly string[]): Record<string, number> {
    const { clock, plant, state } = this.#parts;
    const now = clock.now();
    const known = chambers.map((chamber) => [chamber, state(chamber)] as const).filter(([, { now: heard }]) => heard > 0);
    return Object.fromEntries(
      known.map(([chamber, one]) => [
        chamber,
        this.#isBeingHeard(one, now, plant.chamber(chamber).rules.bridgeMs) ? Math.max(now, one.now) : one.now,
      ]),
    );
  }

  async #events(window: Span, chambers: readonly string[], upToSeq?: number): Promise<readonly StoredEvent[]> {
    const found: StoredEvent[][] = [];
    for (const span of portions(window, PORTION_MS))
      found.push([...(await this.#parts.store.events({ chambers, kinds: KINDS, ...span, ...(upToSeq === undefined ? {} : { upToSeq }) }))]);
    return found.flat();
  }

  /** Activations of alarms that stood at `at`, so that their standing time is whole, and what kept alarms from being annunciated then. */
  async #standingBefore(at: number, chambers: readonly string[]): Promise<readonly StoredEvent[]> {
    const from = at - STANDING_MS;
    const [recent, old] = await Promise.all([this.#parts.store.standing({ from, to: at }, chambers), this.#stillStanding(from, chambers)]);
    return [...old, ...recent];
  }

  /** Of before `at`: activations of alarms that stand to this day, and suppressions that hold to this day. */
  async #stillStanding(at: number, chambers: readonly string[]): Promise<readonly StoredEvent[]> {
    const found: StoredEvent[] = [];
    for (const chamber of chambers) {
      const since = Object.values(this.#parts.state(chamber).alarms).flatMap((alarm) =>
        [alarm.since, alarm.suppressedSince].filter((one) => one !== null && one < at).map(Number),
      );
      if (since.length === 0) continue;
      const [from, to] = [Math.min(...since), Math.max(...since) + 1];
      const events = await this.#parts.store.events({ chambers: [chamber], kinds: ['alarm'], from, to });
      found.push(...events.filter((event) => since.includes(event.at)));
    }
    return found;
  }

  #isBeingHeard({ presence, now: heard }: ChamberState, now: number, bridgeMs: number): boolean {
    const silentMs = now - heard - ON_ITS_WAY_MS * this.#parts.clock.speed;
    return presence.word === 'heard' && !presence.silent && silentMs <= bridgeMs;
  }
}
