/** Messages on their way, in SQL. The writes are meant to run inside a transaction of their caller. */
import type { DatabaseSync } from 'node:sqlite';
import type { Delivery } from '../../src/contract.ts';
import type { AuditRow, DeliveryFilter } from './store.ts';
import type { ReadCalls, WriteCalls } from './store-calls.ts';
import { whereOf } from './sqlite-where.ts';

export function deliveryReads(db: DatabaseSync): Pick<ReadCalls, 'deliveries' | 'lastDelivered'> {
  const last = db.prepare(
    "select body ->> '$.route' as route, max(body ->> '$.deliveredAt') as at from delivery where state = 'delivered' group by 1 order by 1",
  );
  return {
    deliveries: (filter) => selectDeliveries(db, filter),
    lastDelivered: () => last.all().map(({ route, at }) => [String(route), Number(at)]),
  };
}

export function deliveryWrites(db: DatabaseSync, note: (row: AuditRow) => unknown): Pick<WriteCalls, 'saveDeliveries'> {
  const save = db.prepare(
    'insert into delivery(id, alert, state, next_at, body) values (?, ?, ?, ?, ?) ' +
      'on conflict(id) do update set state = excluded.state, next_at = excluded.next_at, body = excluded.body',
  );
  return {
    saveDeliveries: (deliveries, audit) => {
      for (const one of deliveries) save.run(one.id, one.alert, one.state, one.nextAt, JSON.stringify(one));
      audit.forEach(note);
    },
  };
}

function selectDeliveries(db: DatabaseSync, filter: DeliveryFilter): Delivery[] {
  const where = whereOf([
    filter.ids && ['id in (select value from json_each(?))', JSON.stringify(filter.ids)],
    filter.alerts && ['alert in (select value from json_each(?))', JSON.stringify(filter.alerts)],
    filter.states && ['state in (select value from json_each(?))', JSON.stringify(filter.states)],
    filter.routes && ["body ->> '$.route' in (select value from json_each(?))", JSON.stringify(filter.routes)],
    filter.dueBefore !== undefined && ["state = 'waiting' and coalesce(next_at, 0) < ?", filter.dueBefore],
    filter.deliveredFrom !== undefined && ["state = 'delivered' and body ->> '$.deliveredAt' >= ?", filter.deliveredFrom],
  ]);
  const sql = `select body from delivery ${where.sql} order by rowid ${filter.newest === true ? 'desc' : ''} limit ?`;
  return db
    .prepare(sql)
    .all(...where.values, filter.limit ?? -1)
    .map((row) => JSON.parse(String(row.body)) as Delivery);
}
