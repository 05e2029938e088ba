/** The questions, in SQL. */
import type { DatabaseSync } from 'node:sqlite';
import type { WeekLetter } from '../../src/contract.ts';
import type { AuditRow, EventQuery, LetterFilter, RunQuery, TraceSegment } from './store.ts';
import type { EventColumns, ReadCalls } from './store-calls.ts';
import { alertReads } from './sqlite-alerts.ts';
import { deliveryReads } from './sqlite-deliveries.ts';
import { whereOf, type Row } from './sqlite-where.ts';

export function readCalls(db: DatabaseSync): ReadCalls {
  const last = db.prepare(
    'select seq, body from event where chamber = ? and kind = ? and at < ? and seq <= ? order by at desc, seq desc limit 1',
  );
  const standing = db.prepare(
    `with word as materialized (
       select seq, at, json_extract(body, '$.code') as code, json_extract(body, '$.change') as change,
         coalesce(json_array_length(body, '$.suppressedAs'), 0) as suppressions
       from event where chamber = ? and kind = 'alarm' and at >= ? and at < ?)
     select seq, body from event where seq in (
       select seq from (
         select seq, change, suppressions, row_number() over (partition by code, change = 'suppression' order by at desc, seq desc) as nth
         from word where change in ('activated', 'cleared', 'suppression'))
       where nth = 1 and (change = 'activated' or (change = 'suppression' and suppressions > 0))) order by seq`,
  );
  const segments = db.prepare(
    // No segment is longer than an hour (a check of the table), so the index on its end bounds both sides.
    'select from_at, to_at, packed from trace_segment where chamber = ? and to_at > ? and to_at <= ? and from_at < ? order by from_at, rowid',
  );
  const audit = db.prepare('select at, who, deed, subject from audit order by id desc limit ?');
  return {
    events: (query) => columns(selectEvents(db, query)),
    lastBefore: (kind, before, chambers, upToSeq = Number.MAX_SAFE_INTEGER) =>
      columns(chambers.flatMap((chamber) => last.all(chamber, kind, before, upToSeq))),
    standing: ({ from, to }, chambers) => columns(chambers.flatMap((chamber) => standing.all(chamber, from, to))),
    runs: (query) => {
      const rows = selectRuns(db, query);
      return { ...columns(rows), deviations: rows.map((row) => (row.deviations === null ? null : String(row.deviations as string))) };
    },
    snapshots: () =>
      db
        .prepare('select name, body from snapshot')
        .all()
        .map((row) => [String(row.name), String(row.body)]),
    extent: () => extent(db),
    traces: (chamber, from, to) => segments.all(chamber, from, to + 3_600_000, to).map((row) => segment(chamber, row)),
    ...alertReads(db),
    ...deliveryReads(db),
    letters: (filter) => selectLetters(db, filter),
    audit: (limit) => audit.all(limit).map(auditRow),
  };
}

function columns(rows: readonly Row[]): EventColumns {
  return { seqs: rows.map((row) => Number(row.seq)), bodies: `[${rows.map((row) => String(row.body)).join(',')}]` };
}

function selectEvents(db: DatabaseSync, query: EventQuery): Row[] {
  const where = whereOf([
    query.chambers && ['chamber in (select value from json_each(?))', JSON.stringify(query.chambers)],
    query.kinds && ['kind in (select value from json_each(?))', JSON.stringify(query.kinds)],
    query.from !== undefined && ['at >= ?', query.from],
    query.to !== undefined && ['at < ?', query.to],
    query.afterSeq !== undefined && ['seq > ?', query.afterSeq],
    query.upToSeq !== undefined && ['seq <= ?', query.upToSeq],
  ]);
  const order = query.order === 'newest' ? 'at desc, seq desc' : 'seq';
  return db.prepare(`select seq, body from event ${where.sql} order by ${order} limit ?`).all(...where.values, query.limit ?? -1);
}

function selectRuns(db: DatabaseSync, query: RunQuery): Row[] {
  const { deviation, after } = query;
  const where = whereOf([
    query.chambers && ['run.chamber in (select value from json_each(?))', JSON.stringify(query.chambers)],
    query.from !== undefined && ['ended_at >= ?', query.from],
    query.to !== undefined && ['ended_at < ?', query.to],
    query.load !== undefined && ['instr(lower(load), lower(?)) > 0', query.load],
    query.recipe !== undefined && ['instr(lower(recipe), lower(?)) > 0', query.recipe],
    query.outcome !== undefined && ['outcome = ?', query.outcome],
    deviation === 'any' && ['deviations <> ?', ''],
    deviation === 'none' && ['deviations = ?', ''],
    deviation !== undefined &&
      deviation !== 'any' &&
      deviation !== 'none' && ["instr(',' || deviations || ',', ',' || ? || ',') > 0", deviation],
    after && ['(ended_at, run.seq) < (select value ->> 0, value ->> 1 from (select ? as value))', JSON.stringify([after.at, after.seq])],
  ]);
  const sql = `select run.seq, body, deviations from run join event using (seq) ${where.sql} order by ended_at desc, run.seq desc limit ?`;
  return db.prepare(sql).all(...where.values, query.limit);
}

function extent(db: DatabaseSync): { seq: number; first: number; last: number } | null {
  const row = db
    .prepare('select max(seq) as seq, (select min(at) from event) as first, (select max(at) from event) as last from event')
    .get();
  return row === undefined || row.seq === null ? null : { seq: Number(row.seq), first: Number(row.first), last: Number(row.last) };
}

const auditRow = ({ at, who, deed, subject }: Row): AuditRow => ({
  at: Number(at),
  who: String(who),
  deed: String(deed),
  subject: String(subject),
});

function segment(chamber: string, row: Row): TraceSegment {
  return { chamber, from: Number(row.from_at), to: Number(row.to_at), packed: row.packed as Uint8Array };
}

function selectLetters(db: DatabaseSync, filter: LetterFilter): WeekLetter[] {
  const where = whereOf([
    filter.week !== undefined && ['week = ?', filter.week],
    filter.dueBefore !== undefined && ["state = 'waiting' and coalesce(next_at, 0) < ?", filter.dueBefore],
  ]);
  const rows = db.prepare(`select body from letter ${where.sql} order by week desc, id`).all(...where.values);
  return rows.map((row) => JSON.parse(String(row.body)) as WeekLetter);
}
