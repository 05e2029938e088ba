/**
 * Opens the data folder: takes its lock, opens the database with full durability, brings its tables up to date. Every way in which this can
 * fail is one sentence with the cure.
 * The lock is an exclusive transaction on a file of its own: the operating system lets go of it when the process dies, however it dies.
 */
import { existsSync, mkdirSync, statSync } from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import { Fault } from '../../src/fault.ts';
import { migrate } from './schema.ts';

export const DATABASE_FILE = 'glowfleet.sqlite';
const LOCK_FILE = 'gateway.lock';

/** Result codes of sqlite.org/rescode.html (primary codes are the low byte). */
const CODE = { busy: 5, locked: 6, readonly: 8, ioerr: 10, corrupt: 11, full: 13, cantopen: 14, notadb: 26 } as const;

export type OpenDatabase = { readonly db: DatabaseSync; readonly close: () => void };

/** The one writer of the folder. */
export function openWriter(folder: string): OpenDatabase {
  makeFolder(folder);
  const lock = takeLock(folder);
  try {
    const db = guarded(folder, () => {
      const opened = new DatabaseSync(join(folder, DATABASE_FILE), { timeout: 5000 });
      opened.exec('pragma journal_mode = wal; pragma synchronous = full; pragma foreign_keys = on');
      migrate(opened);
      checkPages(opened);
      return opened;
    });
    return {
      db,
      close: () => {
        db.close();
        lock.close();
      },
    };
  } catch (error) {
    lock.close();
    throw error;
  }
}

/** A reader beside the writer: WAL lets it read while the other commits. */
export function openReader(folder: string): OpenDatabase {
  const db = guarded(folder, () => {
    const opened = new DatabaseSync(join(folder, DATABASE_FILE), { readOnly: true, timeout: 5000 });
    opened.exec('pragma query_only = on');
    return opened;
  });
  return { db, close: () => db.close() };
}

function makeFolder(folder: string): void {
  try {
    makeParentsFirst(resolve(folder));
  } catch (error) {
    throw new Fault('unavailable', `The data folder ${folder} cannot be made (${systemCode(error)}). ${FOLDER_CURE}`, error);
  }
}

/** One by one: Node's own recursive mkdir turns for ever where a folder exists but takes no entries, such as /proc. */
function makeParentsFirst(folder: string): void {
  if (existsSync(folder)) {
    if (statSync(folder).isDirectory()) return;
    throw Object.assign(new Error('not a folder'), { code: 'ENOTDIR' });
  }
  makeParentsFirst(dirname(folder));
  mkdirSync(folder);
}

function takeLock(folder: string): DatabaseSync {
  return guarded(folder, () => {
    const lock = new DatabaseSync(join(folder, LOCK_FILE), { timeout: 0 });
    try {
      lock.exec('begin exclusive');
      return lock;
    } catch (error) {
      lock.close();
      if (sqliteCode(error) !== CODE.busy) throw error;
      throw new Fault(
        'conflict',
        `Another Glowfleet gateway is using the data folder ${folder}. Stop that one, or choose another folder with --data.`,
        error,
      );
    }
  });
}

/** A bit flipped at rest must not be found in the middle of a shift. */
function checkPages(db: DatabaseSync): void {
  const answer = Object.values(db.prepare('pragma quick_check(1)').get() ?? {})[0];
  if (answer !== 'ok') throw Object.assign(new Error(String(answer)), { errcode: CODE.corrupt });
}

const FOLDER_CURE = 'Give this user permission to write there, or choose another folder with --data.';

function guarded<T>(folder: string, open: () => T): T {
  try {
    return open();
  } catch (error) {
    throw storeFault(folder, error);
  }
}

/** The sentence for whatever SQLite says. A Fault stays what it is. */
export function storeFault(folder: string, error: unknown): Fault {
  if (error instanceof Fault) return error;
  const text = error instanceof Error ? error.message : String(error);
  switch (sqliteCode(error)) {
    case CODE.readonly:
    case CODE.cantopen:
      return new Fault('unavailable', `The data folder ${folder} is not writable. ${FOLDER_CURE}`, error);
    case CODE.full:
      return new Fault(
        'unavailable',
        `The disk of the data folder ${folder} is full. Free some space and start again; nothing acknowledged is lost.`,
        error,
      );
    case CODE.corrupt:
    case CODE.notadb:
      return new Fault(
        'unreadable',
        `${DATABASE_FILE} in ${folder} is damaged (${text}). Put back the last backup, or move the folder aside to start an empty one.`,
        error,
      );
    case CODE.busy:
    case CODE.locked:
      return new Fault('unavailable', `Another program keeps ${DATABASE_FILE} in ${folder} locked. Close it and start again.`, error);
    case CODE.ioerr:
      return new Fault(
        'unavailable',
        `The disk of the data folder ${folder} failed to read or write. Check the disk and start again.`,
        error,
      );
    default:
      return new Fault('unavailable', `The store in ${folder} failed: ${text}. Start again; nothing acknowledged is lost.`, error);
  }
}

const sqliteCode = (error: unknown): number | null =>
  typeof error === 'object' && error !== null && 'errcode' in error ? Number(error.errcode) & 0xff : null;

const systemCode = (error: unknown): string =>
  typeof error === 'object' && error !== null && 'code' in error ? String(error.code) : String(error);
