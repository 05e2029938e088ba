/**
 * The alarm journal: each activation with the moment it returned to normal, however long after the window that was. Newest first, read day by
 * day going back, so that who wants the last hundred does not wait for a year.
 */
import type { AlarmRow } from '../src/contract.ts';
import type { EventOf, StoredEvent } from '../src/event.ts';
import type { Span } from '../src/calendar.ts';
import { DAY_MS } from '../src/zone.ts';
import { portionsBack } from './portions.ts';
import type { EventStore } from './store/store.ts';

/** How far after the window one look for the end of its alarms reaches. */
const STRIDE_MS = 7 * DAY_MS;

type JournalQuery = { readonly window: Span; readonly chambers: readonly string[]; readonly now: number };

type AlarmFact = StoredEvent & EventOf<'alarm'>;
/** When an alarm cleared next, by chamber and code. */
type Clearings = Map<string, number>;

export async function* alarmJournal(store: EventStore, query: JournalQuery): AsyncGenerator<readonly AlarmRow[]> {
  const { window, chambers } = query;
  const cleared = await clearedAfter(store, query);
  for (const span of portionsBack(window)) {
    const facts = (await store.events({ chambers, kinds: ['alarm'], ...span, order: 'newest' })).filter(isAlarm);
    yield facts.flatMap((fact) => rowOf(fact, cleared));
  }
}

/** Going back in time: a clearing is remembered for the activations before it. */
function rowOf(fact: AlarmFact, cleared: Clearings): AlarmRow[] {
  if (fact.change === 'cleared') cleared.set(keyOf(fact), fact.at);
  if (fact.change !== 'activated') return [];
  const { kind: _kind, change: _change, seq: _seq, ...row } = fact;
  return [{ ...row, clearedAt: cleared.get(keyOf(fact)) ?? null }];
}

/** The first clearing after the window of each alarm that stood at its end. */
async function clearedAfter(store: EventStore, { window, chambers, now }: JournalQuery): Promise<Clearings> {
  const open = new Map((await store.standing(window, chambers)).filter(isAlarm).map((fact) => [keyOf(fact), fact.chamber]));
  const cleared: Clearings = new Map();
  for (let from = window.to; open.size > 0 && from <= now; from += STRIDE_MS) {
    const after = await store.events({ chambers: [...new Set(open.values())], kinds: ['alarm'], from, to: from + STRIDE_MS });
    const clearings = after.filter(isAlarm).filter(({ change }) => change === 'cleared');
    for (const fact of clearings.sort((a, b) => a.at - b.at)) if (open.delete(keyOf(fact))) cleared.set(keyOf(fact), fact.at);
  }
  return cleared;
}

const isAlarm = (event: StoredEvent): event is AlarmFact => event.kind === 'alarm';
const keyOf = ({ chamber, code }: AlarmFact): string => JSON.stringify([chamber, code]);
