/** What only a store on disk can get wrong: the folder, the lock, the file's age and health, a disk that fills up. */
import { execFileSync } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { MIGRATIONS, migrate } from '../../gateway/store/schema.ts';
import { alertReads } from '../../gateway/store/sqlite-alerts.ts';
import { DATABASE_FILE, storeFault } from '../../gateway/store/sqlite-open.ts';
import { openSqlite } from '../../gateway/store/sqlite.ts';
import type { ChamberEvent } from '../../src/event.ts';

const event = (at: number, reason = 'idle'): ChamberEvent => ({
  chamber: 'PC-01',
  at,
  kind: 'equipment-state',
  state: 'standby',
  reason,
  source: 'tag',
  run: null,
});
const commit = (...events: ChamberEvent[]) => ({ events, snapshots: new Map<string, string>() });

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'glow-sqlite-'));
});
afterEach(() => {
  rmSync(folder, { recursive: true });
});

describe('a store on disk', () => {
  test('is there again after closing, with its sequences going on', async () => {
    const first = await openSqlite(folder);
    await first.append(commit(event(1), event(2)));
    await first.close();
    const second = await openSqlite(folder);
    expect((await second.append(commit(event(2), event(3)))).map((e) => e.seq)).toEqual([3]);
    await second.close();
  });

  test('commits with synchronous=FULL in WAL, so that an acknowledged event survives power loss', async () => {
    const store = await openSqlite(folder);
    await store.append(commit(event(1)));
    expect(existsSync(join(folder, `${DATABASE_FILE}-wal`))).toBe(true);
    await store.close();
    // synchronous is per connection and cannot be asked from outside: the one place that sets it is held here.
    expect(readFileSync('gateway/store/sqlite-open.ts', 'utf8')).toContain('pragma journal_mode = wal; pragma synchronous = full');
  });

  test('refuses a second gateway in the same folder with the cure in the sentence', async () => {
    const store = await openSqlite(folder);
    await expect(openSqlite(folder)).rejects.toMatchObject({
      code: 'conflict',
      message: `Another Glowfleet gateway is using the data folder ${folder}. Stop that one, or choose another folder with --data.`,
    });
    await store.close();
    await (await openSqlite(folder)).close();
  });

  test('refuses a folder that cannot be made', async () => {
    writeFileSync(join(folder, 'file'), '');
    await expect(openSqlite(join(folder, 'file', 'data'))).rejects.toMatchObject({
      code: 'unavailable',
      message: expect.stringMatching(/cannot be made \(ENOTDIR\)\. Give this user permission/) as string,
    });
  });

  test.runIf(process.platform === 'linux')('refuses a folder where nothing can be made, whoever asks', async () => {
    await expect(openSqlite('/proc/glowfleet/data')).rejects.toMatchObject({
      code: 'unavailable',
      message: expect.stringMatching(/cannot be made \(ENOENT\)\. Give this user permission/) as string,
    });
  });

  test('refuses a file of a newer program', async () => {
    const db = new DatabaseSync(join(folder, DATABASE_FILE));
    db.exec('pragma user_version = 99');
    db.close();
    await expect(openSqlite(folder)).rejects.toMatchObject({
      code: 'unreadable',
      message: expect.stringContaining('written by a newer Glowfleet (version 99') as string,
    });
  });

  test('refuses a damaged file instead of counting with it', async () => {
    const store = await openSqlite(folder);
    await store.append(commit(...Array.from({ length: 500 }, (_, i) => event(i, 'x'.repeat(200)))));
    await store.close();
    const file = join(folder, DATABASE_FILE);
    const bytes = readFileSync(file);
    bytes.fill(0xff, 4096 * 3, 4096 * 6);
    writeFileSync(file, bytes);
    await expect(openSqlite(folder)).rejects.toMatchObject({
      code: 'unreadable',
      message: expect.stringContaining('Put back the last backup') as string,
    });
  });

  test('refuses a foreign file', async () => {
    writeFileSync(join(folder, DATABASE_FILE), 'this is a shopping list, not a database, and it is long enough to be read as one');
    await expect(openSqlite(folder)).rejects.toMatchObject({ code: 'unreadable' });
  });
});

