/**
 * What is usual per chamber, from the books: recomputed at start and once a day, because habits and plants change. What the house did to several
 * chambers at once is no habit of any of them ([BU2], [BU8] of src/burst.ts): the time of a common cause is left out.
 */
import { burstBaseline, type BurstBaseline } from '../src/burst.ts';
import type { Span } from '../src/calendar.ts';
import type { Alert } from '../src/contract.ts';
import { fleetFacts } from '../src/facts.ts';
import { stateIntervals } from '../src/interval.ts';
import type { AlertStore, EventStore } from './store/store.ts';

/** Older habits say little about today's. */
const LOOK_BACK_MS = 90 * 86_400_000;

export type BaselineQuery = {
  readonly chambers: readonly string[];
  readonly now: number;
  /** False alerts accepted per chamber in 30 days. */
  readonly epsilon: number;
  readonly heardUntil: Readonly<Record<string, number>>;
};

export async function burstBaselines(
  store: EventStore & Pick<AlertStore, 'alerts'>,
  query: BaselineQuery,
): Promise<ReadonlyMap<string, BurstBaseline>> {
  const from = query.now - LOOK_BACK_MS;
  const causes = await store.alerts({ kinds: ['common-cause'], from, to: query.now });
  const baselines = new Map<string, BurstBaseline>();
  // One chamber at a time: a year of a large fleet must not be in memory at once.
  for (const chamber of query.chambers) {
    const opening = await store.lastBefore('equipment-state', from, [chamber]);
    const events = await store.events({ chambers: [chamber], kinds: ['equipment-state', 'alarm'], from, to: query.now });
    const [facts] = fleetFacts({ chambers: [chamber], events, opening, heardUntil: query.heardUntil });
    if (facts === undefined) continue;
    const intervals = stateIntervals(facts, { from, to: query.now }, []);
    baselines.set(
      chamber,
      burstBaseline({ chamber, alarms: facts.alarms, intervals, epsilon: query.epsilon, past: pastOf(chamber, causes, query.now) }),
    );
  }
  return baselines;
}

const pastOf = (chamber: string, causes: readonly Alert[], now: number): readonly Span[] =>
  causes
    .filter(({ together }) => together.includes(chamber))
    .map(({ startedAt, closedAt, alarms }) => ({ from: alarms?.firstOut?.at ?? startedAt, to: closedAt ?? now }));
