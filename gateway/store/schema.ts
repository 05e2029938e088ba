/**
 * The tables of glowfleet.sqlite and how an older file becomes the newest. Forward only: each step is one transaction, and its number is
 * SQLite's user_version. A file of a newer program is refused, because its facts may mean something this program does not know.
 */
import type { DatabaseSync } from 'node:sqlite';
import { Fault } from '../../src/fault.ts';

/** 'GLOW': tells our file from any other SQLite file. */
const APPLICATION_ID = 0x474c4f57;

export type Migration = { readonly version: number; readonly note: string; readonly sql: string };

export const MIGRATIONS: readonly Migration[] = [
  {
    version: 1,
    note: 'facts, reducer states, alerts with their outbox, audit, packed traces',
    sql: `
      create table event(
        seq integer primary key, id text not null unique,
        chamber text not null, kind text not null, at integer not null, body text not null) strict;
      create index event_by_chamber on event(chamber, kind, at);
      create index event_by_kind on event(kind, at);
      create index event_by_time on event(at);
      create table snapshot(name text primary key, body text not null) strict, without rowid;
      create table alert(
        id text primary key, state text not null, started_at integer not null, updated_at integer not null,
        acknowledged_at integer, acknowledged_by text, body text not null) strict;
      create index alert_by_time on alert(started_at);
      create table delivery(
        id text primary key, alert text not null, state text not null, next_at integer, body text not null) strict;
      create index delivery_by_alert on delivery(alert);
      create index delivery_due on delivery(state, next_at);
      create table audit(
        id integer primary key autoincrement, at integer not null, who text not null, deed text not null, subject text not null) strict;
      create table trace_segment(
        chamber text not null, from_at integer not null, to_at integer not null, packed blob not null,
        check (to_at > from_at and to_at - from_at <= 3600000)) strict;
      create index trace_by_chamber on trace_segment(chamber, to_at);
      create index trace_by_time on trace_segment(to_at);`,
  },
  {
    version: 2,
    note: 'runs by what they are searched for, written by the facts themselves: nothing here that is not in an event',
    sql: `
      create table run(
        seq integer primary key, run text not null unique, chamber text not null, ended_at integer not null,
        outcome text not null, recipe text, load text, deviations text) strict;
      create index run_by_time on run(ended_at);
      create index run_by_chamber on run(chamber, ended_at);
      create index run_by_load on run(load, ended_at);
      insert into run(seq, run, chamber, ended_at, outcome, recipe, load)
        select seq, body ->> '$.run', chamber, at, body ->> '$.outcome', body ->> '$.recipe', body ->> '$.load' from event where kind = 'run-ended';
      create trigger run_ended after insert on event when new.kind = 'run-ended' begin
        insert into run(seq, run, chamber, ended_at, outcome, recipe, load) values (
          new.seq, new.body ->> '$.run', new.chamber, new.at, new.body ->> '$.outcome', new.body ->> '$.recipe', new.body ->> '$.load');
      end;
      create trigger run_recorded after insert on event when new.kind = 'run-record' begin
        update run set deviations = (
          select coalesce(group_concat(distinct value ->> '$.code'), '') from json_each(new.body, '$.record.deviations'))
        where run = new.body ->> '$.run';
      end;`,
  },
  {
    version: 3,
    note: 'summaries of weeks on their way by mail',
    sql: `
      create table letter(
        id text primary key, week text not null, state text not null, next_at integer, body text not null) strict;
      create index letter_by_week on letter(week);
      create index letter_due on letter(state, next_at);`,
  },
  {
    version: 4,
    note: 'what persons do about alerts, and for how long nobody is told of them',
    sql: `
      alter table alert add column taken_at integer;
      alter table alert add column taken_by text;
      alter table alert add column kind text generated always as (body ->> '$.kind') virtual;
      alter table alert add column chamber text generated always as (body ->> '$.chamber') virtual;
      create index alert_by_kind on alert(kind, chamber, started_at);
      create table alert_act(
        id integer primary key, alert text not null, at integer not null, who text not null, deed text not null, text text not null) strict;
      create index alert_act_by_alert on alert_act(alert);
      create table mute(
        id integer primary key, kind text, chamber text, from_at integer not null, until_at integer not null,
        who text not null, why text not null, alert text, ended_at integer, ended_by text,
        check (until_at > from_at and coalesce(kind, chamber) is not null)) strict;
      create index mute_by_end on mute(until_at);`,
  },
  {
    version: 5,
    note: 'open alerts, and those that ended lately, are asked for every few seconds: found without reading those of years',
    sql: 'create index alert_by_state on alert(state, started_at, updated_at);',
  },
  {
    version: 6,
    note: 'a mute may name the utility, server or position that chambers share; one of before names none',
    sql: 'alter table mute add column shared text;',
  },
];

/** Makes a fresh or older file current. Throws a Fault for a file that is newer than the program or not ours. */
export function migrate(db: DatabaseSync, migrations: readonly Migration[] = MIGRATIONS): void {
  const version = pragma(db, 'user_version');
  const newest = migrations.at(-1)?.version ?? 0;
  if (version > newest) {
    throw new Fault(
      'unreadable',
      `The data folder was written by a newer Glowfleet (version ${version} of its tables, this program knows ${newest}). ` +
        'Update this program, or choose another folder with --data.',
    );
  }
  if (version > 0 && pragma(db, 'application_id') !== APPLICATION_ID) {
    throw new Fault('unreadable', 'glowfleet.sqlite in the data folder is not a Glowfleet file. Choose another folder with --data.');
  }
  for (const step of migrations.filter((m) => m.version > version)) {
    transaction(db, () => {
      db.exec(step.sql);
      db.exec(`pragma application_id = ${APPLICATION_ID}`);
      db.exec(`pragma user_version = ${step.version}`);
    });
  }
}

/** All or nothing, on disk when it returns. */
export function transaction<T>(db: DatabaseSync, work: () => T): T {
  db.exec('begin immediate');
  try {
    const result = work();
    db.exec('commit');
    return result;
  } catch (error) {
    if (db.isTransaction) db.exec('rollback');
    throw error;
  }
}

function pragma(db: DatabaseSync, name: string): number {
  return Number(Object.values(db.prepare(`pragma ${name}`).get() ?? {})[0]);
}
