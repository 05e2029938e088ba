/**
 * Reads from the store what the numbers of a window rest on, and no more: the facts inside, what held when it opened, and the end of the
 * last cycle after it.
 */
import type { Span } from '../src/calendar.ts';
import type { ChamberState } from '../src/chamber-state.ts';
import type { StoredEvent } from '../src/event.ts';
import { fleetFacts, type ChamberFacts } from '../src/facts.ts';
import { DEFAULT_RULES } from '../src/chamber-rules.ts';
import { LAST_CYCLE_MS } from '../src/window.ts';
import type { Clock } from './clock.ts';
import type { EventStore } from './store/store.ts';

export type BookParts = {
  readonly store: EventStore;
  readonly clock: Clock;
  /** The committed state of a chamber. */
  readonly state: (chamber: string) => ChamberState;
};

export class Books {
  readonly #parts: BookParts;

  constructor(parts: BookParts) {
    this.#parts = parts;
  }

  /** Facts for `windowNumbers` over that window. */
  async facts(window: Span, chambers: readonly string[]): Promise<readonly ChamberFacts[]> {
    const wide = { from: window.from - LAST_CYCLE_MS, to: window.to + LAST_CYCLE_MS };
    const { store } = this.#parts;
    const [opening, events, standing] = await Promise.all([
      store.lastBefore('equipment-state', wide.from, chambers),
      store.events({ chambers, kinds: ['equipment-state', 'run-ended', 'alarm'], ...wide }),
      this.#standingBefore(wide.from, chambers),
    ]);
    return fleetFacts({ chambers, events, opening: [...opening, ...standing], heardUntil: this.heardUntil(chambers) });
  }

  /**
   * Until when each chamber is known. Values come some moments after they were measured: a chamber that is being heard is known until now,
   * as long as the hole is one that would be bridged anyway.
   */
  heardUntil(chambers: readonly string[]): Record<string, number> {
    const { clock, state } = this.#parts;
    const now = clock.now();
    const known = chambers.map((chamber) => [chamber, state(chamber)] as const).filter(([, { now: heard }]) => heard > 0);
    return Object.fromEntries(
      known.map(([chamber, one]) => [chamber, isBeingHeard(one, now, clock.speed) ? Math.max(now, one.now) : one.now]),
    );
  }

  /** Activations of alarms that stand since before `at`, so that their standing time is whole. */
  async #standingBefore(at: number, chambers: readonly string[]): Promise<readonly StoredEvent[]> {
    const found: StoredEvent[] = [];
    for (const chamber of chambers) {
      const since = Object.values(this.#parts.state(chamber).alarms).flatMap((alarm) =>
        alarm.since !== null && alarm.since < at ? [alarm.since] : [],
      );
      if (since.length === 0) continue;
      const [from, to] = [Math.min(...since), Math.max(...since) + 1];
      const events = await this.#parts.store.events({ chambers: [chamber], kinds: ['alarm'], from, to });
      found.push(...events.filter((event) => since.includes(event.at)));
    }
    return found;
  }
}

function isBeingHeard({ presence, now: heard }: ChamberState, now: number, speed: number): boolean {
  return presence.word === 'heard' && !presence.silent && now - heard <= DEFAULT_RULES.bridgeMs * speed;
}
