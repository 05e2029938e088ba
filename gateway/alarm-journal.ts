/**
 * The alarm journal: each activation with what became of it, however long after the window that was. Newest first, read day by day going back,
 * so that who wants the last hundred does not wait for a year.
 */
import type { JournalRow } from '../src/alarm-answer.ts';
import {
  alarmKey,
  firstOuts,
  isAskedFor,
  journalRowOf,
  KNOWN_BEFORE_MS,
  nextBefore,
  type JournalFilter,
  type Next,
  type Tells,
} from '../src/alarm-journal.ts';
import type { StoredEvent } from '../src/event.ts';
import type { AlarmFact } from '../src/facts.ts';
import type { Span } from '../src/calendar.ts';
import { DAY_MS, MINUTE_MS } from '../src/zone.ts';
import { portionsBack } from './portions.ts';
import type { EventStore } from './store/store.ts';

/** How far after the window one look for the end of its alarms reaches. */
const STRIDE_MS = 7 * DAY_MS;

export type JournalQuery = JournalFilter & {
  readonly window: Span;
  readonly chambers: readonly string[];
  readonly now: number;
  /** Only rows that come after this one: how the next page is asked for. */
  readonly after?: { readonly at: number; readonly seq: number } | undefined;
  /** What the machine tells of that alarm at all. */
  readonly tells: (alarm: { readonly chamber: string; readonly code: string }) => Tells;
};

type Nexts = Map<string, Next>;

export async function* alarmJournal(store: EventStore, asked: JournalQuery): AsyncGenerator<readonly JournalRow[]> {
  const query = pageOf(asked);
  const nexts = await nextsAfter(store, query);
  for (const span of portionsBack(query.window)) {
    const rows = await portion(store, { query, nexts, span });
    yield rows.filter((row) => isAskedFor(row, query) && isAfter(row, query.after));
  }
}

/** What lies after the last row shown need not be read again. */
function pageOf(query: JournalQuery): JournalQuery {
  const { window, after } = query;
  return after === undefined ? query : { ...query, window: { from: window.from, to: Math.min(window.to, after.at + 1) } };
}

const isAfter = (row: JournalRow, after: JournalQuery['after']): boolean =>
  after === undefined || row.at < after.at || (row.at === after.at && row.seq < after.seq);

type Portion = { readonly query: JournalQuery; readonly nexts: Nexts; readonly span: Span };

async function portion(store: EventStore, { query, nexts, span }: Portion): Promise<readonly JournalRow[]> {
  const { chambers, tells } = query;
  const around = { from: span.from - KNOWN_BEFORE_MS, to: span.to + MINUTE_MS };
  const facts = (await store.events({ chambers, kinds: ['alarm'], ...around, order: 'newest' })).filter(isAlarm);
  const oldestFirst = facts.toReversed();
  const outs = new Map([...Map.groupBy(oldestFirst, ({ chamber }) => chamber).values()].flatMap((own) => [...firstOuts(own)]));
  return facts
    .filter(({ at }) => at >= span.from && at < span.to)
    .flatMap((fact) => {
      const next = nexts.get(alarmKey(fact));
      nexts.set(alarmKey(fact), nextBefore(fact, next));
      if (fact.change !== 'activated') return [];
      return [journalRowOf(fact, next, { tells: tells(fact), firstOut: outs.get(fact.seq) ?? null })];
    });
}

/** What happened next, after the window, to its alarms: all of a week, and beyond it the end of those that still stood. */
async function nextsAfter(store: EventStore, { window, chambers, now }: JournalQuery): Promise<Nexts> {
  const open = new Map((await store.standing(window, chambers)).filter(isActive).map((fact) => [alarmKey(fact), fact.chamber]));
  const after: AlarmFact[] = [];
  for (let from = window.to; from <= now && (from === window.to || open.size > 0); from += STRIDE_MS) {
    const asked = from === window.to ? chambers : [...new Set(open.values())];
    const found = (await store.events({ chambers: asked, kinds: ['alarm'], from, to: from + STRIDE_MS, order: 'newest' })).filter(isAlarm);
    for (const fact of found.toReversed()) if (from === window.to || open.has(alarmKey(fact))) after.push(fact);
    for (const fact of found) if (fact.change === 'cleared') open.delete(alarmKey(fact));
  }
  const nexts: Nexts = new Map();
  for (const fact of after.reverse()) nexts.set(alarmKey(fact), nextBefore(fact, nexts.get(alarmKey(fact))));
  return nexts;
}

const isAlarm = (event: StoredEvent): event is AlarmFact => event.kind === 'alarm';
const isActive = (event: StoredEvent): event is AlarmFact => isAlarm(event) && event.change === 'activated';
