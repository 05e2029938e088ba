/** What is usual per chamber, from the books: recomputed at start and once a day, because habits and plants change. */
import { burstBaseline, type BurstBaseline } from '../src/burst.ts';
import { fleetFacts } from '../src/facts.ts';
import { stateIntervals } from '../src/interval.ts';
import type { EventStore } from './store/store.ts';

/** Older habits say little about today's. */
const LOOK_BACK_MS = 90 * 86_400_000;

export type BaselineQuery = {
  readonly chambers: readonly string[];
  readonly now: number;
  /** False alerts accepted per chamber in 30 days. */
  readonly epsilon: number;
  readonly heardUntil: Readonly<Record<string, number>>;
};

export async function burstBaselines(store: EventStore, query: BaselineQuery): Promise<ReadonlyMap<string, BurstBaseline>> {
  const from = query.now - LOOK_BACK_MS;
  const baselines = new Map<string, BurstBaseline>();
  // One chamber at a time: a year of a large fleet must not be in memory at once.
  for (const chamber of query.chambers) {
    const opening = await store.lastBefore('equipment-state', from, [chamber]);
    const events = await store.events({ chambers: [chamber], kinds: ['equipment-state', 'alarm'], from, to: query.now });
    const [facts] = fleetFacts({ chambers: [chamber], events, opening, heardUntil: query.heardUntil });
    if (facts === undefined) continue;
    const intervals = stateIntervals(facts, { from, to: query.now }, []);
    baselines.set(chamber, burstBaseline({ chamber, alarms: facts.alarms, intervals, epsilon: query.epsilon }));
  }
  return baselines;
}
