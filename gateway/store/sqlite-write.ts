/** The changes, in SQL. Each is meant to run inside a transaction of its caller. */
import type { DatabaseSync } from 'node:sqlite';
import type { Alert, Delivery, WeekLetter } from '../../src/contract.ts';
import type { AuditRow, TraceSegment } from './store.ts';
import type { CommitRows, WriteCalls } from './store-calls.ts';
import { alertWrites } from './sqlite-alerts.ts';
import { deliveryWrites } from './sqlite-deliveries.ts';

export function writeCalls(db: DatabaseSync): WriteCalls {
  const addTrace = db.prepare('insert into trace_segment(chamber, from_at, to_at, packed) values (?, ?, ?, ?)');
  const dropTraces = db.prepare('delete from trace_segment where chamber = ? and to_at > ? and to_at <= ? and from_at >= ?');
  const forget = db.prepare('delete from trace_segment where to_at <= min(?, (select min(to_at) from trace_segment) + ?)');
  const put = (segment: TraceSegment): unknown => addTrace.run(segment.chamber, segment.from, segment.to, segment.packed);
  const letter = db.prepare('insert into letter(id, week, state, next_at, body) values (?, ?, ?, ?, ?) on conflict(id) do nothing');
  const changeLetter = db.prepare('update letter set state = ?, next_at = ?, body = ? where id = ?');
  return {
    append: appender(db),
    appendTraces: (segments) => segments.forEach(put),
    replaceTraces: (merged) => {
      dropTraces.run(merged.chamber, merged.from, merged.to, merged.from);
      put(merged);
    },
    forgetTraces: (before, mostMs) => void forget.run(before, mostMs),
    ...alertWrites(db, addAudit(db)),
    ...deliveryWrites(db, addAudit(db)),
    addLetters: (letters: readonly WeekLetter[]) => letters.forEach((l) => letter.run(l.id, l.week, l.state, l.nextAt, JSON.stringify(l))),
    saveLetter: (l) => void changeLetter.run(l.state, l.nextAt, JSON.stringify(l), l.id),
  };
}

function appender(db: DatabaseSync): (rows: CommitRows) => (number | null)[] {
  // The sequence is ours and has no holes: SQLite's own would burn a number on every event that is known already.
  const newest = db.prepare('select coalesce(max(seq), 0) as seq from event');
  const event = db.prepare('insert into event(seq, id, chamber, kind, at, body) values (?, ?, ?, ?, ?, ?) on conflict(id) do nothing');
  const snapshot = db.prepare('insert into snapshot(name, body) values (?, ?) on conflict(name) do update set body = excluded.body');
  const alert = db.prepare(
    'insert into alert(id, state, started_at, updated_at, body) values (?, ?, ?, ?, ?) on conflict(id) do update set ' +
      'state = excluded.state, started_at = excluded.started_at, updated_at = excluded.updated_at, body = excluded.body',
  );
  // A delivery is born once; from then on only its sender changes it.
  const delivery = db.prepare('insert into delivery(id, alert, state, next_at, body) values (?, ?, ?, ?, ?) on conflict(id) do nothing');
  const addAlert = (a: Alert): unknown => alert.run(a.id, a.state, a.startedAt, a.updatedAt, JSON.stringify(a));
  const addDelivery = (d: Delivery): unknown => delivery.run(d.id, d.alert, d.state, d.nextAt, JSON.stringify(d));
  const note = addAudit(db);
  return (rows) => {
    let seq = Number(newest.get()?.seq);
    const seqs = rows.events.map((row) => (event.run(seq + 1, ...row).changes === 0 ? null : (seq += 1)));
    rows.snapshots.forEach((row) => snapshot.run(...row));
    rows.alerts.forEach(addAlert);
    rows.deliveries.forEach(addDelivery);
    rows.audit.forEach(note);
    return seqs;
  };
}

function addAudit(db: DatabaseSync): (row: AuditRow) => unknown {
  const add = db.prepare('insert into audit(at, who, deed, subject) values (?, ?, ?, ?)');
  return ({ at, who, deed, subject }) => add.run(at, who, deed, subject);
}