describe('migrations', () => {
  test('bring an older file forward step by step, each once', () => {
    const db = new DatabaseSync(':memory:');
    migrate(db);
    db.exec("insert into snapshot(name, body) values ('PC-01', '{}')");
    const next = { version: MIGRATIONS.length + 1, note: 'test', sql: 'alter table snapshot add column extra text' };
    migrate(db, [...MIGRATIONS, next]);
    migrate(db, [...MIGRATIONS, next]);
    expect(db.prepare('select name, extra from snapshot').get()).toEqual(expect.objectContaining({ name: 'PC-01', extra: null }));
    expect(db.prepare('pragma user_version').get()).toEqual(expect.objectContaining({ user_version: next.version }));
    db.close();
  });

  test('leave the file as it was when a step fails', () => {
    const db = new DatabaseSync(':memory:');
    migrate(db);
    const broken = { version: MIGRATIONS.length + 1, note: 'test', sql: 'create table half(a) strict; this is no sql' };
    expect(() => migrate(db, [...MIGRATIONS, broken])).toThrow();
    expect(db.prepare("select count(*) as n from sqlite_master where name = 'half'").get()).toEqual(expect.objectContaining({ n: 0 }));
    expect(db.prepare('pragma user_version').get()).toEqual(expect.objectContaining({ user_version: MIGRATIONS.length }));
    db.close();
  });

  test('alerts that are open, or ended lately, are found without reading all that ever were', () => {
    const db = new DatabaseSync(':memory:');
    migrate(db);
    const asked: string[] = [];
    const { alerts } = alertReads({ prepare: (sql: string) => (asked.push(sql), db.prepare(sql)) } as DatabaseSync);
    const plans = [{ state: 'open' as const }, { state: 'closed' as const, from: 5 }].map((filter) => {
      alerts(filter);
      return JSON.stringify(db.prepare(`explain query plan ${asked.at(-1)}`).all(...Object.values(filter), -1));
    });
    for (const plan of plans) expect(plan).toContain('SEARCH alert USING INDEX alert_by_state');
    db.close();
  });

  test('are numbered without holes', () => {
    expect(MIGRATIONS.map((m) => m.version)).toEqual(MIGRATIONS.map((_, i) => i + 1));
  });
});

describe('a failed write', () => {
  test.each([
    [8, 'is not writable'],
    [14, 'is not writable'],
    [13, 'is full. Free some space'],
    [11, 'is damaged'],
    [26, 'is damaged'],
    [5, 'locked'],
    [10 | (4 << 8), 'failed to read or write. Check the disk'],
  ])('of SQLite code %i becomes a sentence: %s', (errcode, words) => {
    expect(storeFault('/data', Object.assign(new Error('x'), { errcode })).message).toContain(words);
  });

  const tmpfs = process.platform === 'linux' && process.getuid?.() === 0 && canMount();
  test.runIf(tmpfs)('on a full disk ends the store for good and loses nothing acknowledged', async () => {
    const mount = join(folder, 'small');
    mkdirSync(mount);
    execFileSync('mount', ['-t', 'tmpfs', '-o', 'size=2m', 'tmpfs', mount]);
    try {
      const acknowledged = await fill(mount);
      expect(acknowledged).toBeGreaterThan(0);
      execFileSync('mount', ['-o', 'remount,size=16m', mount]);
      const again = await openSqlite(mount);
      expect((await again.events({})).length).toBeGreaterThanOrEqual(acknowledged);
      await again.close();
    } finally {
      execFileSync('umount', [mount]);
    }
  });
});

/** Appends until the disk is full; the number of events that were acknowledged. */
async function fill(mount: string): Promise<number> {
  const store = await openSqlite(mount);
  let acknowledged = 0;
  const fault: unknown = await (async () => {
    for (; acknowledged < 100_000; acknowledged += 20) {
      await store.append(commit(...Array.from({ length: 20 }, (_, i) => event(acknowledged + i, 'x'.repeat(300)))));
    }
    return null;
  })().catch((error: unknown) => error);
  expect(fault).toMatchObject({ code: 'unavailable', message: expect.stringContaining('is full. Free some space') as string });
  await expect(store.append(commit(event(-1)))).rejects.toMatchObject({ code: 'unavailable' });
  await store.close();
  return acknowledged;
}

function canMount(): boolean {
  const probe = mkdtempSync(join(tmpdir(), 'glow-mount-'));
  try {
    execFileSync('mount', ['-t', 'tmpfs', '-o', 'size=1m', 'tmpfs', probe], { stdio: 'ignore' });
    execFileSync('umount', [probe], { stdio: 'ignore' });
    return true;
  } catch {
    return false;
  } finally {
    rmSync(probe, { recursive: true });
  }
}
