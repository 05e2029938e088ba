/** Alerts, what persons did about them, and mutes, in SQL. The writes are meant to run inside a transaction of their caller. */
import type { DatabaseSync } from 'node:sqlite';
import { handsAfter, type AlertAct, type Hands, type NewAct } from '../../src/alert-act.ts';
import { endedMute, type Mute } from '../../src/alert-mute.ts';
import type { Alert } from '../../src/contract.ts';
import { Fault } from '../../src/fault.ts';
import { restoredAlert } from '../../src/stored-alert.ts';
import { auditOf, type AlertFilter, type AuditRow } from './store.ts';
import type { ReadCalls, WriteCalls } from './store-calls.ts';
import { whereOf, type Row } from './sqlite-where.ts';

const HANDS = 'acknowledged_at, acknowledged_by, taken_at, taken_by';
const MUTE = 'id, kind, chamber, shared, from_at, until_at, who, why, alert, ended_at, ended_by';
/** A body of an older shape holds its first alarm beside its times, and no severity. */
const FIRST_OUT = "coalesce(body ->> '$.alarms.firstOut.code', body ->> '$.firstOut.code')";
const SEVERITY = "coalesce(body ->> '$.severity', iif(kind = 'flood', 'high', 'medium'))";

export function alertReads(db: DatabaseSync): Pick<ReadCalls, 'alerts' | 'acts' | 'mutes' | 'allMutes'> {
  const acts = db.prepare('select * from alert_act where alert in (select value from json_each(?)) order by id');
  const on = db.prepare(`select ${MUTE} from mute where from_at <= ? and until_at > ? and coalesce(ended_at, until_at) > ? order by id`);
  const mutes = db.prepare(`select ${MUTE} from mute order by id desc limit ?`);
  return {
    alerts: (filter) => selectAlerts(db, filter),
    acts: (alerts) => acts.all(JSON.stringify(alerts)).map(actOf),
    mutes: (at) => on.all(at, at, at).map(muteOf),
    allMutes: (limit) => mutes.all(limit).map(muteOf),
  };
}

type AlertWrites = Pick<WriteCalls, 'actOnAlert' | 'addMute' | 'endMute'>;

export function alertWrites(db: DatabaseSync, note: (row: AuditRow) => unknown): AlertWrites {
  const one = db.prepare(`select body, ${HANDS} from alert where id = ?`);
  const give = db.prepare('update alert set acknowledged_at = ?, acknowledged_by = ?, taken_at = ?, taken_by = ? where id = ?');
  const add = db.prepare('insert into alert_act(alert, at, who, deed, text) values (?, ?, ?, ?, ?)');
  const mute = db.prepare(
    `insert into mute(kind, chamber, shared, from_at, until_at, who, why, alert) values (?, ?, ?, ?, ?, ?, ?, ?) returning ${MUTE}`,
  );
  const findMute = db.prepare(`select ${MUTE} from mute where id = ?`);
  const end = db.prepare('update mute set ended_at = ?, ended_by = ? where id = ?');
  const actOnAlert = (act: NewAct): Alert => {
    const alert = found(one.get(act.alert), alertOf, 'There is no such alert.');
    const hands = handsAfter(alert, act);
    give.run(hands.acknowledgedAt, hands.acknowledgedBy, hands.takenAt, hands.takenBy, act.alert);
    add.run(act.alert, act.at, act.who, act.deed, act.text);
    note(auditOf(act));
    return { ...alert, ...hands };
  };
  return {
    actOnAlert,
    addMute: (draft) => {
      const { kind, chamber, shared, from, until, who, why, alert } = draft;
      const made = muteOf(mute.get(kind, chamber, shared, from, until, who, why, alert) as Row);
      if (alert === null) note({ at: from, who, deed: 'mute alerts', subject: subjectOf(made) });
      else actOnAlert({ alert, at: from, who, deed: 'muted', text: why });
      return made;
    },
    endMute: (id, by) => {
      const over = endedMute(found(findMute.get(id), muteOf, 'There is no such mute.'), by);
      end.run(over.endedAt, over.endedBy, id);
      if (over.alert === null) note({ at: by.at, who: by.who, deed: 'unmute alerts', subject: subjectOf(over) });
      else actOnAlert({ alert: over.alert, ...by, deed: 'unmuted', text: '' });
      return over;
    },
  };
}

function selectAlerts(db: DatabaseSync, filter: AlertFilter): Alert[] {
  const { chamber, words, after } = filter;
  const where = whereOf([
    filter.ids && ['id in (select value from json_each(?))', JSON.stringify(filter.ids)],
    filter.state !== undefined && ['state = ?', filter.state],
    filter.from !== undefined && ['updated_at >= ?', filter.from],
    filter.to !== undefined && ['started_at < ?', filter.to],
    filter.kinds && ['kind in (select value from json_each(?))', JSON.stringify(filter.kinds)],
    filter.severity !== undefined && [`${SEVERITY} = ?`, filter.severity],
    chamber !== undefined && ["? in (select chamber union select value from json_each(body, '$.together'))", chamber],
    filter.takenBy !== undefined && ['taken_by = ?', filter.takenBy],
    filter.firstOut !== undefined && [`${FIRST_OUT} = ?`, filter.firstOut],
    words !== undefined && [SAID, words],
    after && ['(started_at, id) < (select value ->> 0, value ->> 1 from (select ? as value))', JSON.stringify([after.startedAt, after.id])],
  ]);
  const sql = `select body, ${HANDS} from alert ${where.sql} order by started_at desc, id desc limit ?`;
  return db
    .prepare(sql)
    .all(...where.values, filter.limit ?? -1)
    .map(alertOf);
}

/** One value, looked for in the headline and in the comments. */
const SAID = `exists (select 1 from (select lower(?) as part) where
  instr(lower(body ->> '$.headline'), part) > 0
  or exists (select 1 from alert_act where alert_act.alert = alert.id and deed = 'commented' and instr(lower(text), part) > 0))`;

/** In whose hands an alert is, is the store's own knowledge: the rule that updates an alert does not carry it. */
function alertOf(row: Row): Alert {
  return { ...restoredAlert(JSON.parse(String(row.body)) as Record<string, unknown>), ...handsOf(row) };
}

const handsOf = (row: Row): Hands => ({
  acknowledgedAt: row.acknowledged_at as number | null,
  acknowledgedBy: row.acknowledged_by as string | null,
  takenAt: row.taken_at as number | null,
  takenBy: row.taken_by as string | null,
});

const actOf = ({ id, alert, at, who, deed, text }: Row): AlertAct => ({ id, alert, at, who, deed, text }) as AlertAct;

const muteOf = ({ from_at: from, until_at: until, ended_at: endedAt, ended_by: endedBy, ...row }: Row): Mute =>
  ({ ...row, from, until, endedAt, endedBy }) as Mute;

const subjectOf = ({ kind, chamber, shared }: Mute): string => [kind, chamber ?? shared].filter((part) => part !== null).join(' at ');

function found<T>(row: Row | undefined, read: (row: Row) => T, missing: string): T {
  if (row === undefined) throw new Fault('not-found', missing);
  return read(row);
}
