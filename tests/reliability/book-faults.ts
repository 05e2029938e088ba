/**
 * Holds the books of a killed gateway against what it told while it lived.
 * - Nothing acknowledged is lost: every fact that was told is in the store, under the same sequence.
 * - Nothing is counted twice: ids are unique, sequences have no holes, no run ends twice, no two runs of a chamber overlap, and a run that
 *   began is taken up again after the kill, never forgotten.
 * - No alert is lost and none is told twice: the facts led to exactly the alerts in the store, and each has its messages in the outbox.
 * - The file is whole (SQLite's integrity_check), and each chamber's time is a partition, exact to the millisecond.
 */
import { join } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import { eventId, type ChamberEvent, type StoredEvent } from '../../src/event.ts';
import { fleetFacts } from '../../src/facts.ts';
import { stateIntervals } from '../../src/interval.ts';
import { demoSite } from '../accuracy/plant-feed.ts';
import { outboxFaults, readOutbox, type Outbox } from './outbox-faults.ts';

export type Books = {
  readonly integrity: string;
  readonly events: readonly (StoredEvent & { readonly id: string })[];
  readonly heard: Readonly<Record<string, number>>;
  readonly outbox: Outbox;
};

export function readBooks(folder: string): Books {
  const db = new DatabaseSync(join(folder, 'glowfleet.sqlite'), { readOnly: true });
  try {
    const integrity = String(Object.values(db.prepare('pragma integrity_check').get() ?? {})[0]);
    const rows = db.prepare('select seq, id, body from event order by seq').all();
    const events = rows.map((row) => ({
      ...(JSON.parse(String(row['body'])) as ChamberEvent),
      seq: Number(row['seq']),
      id: String(row['id']),
    }));
    const states = db.prepare("select name, json_extract(body, '$.now') as now from snapshot where name like 'PC-%'").all();
    return {
      integrity,
      events,
      outbox: readOutbox(db),
      heard: Object.fromEntries(states.map((row) => [String(row['name']), Number(row['now'])])),
    };
  } finally {
    db.close();
  }
}

/** `told`: the ids of the facts that were told, by sequence. `from`: when the watch began. */
export function faultsOf(books: Books, told: ReadonlyMap<number, string>, from: number): string[] {
  const { integrity, events } = books;
  const bySeq = new Map(events.map((event) => [event.seq, event.id]));
  const lost = [...told].filter(([seq, id]) => bySeq.get(seq) !== id);
  return [
    ...(integrity === 'ok' ? [] : [`integrity_check: ${integrity}`]),
    ...lost.map(([seq, id]) => `told but not stored: ${seq} ${id}`),
    ...events.filter((event) => eventId(event) !== event.id).map(({ id }) => `a fact was changed after it was told: ${id}`),
    ...(new Set(events.map((event) => event.id)).size === events.length ? [] : ['an id is there twice']),
    ...(events.every((event, i) => event.seq === i + 1) ? [] : ['sequences have holes']),
    ...runFaults(events),
    ...outboxFaults(books.outbox, events),
    ...partitionFaults(books, from),
  ];
}

function runFaults(events: readonly StoredEvent[]): string[] {
  const runs = events.filter((event) => event.kind === 'run-ended');
  const twice = runs
    .filter((run, i) => runs.findIndex((other) => other.run === run.run) !== i)
    .map((run) => `run counted twice: ${run.run}`);
  const byChamber = Map.groupBy(runs, (run) => run.chamber);
  const overlaps = [...byChamber.values()].flatMap((list) => {
    const sorted = list.toSorted((a, b) => a.startedAt - b.startedAt);
    return sorted.filter((run, i) => i > 0 && run.startedAt < (sorted[i - 1]?.at ?? 0)).map((run) => `runs overlap: ${run.run}`);
  });
  const ended = new Set(runs.map((run) => run.run));
  const lastStart = new Map(events.flatMap((event) => (event.kind === 'run-started' ? [[event.chamber, event.run] as const] : [])));
  const started = events.filter((event) => event.kind === 'run-started');
  const forgotten = started
    .filter(({ chamber, run }) => !ended.has(run) && lastStart.get(chamber) !== run)
    .map(({ run }) => `run begun and forgotten: ${run}`);
  return [...twice, ...overlaps, ...forgotten];
}

/** Every ms from the start to an hour after the last word belongs to exactly one state. */
function partitionFaults({ events, heard }: Books, from: number): string[] {
  const chambers = demoSite().chambers.map((chamber) => chamber.id);
  const window = { from, to: Math.max(from, ...Object.values(heard)) + 3_600_000 };
  return fleetFacts({ chambers, events, heardUntil: heard }).flatMap((facts) => {
    const intervals = stateIntervals(facts, window, []);
    const gaps = intervals.filter((interval, i) => interval.from !== (intervals[i - 1]?.to ?? window.from) || interval.to <= interval.from);
    const sum = intervals.reduce((total, interval) => total + interval.to - interval.from, 0);
    return sum === window.to - window.from && gaps.length === 0
      ? []
      : [`time of ${facts.chamber} is no partition: ${sum} of ${window.to - window.from} ms`];
  });
}
