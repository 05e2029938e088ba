/** The same sums in DuckDB, from the same rows: hours by state with the calendar laid over, loads, process times and whole cycles. */
import { spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { Span } from '../../src/calendar.ts';
import type { Rows } from './week-rows.ts';
import type { WeekSums } from './week-sums.ts';

const FOLDER = join(import.meta.dirname, 'duckdb');
const CHUNK = 2048;

/** Only what is used of it: the package is installed when the benchmark runs, and only then. */
type Duck = {
  readonly DuckDBInstance: { create(path: string, options: Record<string, string>): Promise<{ connect(): Promise<Connection> }> };
  readonly DuckDBDataChunk: { create(types: readonly unknown[], rows?: number): Chunk };
  readonly BIGINT: unknown;
  readonly INTEGER: unknown;
  readonly version: () => string;
};
type Chunk = { setColumns(columns: readonly (readonly unknown[])[]): void };
type Appender = { appendDataChunk(chunk: Chunk): void; flushSync(): void; closeSync(): void };
export type Connection = {
  run(sql: string): Promise<unknown>;
  runAndReadAll(sql: string): Promise<{ getRows(): unknown[][] }>;
  createAppender(table: string): Promise<Appender>;
};

export async function duckdb(): Promise<Duck> {
  if (!existsSync(join(FOLDER, 'node_modules', '@duckdb', 'node-api'))) {
    console.log('installing DuckDB for the comparison...');
    const done = spawnSync('npm', ['ci', '--no-audit', '--no-fund', '--loglevel=error'], { cwd: FOLDER, stdio: 'inherit' });
    if (done.status !== 0)
      throw new Error('DuckDB could not be installed. Read what npm says above; the benchmark needs the package registry once.');
  }
  const file = createRequire(join(FOLDER, 'package.json')).resolve('@duckdb/node-api');
  return (await import(pathToFileURL(file).href)) as Duck;
}

/** Tables in memory; loading is not part of what is measured. */
export async function loaded(
  duck: Duck,
  rows: Rows,
  { weeks, free }: { weeks: readonly Span[]; free: readonly Span[] },
): Promise<Connection> {
  const connection = await (await duck.DuckDBInstance.create(':memory:', { threads: '2' })).connect();
  await connection.run(`create table state(chamber integer, moment bigint, state integer, run integer);
    create table run(chamber integer, moment bigint, started bigint, door bigint, recipe integer, load integer);
    create table week(week integer, from_at bigint, to_at bigint); create table free(from_at bigint, to_at bigint)`);
  const { states, runs } = rows;
  const chamberOf = (first: Int32Array): ((i: number) => number) => {
    let chamber = 0;
    return (i) => {
      while ((first[chamber + 1] as number) <= i) chamber++;
      return chamber;
    };
  };
  const { INTEGER: I, BIGINT: B } = duck;
  const big = (column: Float64Array) => (i: number) => BigInt(column[i] as number);
  const small = (column: Uint8Array) => (i: number) => column[i] as number;
  await fill(duck, connection, {
    table: 'state',
    count: states.count,
    types: [I, B, I, I],
    cells: [chamberOf(states.first), big(states.at), small(states.state), small(states.inRun)],
  });
  const { at, startedAt, door, recipe, isLoad } = runs;
  await fill(duck, connection, {
    table: 'run',
    count: runs.count,
    types: [I, B, B, B, I, I],
    cells: [chamberOf(runs.first), big(at), big(startedAt), big(door), small(recipe), small(isLoad)],
  });
  await connection.run(`insert into week values ${weeks.map(({ from, to }, i) => `(${i}, ${from}, ${to})`).join()}`);
  await connection.run(`insert into free values ${free.map(({ from, to }) => `(${from}, ${to})`).join()}`);
  return connection;
}

type Table = {
  readonly table: string;
  readonly count: number;
  readonly types: readonly unknown[];
  readonly cells: readonly ((i: number) => unknown)[];
};

async function fill(duck: Duck, connection: Connection, { table, count, types, cells }: Table): Promise<void> {
  const appender = await connection.createAppender(table);
  for (let first = 0; first < count; first += CHUNK) {
    const rows = Math.min(CHUNK, count - first);
    const chunk = duck.DuckDBDataChunk.create(types);
    chunk.setColumns(cells.map((cell) => Array.from({ length: rows }, (_, i) => cell(first + i))));
    appender.appendDataChunk(chunk);
  }
  appender.flushSync();
  appender.closeSync();
}

/** Held states cut into weeks; nonscheduled time taken from where no run was on; cycles without a hole or a free hour in them. */
const SUMS = `
  with held as materialized (
    select chamber, state, run, moment as from_at, coalesce(lead(moment) over (partition by chamber order by moment), $TO) as to_at from state),
  piece as materialized (
    select h.chamber, w.week, h.state, h.run, greatest(h.from_at, w.from_at) as from_at, least(h.to_at, w.to_at) as to_at
    from held h join week w on h.from_at < w.to_at and h.to_at > w.from_at),
  laid as (
    select p.chamber, p.week, p.state, least(p.to_at, f.to_at) - greatest(p.from_at, f.from_at) as ms
    from piece p join free f on f.from_at < p.to_at and f.to_at > p.from_at
    where p.run = 0 and p.state not in (0, 6))
  select chamber, week, state, sum(ms)::double as ms from (
    select chamber, week, state, to_at - from_at as ms from piece
    union all select chamber, week, state, -ms from laid
    union all select chamber, week, 5, ms from laid)
  group by all`;
const LOADS = `
  select w.week, r.chamber, r.recipe, count(*)::integer, sum(r.moment - r.started)::double
  from run r join week w on r.moment >= w.from_at and r.moment < w.to_at where r.load = 1 group by all`;
const CYCLES = `
  with held as materialized (
    select chamber, state, run, moment as from_at, coalesce(lead(moment) over (partition by chamber order by moment), $TO) as to_at from state),
  broken as materialized (
    select chamber, from_at, to_at from held where state = 6
    union all
    select h.chamber, greatest(h.from_at, f.from_at), least(h.to_at, f.to_at)
    from held h join free f on f.from_at < h.to_at and f.to_at > h.from_at where h.run = 0 and h.state not in (0, 6)),
  next as (
    select *, lead(door) over (partition by chamber order by moment) as next_door from run),
  first_break as (
    select n.chamber, n.moment, n.recipe, n.door, n.next_door, b.from_at, b.to_at
    from next n asof left join broken b on b.chamber = n.chamber and b.from_at < n.next_door
    where n.load = 1 and n.next_door is not null)
  select w.week, c.recipe, count(*)::integer, sum(c.next_door - c.door)::double
  from first_break c join week w on c.moment >= w.from_at and c.moment < w.to_at
  where c.to_at is null or c.to_at <= c.door group by all`;

export async function duckSums(connection: Connection, to: number): Promise<WeekSums> {
  const read = async (sql: string): Promise<unknown[][]> => (await connection.runAndReadAll(sql.replaceAll('$TO', String(to)))).getRows();
  const [hours, loads, cycles] = [await read(SUMS), await read(LOADS), await read(CYCLES)];
  const sums: WeekSums = new Map();
  for (const [chamber, week, state, ms] of hours as number[][]) add(sums, `${week}/${chamber}/${state}`, ms as number);
  for (const [week, chamber, , count] of loads as number[][]) add(sums, `${week}/${chamber}/loads`, count as number);
  for (const [week, , recipe, , ms] of loads as number[][]) add(sums, `${week}/process/${recipe}`, ms as number);
  for (const [week, recipe, count, ms] of cycles as number[][]) {
    add(sums, `${week}/cycles/${recipe}`, count as number);
    add(sums, `${week}/cycle ms/${recipe}`, ms as number);
  }
  return sums;
}

function add(sums: WeekSums, key: string, amount: number): void {
  if (amount !== 0) sums.set(key, (sums.get(key) ?? 0) + amount);
}
