/**
 * Bursts for the story, and what must be true of alerts whenever the process dies: the facts in the store led to exactly the alerts in it,
 * and each alert has its messages for each route, once.
 */
import type { DatabaseSync } from 'node:sqlite';
import { siteCore } from '../../gateway/core.ts';
import type { Alert, Delivery } from '../../src/contract.ts';
import type { StoredEvent } from '../../src/event.ts';
import type { Reading } from '../../src/reading.ts';
import { victimSite } from './victim-site.ts';

const CHAMBERS = victimSite().chambers.map(({ id }) => id);
/** The other kinds hang on the clock as well: when the process was dead, they could not be seen. */
const OF_FACTS_ALONE: readonly Alert['kind'][] = ['burst', 'flood'];
/** More than a flood needs, each a code of its own: none is collapsed. */
const CODES = Array.from({ length: 14 }, (_, n) => `STORY_${n}`);

/** What a minute ending at `to` adds: every minute another chamber has a burst, each one again when its last is long over. */
export function burstReadings(minute: number, to: number): readonly Reading[] {
  return CHAMBERS.flatMap((chamber, n) =>
    CODES.flatMap((code, i) => {
      const word = (at: number, value: boolean): Reading => ({
        ...{ chamber, signal: `alarm.${code}`, value, quality: 'good', at, timeOrigin: 'source', receivedAt: to },
      });
      const clear = word(to - 59_000, false);
      const at = to - 20_000 + i * 1_000;
      return minute % CHAMBERS.length === n ? [clear, word(at, true), word(at + 900, false)] : [clear];
    }),
  );
}

export type Outbox = { readonly alerts: readonly Alert[]; readonly deliveries: readonly Delivery[] };

export function readOutbox(db: DatabaseSync): Outbox {
  const bodies = (table: string): unknown[] =>
    db
      .prepare(`select body from ${table} order by rowid`)
      .all()
      .map((row) => JSON.parse(String(row['body'])));
  return { alerts: bodies('alert') as Alert[], deliveries: bodies('delivery') as Delivery[] };
}

export function outboxFaults({ alerts, deliveries }: Outbox, events: readonly StoredEvent[]): string[] {
  const expected = alertsOf(events);
  const stored = new Set(alerts.filter(({ kind }) => OF_FACTS_ALONE.includes(kind)).map(({ id }) => id));
  const told = deliveries
    .filter(({ route, stage }) => route === 'hook' && (stage === 'opened' || stage === 'closed'))
    .map(({ alert, stage }) => `${alert} ${stage}`);
  const due = alerts.filter(({ partOf }) => partOf === null).flatMap(stagesOf);
  // What became part of a wider alert may have been told before.
  const allowed = new Set(alerts.flatMap(stagesOf));
  return [
    ...[...expected].filter((id) => !stored.has(id)).map((id) => `alert lost: ${id}`),
    ...[...stored].filter((id) => !expected.has(id)).map((id) => `alert of no facts: ${id}`),
    ...due.filter((message) => !told.includes(message)).map((message) => `message lost: ${message}`),
    ...told.filter((message, i) => !allowed.has(message) || told.indexOf(message) !== i).map((message) => `message too many: ${message}`),
  ];
}

const stagesOf = ({ id, state }: Alert): readonly string[] => [`${id} opened`, ...(state === 'closed' ? [`${id} closed`] : [])];

/** The same watch over the stored facts alone, in order of time. */
function alertsOf(events: readonly StoredEvent[]): ReadonlySet<string> {
  const core = siteCore(victimSite());
  let state = core.initialWatch();
  const ids = new Set<string>();
  for (const event of events.toSorted((a, b) => a.at - b.at || a.seq - b.seq)) {
    const step = core.watch(state, { events: [event], now: event.at });
    state = step.state;
    for (const alert of step.alerts) if (OF_FACTS_ALONE.includes(alert.kind)) ids.add(alert.id);
  }
  return ids;
}
