/** The alarm journal: each activation with the moment it returned to normal, however long after the window that was. */
import type { AlarmRow } from '../src/contract.ts';
import type { EventOf, StoredEvent } from '../src/event.ts';
import type { Span } from '../src/calendar.ts';
import { DAY_MS } from '../src/zone.ts';
import type { EventStore } from './store/store.ts';

/** How far after the window one look for the end of its alarms reaches. */
const STRIDE_MS = 7 * DAY_MS;

export type JournalQuery = { readonly window: Span; readonly chambers: readonly string[]; readonly limit: number; readonly now: number };

type AlarmFact = EventOf<'alarm'>;
const isAlarm = (event: StoredEvent): event is StoredEvent & AlarmFact => event.kind === 'alarm';

/** Newest first. */
export async function alarmJournal(store: EventStore, { window, chambers, limit, now }: JournalQuery): Promise<AlarmRow[]> {
  const inside = (await store.events({ chambers, kinds: ['alarm'], ...window }))
    .filter(isAlarm)
    .sort((a, b) => a.at - b.at || a.seq - b.seq);
  const rows: AlarmRow[] = [];
  const open = new Map<string, AlarmRow[]>();
  for (const fact of inside) note(fact, rows, open);
  for (let from = window.to; open.size > 0 && from <= now; from += STRIDE_MS) {
    const after = await store.events({ chambers: chambersOf(open), kinds: ['alarm'], from, to: from + STRIDE_MS });
    for (const fact of after.filter(isAlarm).sort((a, b) => a.at - b.at || a.seq - b.seq))
      if (fact.change === 'cleared') note(fact, rows, open);
  }
  return rows.reverse().slice(0, limit);
}

function note(fact: AlarmFact, rows: AlarmRow[], open: Map<string, AlarmRow[]>): void {
  const key = JSON.stringify([fact.chamber, fact.code]);
  if (fact.change === 'activated') {
    const { kind: _kind, change: _change, ...row } = fact;
    const entry = { ...row, clearedAt: null };
    rows.push(entry);
    open.set(key, [...(open.get(key) ?? []), entry]);
  } else if (fact.change === 'cleared') {
    for (const row of open.get(key) ?? []) row.clearedAt = fact.at;
    open.delete(key);
  }
}

const chambersOf = (open: ReadonlyMap<string, readonly AlarmRow[]>): string[] => [
  ...new Set([...open.values()].flat().map((row) => row.chamber)),
];
